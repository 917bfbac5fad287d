"""The overall size of a rig, and whether it passes a door."""

import functools
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.cutting import CutPiece
from seamsight.scene.frames import Array

MOST_TAKEN_OFF = 8  # boards; where more must come off, it is taken apart


class Door(NamedTuple):
    """The clear width and height of a door, mm."""

    width: float
    height: float


@dataclass(frozen=True)
class Passage:
    """Whether a rig passes a door.

    Attributes
    ----------
    door : Door
    upright : bool
        In one piece, as it stands.
    passes : bool
        In one piece, if need be on its side or back.
    taken_off : list of str
        Boards and plates without which the rest passes; empty where it passes anyhow, or where
        too many must come off.
    too_large : list of str
        Boards, plates and screens that do not pass by themselves.
    """

    door: Door
    upright: bool
    passes: bool
    taken_off: list[str]
    too_large: list[str]


class _Box(NamedTuple):
    """The upright box of something, and its own sides."""

    name: str
    bounds: Array
    sides: Array
    comes_off: bool


def overall_size(assembly: Assembly, pieces: list[CutPiece]) -> Array:
    """Return how far pieces, screens and lenses reach right, forward and up, (3,), mm."""
    boxes = _boxes(assembly, pieces)
    return _reach(boxes) if boxes else np.zeros(3)


def passage(assembly: Assembly, pieces: list[CutPiece], door: Door) -> Passage:
    """Return whether pieces, screens and lenses pass a door, together or what without."""
    boxes = _boxes(assembly, pieces)
    size = _reach(boxes) if boxes else np.zeros(3)
    passes = _excess(size, door) <= 0
    return Passage(
        door=door,
        upright=min(size[0], size[1]) <= door.width and size[2] <= door.height,
        passes=passes,
        taken_off=[] if passes else _taken_off(boxes, door),
        too_large=[box.name for box in boxes if _excess(box.sides, door) > 0],
    )


def _boxes(assembly: Assembly, pieces: list[CutPiece]) -> list[_Box]:
    """Return the boxes of all pieces, and of every screen with its lens."""
    found = [_Box(piece.name, piece.part.bounds, piece.sides, True) for piece in pieces]
    for screen in assembly.screens:
        own = [part for part in assembly.parts if part.screen == screen.name and not part.density]
        bounds = np.array([part.bounds for part in own])
        around = np.array([bounds[:, 0].min(axis=0), bounds[:, 1].max(axis=0)])
        sides = np.array([part.size for part in own]).max(axis=0)
        found.append(_Box(screen.name, around, sides, False))
    return found


def _reach(boxes: list[_Box]) -> Array:
    bounds = np.array([box.bounds for box in boxes])
    return np.asarray(bounds[:, 1].max(axis=0) - bounds[:, 0].min(axis=0))


def _excess(sides: Array, door: Door) -> float:
    """Return by how much two of three sides are too large for a door, whichever way it is turned.

    The larger of the two smallest goes along the door's larger side; at most 0 where it passes.
    """
    small, middle, _ = np.sort(sides)
    return float(max(small - min(door), middle - max(door)))


def _taken_off(boxes: list[_Box], door: Door) -> list[str]:
    """Return what to take off so that the rest passes: each time what brings it nearest to that."""
    rest = list(boxes)
    names: list[str] = []
    while _excess(_reach(rest), door) > 0:
        if len(names) == MOST_TAKEN_OFF:
            return []
        loose = [box for box in rest if box.comes_off]
        if not loose or len(rest) == 1:
            return []
        best = min(loose, key=functools.partial(_still_too_large, rest, door))
        rest = [one for one in rest if one is not best]
        names.append(best.name)
    return names


def _still_too_large(boxes: list[_Box], door: Door, left_out: _Box) -> tuple[float, float]:
    """Return how large the rest is without a box, 0 where it passes, and how large that box is."""
    rest = _reach([box for box in boxes if box is not left_out])
    girth = 0.0 if _excess(rest, door) <= 0 else float(np.sort(rest)[:2].sum())
    return girth, float(np.prod(left_out.sides))
