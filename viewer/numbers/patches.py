"""A rectangle parted by what a function tells of its places: a few looks, then finer ones."""

from collections.abc import Callable, Iterator
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.scene.polygons import Region, joined, rectangle, region_within

COARSE, FINE = 24, 96  # looks along the longer side: does anything differ at all, and where
HALVINGS = 24  # of the way between two looks that differ

Codes: TypeAlias = npt.NDArray[np.int8]
Tell: TypeAlias = Callable[[Array], Codes]


def patches_of(tell: Tell, low: Array, high: Array, half: Array) -> tuple[Region, ...]:
    """Return the regions of a rectangle in which a function tells 1, and in which it tells -1.

    Parameters
    ----------
    tell : callable
        From places (n, 2) to codes (n,): 1, -1, or 0 where there is nothing to tell.
    low, high : (2,) float64
        Corners of the rectangle.
    half : (2,) float64
        Lines at these places to both sides of the middle are looked along besides.
    """
    columns, rows = _lines(low, high, half, COARSE)
    codes = tell(_grid(columns, rows))
    if (codes == codes[0]).all():
        return (rectangle(low, high),) if codes[0] else ()
    columns, rows = _lines(low, high, half, FINE)
    codes = tell(_grid(columns, rows)).reshape(len(rows), len(columns))
    return tuple(
        joined(_cells(tell, columns, rows, codes, code))
        for code in (1, -1)
        if (codes == code).any()
    )


def _lines(low: Array, high: Array, half: Array, looks: int) -> tuple[Array, Array]:
    """Return where columns and rows of looks stand."""
    step = (high - low).max() / looks
    lines = []
    for axis in (0, 1):
        even = np.linspace(low[axis], high[axis], max(2, int((high - low)[axis] / step)) + 1)
        edges = np.array([-half[axis], half[axis]])
        edges = edges[(edges > low[axis]) & (edges < high[axis])]
        lines.append(np.unique(np.concatenate([even, edges])))
    return lines[0], lines[1]


def _grid(columns: Array, rows: Array) -> Array:
    """Return the places (n, 2) where columns and rows cross, row by row."""
    return np.stack(np.meshgrid(columns, rows), axis=2).reshape(-1, 2)


def _cells(tell: Tell, columns: Array, rows: Array, codes: Codes, code: int) -> Iterator[Region]:
    """Yield the pieces of the region with a code: runs of whole cells, and parts of others."""
    inner = codes == code
    count = inner[:-1, :-1].astype(int) + inner[1:, :-1] + inner[:-1, 1:] + inner[1:, 1:]
    whole = np.pad(count == 4, ((0, 0), (1, 1))).astype(np.int8)
    edges = np.diff(whole, axis=1)
    runs = zip(*np.nonzero(edges == 1), np.nonzero(edges == -1)[1], strict=True)
    for row, start, stop in runs:
        yield rectangle((columns[start], rows[row]), (columns[stop], rows[row + 1]))

    # walk round each other cell: its corners inside, and where the border crosses its edges
    at, first = np.nonzero((count > 0) & (count < 4))
    turns = np.array([(0, 0), (0, 1), (1, 1), (1, 0)])
    corner = np.stack(
        [columns[first[:, None] + turns[:, 1]], rows[at[:, None] + turns[:, 0]]], axis=2
    )
    inside = inner[at[:, None] + turns[:, 0], first[:, None] + turns[:, 1]]
    crossing = _crossings(tell, corner, inside, code)
    after = np.roll(inside, -1, axis=1)
    for number in range(len(corner)):
        ring = []
        for side in range(4):
            if inside[number, side]:
                ring.append(corner[number, side])
            if inside[number, side] != after[number, side]:
                ring.append(crossing[number, side])
        yield region_within([np.array(ring)])


def _crossings(tell: Tell, corner: Array, inside: npt.NDArray[np.bool_], code: int) -> Array:
    """Return the last place inside on each edge of cells (n, 4, 2) that leads out or in."""
    other = np.roll(corner, -1, axis=1)
    other_inside = np.roll(inside, -1, axis=1)
    leads = inside != other_inside
    near = np.where(inside[leads, None], corner[leads], other[leads])
    far = np.where(inside[leads, None], other[leads], corner[leads])
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        within = (tell(middle) == code)[:, None]
        near, far = np.where(within, middle, near), np.where(within, far, middle)
    found = corner.copy()
    found[leads] = near
    return found
