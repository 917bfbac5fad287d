"""Triangles sorted into a tree of boxes, so that a ray need look at few of them. Compiled."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.viewer.casting.compiling import compiled

LEAF = 4  # most triangles in a box that is not split
DEPTH = 64  # most boxes one within the other

_BINS = 16  # slices of a box; it is split between two of them
_SORTED = 32  # boxes deeper than this are split into equal halves, so that `DEPTH` holds

Single = npt.NDArray[np.float32]
Whole = npt.NDArray[np.int64]


class BoxTree(NamedTuple):
    """A tree of boxes (b) over triangles (n); box 0 holds all."""

    boxes: Single  # (b, 6): lowest x, y, z, then highest
    first: Whole  # (b,): the first of its triangles, or of its two boxes if it is split
    held: Whole  # (b,): how many triangles; 0 if it is split
    corners: Single  # (n, 3, 3): the triangles in the tree's order
    faces: Whole  # (n,): the number of each


def box_tree_of(triangles: Single) -> BoxTree:
    """Return a tree of boxes over triangles (n, 3, 3).

    Boxes are split where a ray has least to look at, after I. Wald, "On fast construction of
    SAH-based bounding volume hierarchies", IEEE Symposium on Interactive Ray Tracing (2007) 33.
    """
    total = len(triangles)
    faces = np.arange(total)
    bounds = np.concatenate([triangles.min(axis=1), triangles.max(axis=1)], axis=1)
    boxes = np.empty((2 * total + 1, 6), np.float32)
    first = np.zeros(2 * total + 1, np.int64)
    held = np.zeros(2 * total + 1, np.int64)
    made = _split_all(bounds, faces, boxes, first, held)
    return BoxTree(
        boxes[:made].copy(), first[:made].copy(), held[:made].copy(), triangles[faces], faces
    )


@compiled
def _split_all(bounds: Single, faces: Whole, boxes: Single, first: Whole, held: Whole) -> int:
    """Sort triangles, given their boxes (n, 6), into a tree; return how many boxes that took."""
    depth = np.zeros(len(boxes), np.int8)
    held[0] = len(bounds)
    made = 1
    for box in range(len(boxes)):
        if box == made:
            break
        start = first[box]
        stop = start + held[box]
        _clear(boxes, box)
        for place in range(start, stop):
            _grow(boxes, box, bounds, place)

        # the two boxes that it is split into come last
        if held[box] > LEAF:
            middle = _parted(bounds, faces, start, stop) if depth[box] < _SORTED else start
            if not start < middle < stop:
                middle = (start + stop) // 2
            first[box] = made
            held[box] = 0
            first[made] = start
            held[made] = middle - start
            first[made + 1] = middle
            held[made + 1] = stop - middle
            depth[made] = depth[made + 1] = depth[box] + 1
            made += 2
    return made


@compiled
def _clear(boxes: Single, box: int) -> None:
    for axis in range(3):
        boxes[box, axis] = np.inf
        boxes[box, axis + 3] = -np.inf


@compiled
def _grow(boxes: Single, box: int, others: Single, other: int) -> None:
    """Let a box hold another too."""
    for axis in range(3):
        boxes[box, axis] = min(boxes[box, axis], others[other, axis])
        boxes[box, axis + 3] = max(boxes[box, axis + 3], others[other, axis + 3])


@compiled
def _parted(bounds: Single, faces: Whole, start: int, stop: int) -> int:
    """Sort some triangles into two groups; return where the second starts.

    That is `start` if all have their middle in one place.
    """
    axis, low, width = _longest(bounds, start, stop)
    if not width > 0.0:
        return start
    scale = _BINS / width
    edge = _best_edge(bounds, start, stop, axis, low, scale)

    # swap what is on the wrong side
    for place in range(start, stop):
        if _bin(bounds, place, axis, low, scale) < edge:
            faces[start], faces[place] = faces[place], faces[start]
            for side in range(6):
                kept = bounds[start, side]
                bounds[start, side] = bounds[place, side]
                bounds[place, side] = kept
            start += 1
    return start


@compiled
def _longest(bounds: Single, start: int, stop: int) -> tuple[int, float, float]:
    """Return along which axis the middles of triangles spread most; their lowest, and how far."""
    longest = 0
    begin = 0.0
    width = 0.0
    for axis in range(3):
        low = np.inf
        high = -np.inf
        for place in range(start, stop):
            middle = _middle(bounds, place, axis)
            low = min(low, middle)
            high = max(high, middle)

        if high - low > width:
            longest = axis
            begin = low
            width = high - low
    return longest, begin, width


@compiled
def _middle(bounds: Single, place: int, axis: int) -> float:
    return float(0.5 * bounds[place, axis] + 0.5 * bounds[place, axis + 3])


@compiled
def _bin(bounds: Single, place: int, axis: int, low: float, scale: float) -> int:
    return min(int((_middle(bounds, place, axis) - low) * scale), _BINS - 1)


@compiled
def _best_edge(bounds: Single, start: int, stop: int, axis: int, low: float, scale: float) -> int:
    """Return the bin before which to split: least area times triangles of both sides together."""
    bins = np.empty((_BINS + 1, 6), np.float32)
    inside = np.zeros(_BINS, np.int64)
    for number in range(_BINS):
        _clear(bins, number)
    for place in range(start, stop):
        number = _bin(bounds, place, axis, low, scale)
        inside[number] += 1
        _grow(bins, number, bounds, place)

    costs = _costs(bins, inside)
    best = 1
    for edge in range(2, _BINS):
        if costs[edge] < costs[best]:
            best = edge
    return best


@compiled
def _costs(bins: Single, inside: Whole) -> Array:
    """Return what splitting before each bin costs; the last of the bins is for use here."""
    costs = np.zeros(_BINS)
    one_side = len(bins) - 1
    for backwards in range(2):
        total = 0
        _clear(bins, one_side)

        for step in range(1, _BINS):
            edge = _BINS - step if backwards else step
            number = edge if backwards else edge - 1
            if inside[number] > 0:
                _grow(bins, one_side, bins, number)
                total += inside[number]

            # half the area of the box around one side
            x = bins[one_side, 3] - bins[one_side, 0]
            y = bins[one_side, 4] - bins[one_side, 1]
            z = bins[one_side, 5] - bins[one_side, 2]
            costs[edge] += total * (x * y + y * z + z * x)
    return costs
