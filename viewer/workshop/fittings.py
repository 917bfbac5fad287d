"""What a board or plate carries: where screens and lenses meet it, and holes for screws."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from seamsight.scene import polygons
from seamsight.scene.assembly import Assembly
from seamsight.scene.cutting import CutPiece
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.mountings import PATTERNS
from seamsight.scene.outlines import Circle
from seamsight.scene.spaces import screen_spaces

NEAR = 12.0  # mm; what is no farther from a board is drawn on it
BEHIND = 5.0  # mm; a board no farther behind a screen carries it
PARALLEL = 0.9999  # cosine; a board that is turned more against a screen does not carry it
LEAST_AREA = 1.0  # mm²
_CORNERS = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)


class Mark(NamedTuple):
    """The outline (n, 2) of a screen or lens on a board's face, and its name."""

    name: str
    outline: Array


class ScrewHole(NamedTuple):
    """A hole for a screw of a screen's mounting pattern."""

    screen: str
    circle: Circle
    screw: str


def marks(assembly: Assembly, piece: CutPiece) -> Iterator[Mark]:
    """Yield where screens, their images and lenses meet a piece's face, clipped to it."""
    face = polygons.region_within([piece.face])
    for screen in assembly.screens:
        for name, boxes in _things(screen):
            corners = [_on(piece, box) for box in boxes]
            if _is_near(piece, corners):
                shadow = polygons.joined(polygons.hull_of(box[:, :2]) for box in corners) ^ face
                for ring in polygons.rings_of(shadow):
                    if polygons.region_within([ring]).area() > LEAST_AREA:
                        yield Mark(name, np.asarray(ring))


def _things(screen: PlacedScreen) -> Iterator[tuple[str, list[Array]]]:
    """Yield a screen, its image, its lens and that's frame, as corners (n, 3) of boxes."""
    for space in screen_spaces(screen):
        if space.boxes:
            yield (
                space.name,
                [
                    centre + (_CORNERS * halves) @ axes.T
                    for centre, axes, halves in zip(*space.boxes, strict=True)
                ],
            )
    x, z = (side / 2 for side in screen.size)
    image = np.array([(-x, 0, -z), (x, 0, -z), (x, 0, z), (-x, 0, z)])
    yield f"image of {screen.name}", [move(screen.rig_from_screen, image)]


def _is_near(piece: CutPiece, corners: list[Array]) -> bool:
    thin = np.concatenate(corners)[:, 2]
    reach = piece.sides[piece.thin] / 2 + NEAR
    return bool(thin.min() <= reach and thin.max() >= -reach)


def screw_holes(assembly: Assembly, piece: CutPiece) -> Iterator[ScrewHole]:
    """Yield the holes in a piece behind a screen for the pattern of holes in the screen's back."""
    for screen in assembly.screens:
        mounting = screen.display.mounting
        if mounting is None or not _carries(piece, screen):
            continue
        pattern = PATTERNS[mounting]
        back = screen.display.body
        places = np.array([(x, back, z) for x, z in pattern.holes])
        on_face = _on(piece, move(screen.rig_from_screen, places))
        face = polygons.region_within([piece.face])
        for x, y, _ in on_face.tolist():
            hole = polygons.region_about((0.01, 0.01)).translate((x, y))
            if (hole ^ face).area() > 0:
                circle = Circle((x, y), pattern.clearance_hole / 2)
                yield ScrewHole(screen.name, circle, f"M{pattern.screw}")


def _carries(piece: CutPiece, screen: PlacedScreen) -> bool:
    """Return whether a piece lies flat behind a screen's back."""
    away = screen.rig_from_screen[:3, 1]
    if abs(away @ piece.part.rig_from_part[:3, piece.thin]) < PARALLEL:
        return False
    behind = away @ (piece.part.rig_from_part[:3, 3] - screen.rig_from_screen[:3, 3])
    gap = behind - piece.sides[piece.thin] / 2 - screen.display.body
    return bool(-1e-3 <= gap <= BEHIND)


def _on(piece: CutPiece, points: Array) -> Array:
    """Return points (n, 3), rig frame, along a piece's face and square to it."""
    own = move(inverse(piece.part.rig_from_part), points)
    return np.asarray(own[:, [*piece.face_axes, piece.thin]])
