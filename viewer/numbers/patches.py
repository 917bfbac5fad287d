"""A rectangle parted by what a function tells of its places: a few looks, then finer ones."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from seamsight.scene.frames import Array
from seamsight.scene.polygons import Region, rectangle, region_within, ring_by_ring

LOOKS = 24  # along the longer side: does anything differ at all
FINER = 4  # times as many, about where something does
HALVINGS = 30  # of the way between two looks that differ

Codes: TypeAlias = npt.NDArray[np.int8]
Mask: TypeAlias = npt.NDArray[np.bool_]
Tell: TypeAlias = Callable[[Array], Codes]


def patches_of(tell: Tell, low: Array, high: Array, half: Array) -> dict[int, Region]:
    """Return the region of a rectangle in which a function tells 1, and that in which it tells -1.

    By what it tells; none that is empty.

    Parameters
    ----------
    tell : callable
        From places (n, 2) to codes (n,): 1, -1, or 0 where there is nothing to tell.
    low, high : (2,) float64
        Corners of the rectangle.
    half : (2,) float64
        Lines at these places to both sides of the middle are looked along besides.
    """
    columns, rows = _lines(low, high, half)
    codes = tell(_grid(columns, rows)).reshape(len(rows), len(columns))
    if (codes == codes[0, 0]).all():
        return {int(codes[0, 0]): rectangle(low, high)} if codes[0, 0] else {}
    columns, rows, codes = _finer(tell, columns, rows, codes)
    return {
        code: region_within(_cells(tell, columns, rows, codes, code))
        for code in (1, -1)
        if (codes == code).any()
    }


def _lines(low: Array, high: Array, half: Array) -> tuple[Array, Array]:
    """Return where columns and rows of looks stand."""
    step = (high - low).max() / LOOKS
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


def _finer(tell: Tell, columns: Array, rows: Array, codes: Codes) -> tuple[Array, Array, Codes]:
    """Return lines closer together, and codes where they cross.

    These are looked at anew in cells whose corners differ, and in those around.
    """
    corners = sliding_window_view(codes, (2, 2))
    differ = (corners != corners[:, :, :1, :1]).any(axis=(2, 3))
    around = sliding_window_view(np.pad(differ, 1), (3, 3)).any(axis=(2, 3))
    cells = around.repeat(FINER, axis=0).repeat(FINER, axis=1)
    anew = sliding_window_view(np.pad(cells, 1), (2, 2)).any(axis=(2, 3))

    across, up = (np.arange(FINER * (len(lines) - 1) + 1) for lines in (columns, rows))
    columns = np.interp(across / FINER, np.arange(len(columns)), columns)
    rows = np.interp(up / FINER, np.arange(len(rows)), rows)
    codes = codes[np.ix_(up // FINER, across // FINER)]
    codes[anew] = tell(_grid(columns, rows)[anew.ravel()])
    return columns, rows, codes


def _cells(tell: Tell, columns: Array, rows: Array, codes: Codes, code: int) -> list[Array]:
    """Return rings round what has a code: round runs of whole cells, and parts of others."""
    inner = codes == code
    count = inner[:-1, :-1].astype(int) + inner[1:, :-1] + inner[:-1, 1:] + inner[1:, 1:]
    whole = np.pad(count == 4, ((0, 0), (1, 1))).astype(np.int8)
    edges = np.diff(whole, axis=1)
    row, start = np.nonzero(edges == 1)
    stop = np.nonzero(edges == -1)[1]
    across = np.stack([start, stop, stop, start], axis=1)
    runs = np.stack([columns[across], rows[row[:, None] + [0, 0, 1, 1]]], axis=2)

    # walk round each other cell: its corners inside, and where the border crosses its edges
    at, first = np.nonzero((count > 0) & (count < 4))
    turns = np.array([(0, 0), (0, 1), (1, 1), (1, 0)])
    corner = np.stack(
        [columns[first[:, None] + turns[:, 1]], rows[at[:, None] + turns[:, 0]]], axis=2
    )
    inside = inner[at[:, None] + turns[:, 0], first[:, None] + turns[:, 1]]
    level, upright = _crossings(tell, columns, rows, inner, code)
    crossing = np.stack(
        [level[at, first], upright[at, first + 1], level[at + 1, first], upright[at, first]], axis=1
    )
    walk = np.stack([corner, crossing], axis=2)
    kept = np.stack([inside, inside != np.roll(inside, -1, axis=1)], axis=2)
    return [*runs, *ring_by_ring(walk[kept], kept.sum(axis=(1, 2)).tolist())]


def _crossings(
    tell: Tell, columns: Array, rows: Array, inner: Mask, code: int
) -> tuple[Array, Array]:
    """Return the last places inside on level and on upright edges of cells that lead out or in."""
    looks = np.stack(np.meshgrid(columns, rows), axis=2)
    ends, leads = [], []
    for one, other in (np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:]):
        leading = inner[one] != inner[other]
        ends.append([looks[one][leading], looks[other][leading], inner[one][leading]])
        leads.append(leading)
    first, last, inside = (np.concatenate(parts) for parts in zip(*ends, strict=True))

    near = last_within(
        lambda places: tell(places) == code,
        np.where(inside[:, None], first, last),
        np.where(inside[:, None], last, first),
    )
    found = []
    for leading, places in zip(leads, np.split(near, [leads[0].sum()]), strict=True):
        found.append(np.empty((*leading.shape, 2)))
        found[-1][leading] = places
    return found[0], found[1]


def last_within(inside: Callable[[Array], Mask], near: Array, far: Array) -> Array:
    """Return the last places (n, 2) inside on the way from places inside to others outside."""
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        within = inside(middle)[:, None]
        near = np.where(within, middle, near)
        far = np.where(within, far, middle)
    return near
