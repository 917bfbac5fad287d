"""Where screens and lenses of different units cut into each other, so that none can build them."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, move
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.parts import own_part_name
from seamsight.viewer.numbers.units import MM, in_words

TOUCHING = 0.05  # mm; what cuts in less only touches
PARALLEL = 1e-9  # sine of the angle below which two edges count as parallel

Corners = tuple[tuple[float, float, float], tuple[float, float, float]]  # opposite ones, mm


@dataclass(frozen=True)
class Note:
    """Something about a rig that its builder should know.

    Attributes
    ----------
    kind : str
        "clash": two parts cut into each other.
    names : tuple of str
        The parts.
    text : str
        It in words.
    line : int or None
        Where in the rig file, None if not one place.
    amount : float
        Of a clash: the least that one part would have to be moved to be free, mm.
    """

    kind: str
    names: tuple[str, ...]
    text: str
    line: int | None
    amount: float


class Boxes(NamedTuple):
    """Boxes that together fill a part, rig frame."""

    centres: Array  # (n, 3)
    axes: Array  # (3, 3), columns; the same for all
    halves: Array  # (n, 3), half their sides along the axes


class _Unit(NamedTuple):
    """A screen's parts by name, and a ball around them all: its middle (3,) and radius."""

    parts: dict[str, Boxes]
    middle: Array
    radius: float


def clashes(assembly: Assembly) -> list[Note]:
    """Return a note for each two parts of different screens that cut into each other.

    Parts are a screen with its housing and bezel, its lens, and its lens frame. A lens is as thick
    as its sheet, from its plane away from the pilot: edges that meet in their planes, as a bank's
    do, only touch.
    """
    units = [_unit_of(screen) for screen in assembly.screens]
    pairs = itertools.combinations(units, 2)
    return [note for first, second in pairs for note in _notes_on(first, second)]


def clash_depths(pairs: Sequence[tuple[PlacedScreen, PlacedScreen]]) -> list[float]:
    """Return how deep parts of the screens of each pair cut into each other, mm; 0 for none."""
    screens = {screen.name: screen for pair in pairs for screen in pair}
    units = {name: _unit_of(screen) for name, screen in screens.items()}
    notes = (_notes_on(units[first.name], units[second.name]) for first, second in pairs)
    return [max((note.amount for note in of_pair), default=0.0) for of_pair in notes]


def overlap(first: Boxes, second: Boxes) -> float:
    """Return the least move, mm, that frees two parts' boxes of each other.

    It is below 0 where they are apart.

    By the separating axis theorem: two boxes are apart if their shadows are on a face normal of
    either, or on a line square to an edge of each; the least move is along that axis on which the
    shadows overlap least. Of all pairs of boxes the deepest counts. (Gottschalk, Lin and Manocha,
    OBBTree, 1996; from memory.)
    """
    # face normals, and what is square to two edges
    crossed = np.cross(first.axes.T[:, None], second.axes.T[None]).reshape(-1, 3)
    lengths = np.linalg.norm(crossed, axis=1)
    crossed = crossed[lengths > PARALLEL] / lengths[lengths > PARALLEL, None]
    normals = np.concatenate([first.axes.T, second.axes.T, crossed])

    # half shadows on each: (boxes, normals)
    shadows = [boxes.halves @ np.abs(boxes.axes.T @ normals.T) for boxes in (first, second)]
    between = (first.centres[:, None] - second.centres[None]) @ normals.T
    return float((shadows[0][:, None] + shadows[1][None] - np.abs(between)).min(axis=2).max())


def _notes_on(first: _Unit, second: _Unit) -> list[Note]:
    if np.linalg.norm(first.middle - second.middle) > first.radius + second.radius:
        return []
    found = []
    for (name, boxes), (other, others) in itertools.product(
        first.parts.items(), second.parts.items()
    ):
        depth = overlap(boxes, others)
        if depth > TOUCHING:
            text = f"{name} and {other} cut into each other, {in_words(depth, MM)} deep"
            found.append(Note("clash", (name, other), text, None, depth))
    return found


def _unit_of(screen: PlacedScreen) -> _Unit:
    parts = _parts(screen)
    centres = np.concatenate([boxes.centres for boxes in parts.values()])
    reach = np.concatenate([np.linalg.norm(boxes.halves, axis=1) for boxes in parts.values()])
    middle = centres.mean(axis=0)
    radius = float((np.linalg.norm(centres - middle, axis=1) + reach).max())
    return _Unit(parts, middle, radius)


def _parts(screen: PlacedScreen) -> dict[str, Boxes]:
    """Return the boxes of a screen's parts by the parts' names."""
    parts = {screen.name: _boxes(screen.rig_from_screen, _housing(screen))}
    if screen.lens:
        optic = screen.lens.optic
        right, up = optic.width / 2, optic.height / 2
        sheet = [((-right, 0.0, -up), (right, optic.thickness, up))]
        parts[own_part_name(screen.name, "lens")] = _boxes(screen.lens.rig_from_lens, sheet)
        if optic.frame:
            width, depth = optic.frame.width, optic.frame.depth
            sides = _bars((right, up), (width,) * 4, 0.0, depth)
            parts[own_part_name(screen.name, "lens frame")] = _boxes(
                screen.lens.rig_from_lens, sides
            )
    return parts


def _housing(screen: PlacedScreen) -> list[Corners]:
    """Return a screen's body, and the bars of its bezel, which a lip puts in front of the image."""
    right, up = np.array(screen.size) / 2
    display = screen.display
    bezel = display.bezel
    low = (-right - bezel.left, 0.0, -up - bezel.bottom)
    high = (right + bezel.right, display.body, up + bezel.top)
    borders = (bezel.left, bezel.right, bezel.bottom, bezel.top)
    return [(low, high), *_bars((right, up), borders, -display.lip, 0.0)]


def _bars(
    inner: tuple[float, float], borders: tuple[float, ...], near: float, far: float
) -> list[Corners]:
    """Return the bars left of, right of, below and above an opening, from a depth to another.

    `inner` is half its width and height.
    """
    right, up = inner
    left_of, right_of, below, above = borders
    outer = (-right - left_of, right + right_of, -up - below, up + above)
    bars = [
        ((outer[0], near, outer[2]), (-right, far, outer[3])),
        ((right, near, outer[2]), (outer[1], far, outer[3])),
        ((outer[0], near, outer[2]), (outer[1], far, -up)),
        ((outer[0], near, up), (outer[1], far, outer[3])),
    ]
    return [bar for bar, border in zip(bars, borders, strict=True) if border > 0 and far > near]


def _boxes(rig_from_part: Array, corners: list[Corners]) -> Boxes:
    """Return boxes given by opposite corners in a part's frame."""
    ends = np.array(corners)
    return Boxes(
        move(rig_from_part, ends.mean(axis=1)),
        rig_from_part[:3, :3],
        (ends[:, 1] - ends[:, 0]) / 2,
    )
