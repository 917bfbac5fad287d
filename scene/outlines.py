"""Flat pieces as lines and arcs, as saw and drill follow them; `shapes.py` makes solids of them.

Places are x right and z up from a piece's middle, as the pilot sees it square on, mm.
"""

from dataclasses import dataclass
from typing import NamedTuple

from seamsight.scene.solids import CircleHole, Hole, Plate


@dataclass(frozen=True)
class Circle:
    """A full circle."""

    centre: tuple[float, float]
    radius: float


@dataclass(frozen=True)
class Rectangle:
    """Four sides along x and z; where `radius` is above 0, joined by quarters of circles."""

    centre: tuple[float, float]
    size: tuple[float, float]
    radius: float = 0.0


class Groove(NamedTuple):
    """A slot for a lens in a board's upper or lower face.

    Attributes
    ----------
    near, far : float
        Its sides, away from the board's middle, mm.
    depth : float
    above : bool
        Whether it is in the upper face.
    """

    near: float
    far: float
    depth: float
    above: bool


Outline = Circle | Rectangle


@dataclass(frozen=True)
class Piece:
    """A flat piece: its edge, and what is cut out of it; cuts may overlap, or cross the edge."""

    edge: Rectangle
    cuts: tuple[Outline, ...] = ()


def face(width: float, height: float) -> Piece:
    """Return a rectangle about the origin, such as a board's face."""
    return Piece(Rectangle((0.0, 0.0), (width, height)))


def ring(width: float, height: float, border: float) -> Piece:
    """Return a border of one width around an opening (width, height) about the origin."""
    opening = Rectangle((0.0, 0.0), (width, height))
    outer = Rectangle((0.0, 0.0), (width + 2 * border, height + 2 * border))
    return Piece(outer, (opening,))


def plate_piece(plate: Plate) -> Piece:
    """Return a plate's face with its holes."""
    return Piece(Rectangle((0.0, 0.0), plate.size), tuple(map(_cut, plate.holes)))


def _cut(hole: Hole) -> Outline:
    if isinstance(hole, CircleHole):
        return Circle(hole.at, hole.diameter / 2)
    return Rectangle(hole.at, hole.size, hole.radius)
