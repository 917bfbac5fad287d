"""Sets of cubes of a grid: grown by one, and the closed surface around them."""

import itertools

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.viewer.casting.cells import Cells, Cubes


def grown(cubes: Cubes) -> Cubes:
    """Return cubes with all that touch them, at a corner too."""
    for axis in range(3):
        after = np.swapaxes(cubes.copy(), 0, axis)
        before = np.swapaxes(cubes, 0, axis)
        after[1:] |= before[:-1]
        after[:-1] |= before[1:]
        cubes = np.swapaxes(after, 0, axis)
    return cubes


def simply_joined(cubes: Cubes) -> Cubes:
    """Return cubes without those that touch another along an edge alone.

    What is left has a surface in which exactly two faces meet at every edge.
    """
    cubes = cubes.copy()
    while True:
        found = False
        for one, other in itertools.combinations(range(3), 2):
            turned = np.moveaxis(cubes, (one, other), (0, 1))
            a, b = turned[:-1, :-1], turned[1:, :-1]
            c, d = turned[:-1, 1:], turned[1:, 1:]
            rising = a & d & ~b & ~c
            falling = b & c & ~a & ~d
            found |= bool(rising.any() or falling.any())
            # either of the two will do
            a &= ~rising
            b &= ~falling
        if not found:
            return cubes


def surface(cells: Cells, cubes: Cubes) -> tuple[Array, npt.NDArray[np.int64]]:
    """Return the faces of cubes that border on no other of them: corners (c, 3), faces (f, 3).

    Two triangles a square, seen counter-clockwise from outside. It is closed where `simply_joined`
    leaves the cubes as they are.
    """
    padded = np.pad(cubes, 1)
    squares = []
    for axis in range(3):
        across, along = np.eye(3, dtype=np.int64)[[(axis + 1) % 3, (axis + 2) % 3]]
        for side in (0, 1):
            beyond = np.roll(padded, 1 - 2 * side, axis=axis)
            at = np.argwhere(padded & ~beyond) - 1
            first = at + side * np.eye(3, dtype=np.int64)[axis]
            ring = [first, first + across, first + across + along, first + along]
            squares.append(np.stack(ring if side else ring[::-1], axis=1))
    rings = np.concatenate(squares).reshape(-1, 3)

    # number each corner once
    count = np.array(cubes.shape) + 1
    numbers, faces = np.unique(
        np.ravel_multi_index(tuple(rings.T), tuple(count)), return_inverse=True
    )
    corners = np.stack(np.unravel_index(numbers, tuple(count)), axis=1) * cells.step + cells.low
    four = faces.reshape(-1, 4)
    return corners, np.concatenate([four[:, [0, 1, 2]], four[:, [0, 2, 3]]])
