"""The compiled loop that marks the cubes of a grid through which rays go."""

import math

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.viewer.casting.compiling import compiled


@compiled
def mark(
    origins: Array,
    directions: Array,
    faces: npt.NDArray[np.int32],
    corners: Array,
    normals: Array,
    low: Array,
    step: float,
    seen: npt.NDArray[np.bool_],
) -> None:
    """Mark every cube that a ray enters on its way to the triangle it meets.

    The cubes along a line are found one after the other, each from the side by which the line
    leaves the one before (Amanatides and Woo 1987).

    Parameters
    ----------
    origins, directions : (n, 3) float64, rig frame
    faces : (n,) int32
        The triangle that each ray meets, -1 for none.
    corners, normals : (t, 3) float64, rig frame
        A corner and the direction square on it of each triangle.
    low : (3,) float64
        The grid's lowest corner, rig frame.
    step : float
        A cube's side, mm.
    seen : (x, y, z) bool
    """
    for row in range(faces.shape[0]):
        # how far the ray goes, and from where to where it is within the grid
        first, last = 0.0, math.inf
        face = faces[row]
        if face >= 0:
            to_plane = along = 0.0
            for k in range(3):
                to_plane += normals[face, k] * (corners[face, k] - origins[row, k])
                along += normals[face, k] * directions[row, k]
            last = to_plane / along if along != 0.0 else 0.0
        for k in range(3):
            start, way = origins[row, k] - low[k], directions[row, k]
            side = step * seen.shape[k]
            if way != 0.0:
                one, other = -start / way, (side - start) / way
                first, last = max(first, min(one, other)), min(last, max(one, other))
            elif not 0.0 <= start <= side:
                last = -1.0
        if first <= last:
            _mark_line(origins, directions, row, first, last, low, step, seen)


@compiled
def _mark_line(
    origins: Array,
    directions: Array,
    row: int,
    first: float,
    last: float,
    low: Array,
    step: float,
    seen: npt.NDArray[np.bool_],
) -> None:
    """Mark the cubes along a ray between two distances at which it is within the grid."""
    dx, dy, dz = directions[row, 0], directions[row, 1], directions[row, 2]
    x = (origins[row, 0] + first * dx - low[0]) / step
    y = (origins[row, 1] + first * dy - low[1]) / step
    z = (origins[row, 2] + first * dz - low[2]) / step
    i = min(max(int(x), 0), seen.shape[0] - 1)
    j = min(max(int(y), 0), seen.shape[1] - 1)
    k = min(max(int(z), 0), seen.shape[2] - 1)

    # how far to the next side each way, and from side to side
    to_x, each_x, go_x = _sides(x, i, dx, step)
    to_y, each_y, go_y = _sides(y, j, dy, step)
    to_z, each_z, go_z = _sides(z, k, dz, step)
    left = last - first
    while True:
        seen[i, j, k] = True
        if to_x <= to_y and to_x <= to_z:
            gone = to_x
            i, to_x = i + go_x, to_x + each_x
        elif to_y <= to_z:
            gone = to_y
            j, to_y = j + go_y, to_y + each_y
        else:
            gone = to_z
            k, to_z = k + go_z, to_z + each_z
        inside = 0 <= i < seen.shape[0] and 0 <= j < seen.shape[1] and 0 <= k < seen.shape[2]
        if gone > left or not inside:
            return


@compiled
def _sides(place: float, cube: int, way: float, step: float) -> tuple[float, float, int]:
    """Return how far it is to a cube's next side, from side to side, and which way that is."""
    if way > 0.0:
        return (cube + 1 - place) * step / way, step / way, 1
    if way < 0.0:
        return (cube - place) * step / way, -step / way, -1
    return math.inf, math.inf, 0
