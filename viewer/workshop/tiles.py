"""A drawing at 1:1 on many small sheets of paper: which part of it is on which."""

import math
from typing import NamedTuple

from seamsight.viewer.workshop.sketch import Point, Sketch

PAPERS = {"a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4)}
"""Width and height, mm: ISO 216; 8.5 × 11 in."""

MARGIN = 10.0  # mm that a printer may leave white (from memory: 3 to 6.4)
FOOT = 14.0  # mm for the check bar and the words beside it
OVERLAP = 10.0  # mm that two neighbours both show
AROUND = 2.0  # mm of paper around a drawing


def room_on(paper: Point) -> Point:
    """Return the width and height of what fits on a sheet of paper, mm."""
    return paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN - FOOT


class Tile(NamedTuple):
    """What one sheet of paper shows.

    Attributes
    ----------
    column, row : int
        Its place, from 1: to the right, and upwards.
    corner : (float, float)
        The drawing's place at the lower left corner of what is shown.
    """

    column: int
    row: int
    corner: Point


class Tiling(NamedTuple):
    """Tiles of a drawing: their paper, what each shows of it, and how many there are each way."""

    paper: Point
    shown: Point
    columns: int
    rows: int
    tiles: list[Tile]


def tiling(sketch: Sketch, paper: Point) -> Tiling:
    """Return the fewest tiles that show a drawing, its paper upright or on its side.

    Tiles on which no line is are left out.
    """
    upright, aside = (_tiling(sketch, size) for size in (paper, paper[::-1]))
    return aside if len(aside.tiles) < len(upright.tiles) else upright


def _tiling(sketch: Sketch, paper: Point) -> Tiling:
    shown = room_on(paper)
    (left, bottom), (right, top) = sketch.bounds
    left, bottom = left - AROUND, bottom - AROUND
    right, top = right + AROUND, top + AROUND
    columns, rows = (
        max(1, math.ceil((length - OVERLAP) / (side - OVERLAP) - 1e-9))
        for length, side in zip((right - left, top - bottom), shown, strict=True)
    )

    places = [
        Tile(
            column + 1,
            row + 1,
            (left + column * (shown[0] - OVERLAP), bottom + row * (shown[1] - OVERLAP)),
        )
        for row in range(rows)
        for column in range(columns)
    ]
    tiles = [tile for tile in places if _has_lines(sketch, tile.corner, shown)]
    return Tiling(paper, shown, columns, rows, tiles)


def _has_lines(sketch: Sketch, corner: Point, shown: Point) -> bool:
    """Return whether the box around a line, an arc or a circle comes into a tile."""
    far = (corner[0] + shown[0], corner[1] + shown[1])
    for path in sketch.paths:
        ends = path.points if path.closed else path.points[1:]
        starts = (path.points[-1], *path.points[:-1]) if path.closed else path.points[:-1]
        for start, end in zip(starts, ends, strict=True):
            if all(
                min(start[axis], end[axis]) <= far[axis]
                and max(start[axis], end[axis]) >= corner[axis]
                for axis in (0, 1)
            ):
                return True
    return any(
        all(
            one.centre[axis] - one.radius <= far[axis]
            and one.centre[axis] + one.radius >= corner[axis]
            for axis in (0, 1)
        )
        for one in sketch.rounds
    )
