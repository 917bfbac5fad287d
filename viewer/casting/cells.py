"""A grid of cubes, and which of them rays go through."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.viewer.casting.kernel import Segments
from seamsight.viewer.casting.mark_kernel import mark
from seamsight.viewer.casting.trace import Ids, trace

Cubes = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Cells:
    """Cubes side by side.

    Attributes
    ----------
    low : (3,) float64
        The lowest corner, rig frame.
    step : float
        A cube's side, mm.
    shape : tuple of int
        How many there are to the right, forward and up.
    """

    low: Array
    step: float
    shape: tuple[int, int, int]

    @property
    def high(self) -> Array:
        """The highest corner, rig frame (3,)."""
        return self.low + self.step * np.array(self.shape)

    def at(self, points: Array) -> npt.NDArray[np.int64]:
        """Return in which cube points (n, 3) of the rig frame lie (n, 3), or would outside."""
        return np.floor((points - self.low) / self.step).astype(np.int64)

    def picked(self, cubes: Cubes, points: Array) -> Cubes:
        """Return whether points (n, 3) of the rig frame lie in some of the cubes."""
        at = self.at(points)
        within = np.asarray(((at >= 0) & (at < self.shape)).all(axis=1))
        i, j, k = np.where(within[:, None], at, 0).T
        return np.asarray(within & cubes[i, j, k])


def mark_seen(
    assembly: Assembly, origins: Array, directions: Array, cells: Cells, seen: Cubes
) -> Ids:
    """Mark in `seen`, of the grid's shape, what rays go through, bent by every lens in their way.

    Parameters
    ----------
    origins, directions : (n, 3) float64, rig frame
        Directions of unit length; where one is not a number, there is no ray.

    Returns
    -------
    (n,) int32
        On which part each ray ends, VOID or LOST.
    """
    corners = np.ascontiguousarray(assembly.triangles[:, 0])
    normals = assembly.face_normals

    def go_along(rays: npt.NDArray[np.int64], legs: Segments, faces: Ids) -> None:
        count = len(rays)
        ways = legs.origins[:count], legs.directions[:count]
        mark(*ways, faces, corners, normals, cells.low, cells.step, seen)

    return trace(assembly, origins, directions, go_along).parts
