"""Flat regions with straight edges, of any number of pieces and holes: made, joined, measured.

Regions are joined by `+`, cut out by `-`, and what two have in common is `^`. Corners fall on a
grid of 1e-8 mm, so regions are to be kept in mm. What is flat and what is solid share one library;
solids are made in `shapes`.
"""

import itertools
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array

Mask: TypeAlias = npt.NDArray[np.bool_]
Region: TypeAlias = Any
"""A region of a plane; the library's own type, which has no stubs."""


def rectangle(low: Sequence[float] | Array, high: Sequence[float] | Array) -> Region:
    """Return the region between two opposite corners (2,)."""
    return region_within([np.array([low, (high[0], low[1]), high, (low[0], high[1])])])


def region_about(half: Sequence[float] | Array) -> Region:
    """Return the rectangle about the origin with half a width and height (2,)."""
    return rectangle((-half[0], -half[1]), half)


def region_within(rings: Sequence[Array]) -> Region:
    """Return the region that closed rings (n, 2) go round.

    What two rings go round in opposite ways is left out, so that a hole's ring cuts it out of an
    outer one; rings that cross themselves or each other may do so.
    """
    from manifold3d import CrossSection, FillRule

    return CrossSection(list(rings), FillRule.NonZero)


def ring_by_ring(points: Array, lengths: Iterable[int]) -> list[Array]:
    """Return points (n, k) of one ring after the other as rings of these lengths."""
    ends = list(itertools.accumulate(lengths, initial=0))
    return [points[start:end] for start, end in itertools.pairwise(ends)]


def joined(regions: Iterable[Region]) -> Region:
    """Return the union of regions."""
    from manifold3d import CrossSection, OpType

    return CrossSection.batch_boolean(list(regions), OpType.Add)


def hull_of(points: Array) -> Region:
    """Return the least region without dents that holds points (n, 2), empty for a line."""
    from manifold3d import CrossSection

    return CrossSection.hull_points(points)


def rings_of(region: Region) -> list[Array]:
    """Return a region's rings (n, 2): outer ones run against the clock, holes with it."""
    return list(region.to_polygons())


def bounds_of(region: Region) -> tuple[Array, Array]:
    """Return the lowest and highest corner (2,) of a region; low above high for an empty one."""
    left, bottom, right, top = region.bounds()
    if region.is_empty():
        left, bottom, right, top = right, top, left, bottom
    return np.array([left, bottom]), np.array([right, top])


def reach(region: Region, axis: int) -> Array | None:
    """Return the outermost places (2, 2) of a region on the line through the origin along an axis.

    The lowest first; None where the region does not meet it.
    """
    other = 1 - axis
    found = []
    for ring in rings_of(region):
        after = np.roll(ring, -1, axis=0)
        crosses = (ring[:, other] > 0) != (after[:, other] > 0)
        start, end = ring[crosses], after[crosses]
        share = start[:, other] / (start[:, other] - end[:, other])
        found.append(start[:, axis] + share * (end[:, axis] - start[:, axis]))
    places = np.concatenate(found) if found else np.empty(0)
    if not len(places):
        return None
    ends = np.zeros((2, 2))
    ends[:, axis] = places.min(), places.max()
    return ends


def raster(region: Region, low: Array, high: Array, columns: int, rows: int) -> Mask:
    """Return in which cells of a rectangle a region lies at the cell's middle.

    Parameters
    ----------
    region : Region
    low, high : (2,) float64
        Corners of the rectangle.

    Returns
    -------
    (rows, columns) bool
        The lowest row first. A cell lies inside where the rings' crossings left of it do not
        cancel.
    """
    rings = rings_of(region)
    turns = np.zeros((rows, columns + 1), np.int64)
    if not rings:
        return turns[:, :-1] > 0

    # edges, counted in cells so that the first one's middle is at 0
    step = (high - low) / (columns, rows)
    start = (np.concatenate(rings) - low) / step - 0.5
    end = (np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]) - low) / step - 0.5
    ends = np.stack([start[:, 1], end[:, 1]])
    first, stop = np.clip(np.ceil([ends.min(axis=0), ends.max(axis=0)]), 0, rows).astype(int)

    # each row that an edge crosses, and where
    count = stop - first
    edge = np.repeat(np.arange(len(start)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count - first, count)
    share = (row - start[edge, 1]) / (end[edge, 1] - start[edge, 1])
    across = start[edge, 0] + share * (end[edge, 0] - start[edge, 0])
    column = np.clip(np.ceil(across), 0, columns).astype(int)
    np.add.at(turns, (row, column), np.where(end[edge, 1] > start[edge, 1], 1, -1))
    return np.asarray(turns.cumsum(axis=1)[:, :-1] != 0)
