"""Which triangle a ray meets first. The only place that knows the ray engine.

Where the engine has no build for a machine, a compiled search through a tree of boxes does the
same, a few times slower.
"""

import functools
from typing import Any

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.viewer.casting.box_tree import box_tree_of
from seamsight.viewer.casting.search import fill_between, first_faces_by_search

Single = npt.NDArray[np.float32]
Faces = npt.NDArray[np.int32]

try:
    from embreex import rtcore, rtcore_scene
    from embreex.mesh_construction import TriangleMesh
except ImportError:
    HAS_ENGINE = False
else:
    HAS_ENGINE = True


class Caster:
    """Triangles made ready for casting. Casting from several threads at once is safe.

    Parameters
    ----------
    triangles : (n, 3, 3) float64, rig frame, mm
    surfaces : (n,) int32
        The flat surface that each triangle belongs to.
    corners : ((c, 3) float32, (n, 3) int32), optional
        Corners, and which three each triangle has: with these the engine is ready sooner.
    """

    def __init__(
        self, triangles: Array, surfaces: Faces, corners: tuple[Single, Faces] | None = None
    ) -> None:
        single = np.ascontiguousarray(triangles, np.float32)
        self._surfaces = np.append(surfaces, np.int32(-1))  # the last stands for the void, face -1
        self._tree = None if HAS_ENGINE else box_tree_of(single)
        self._engine: Any = None
        if HAS_ENGINE and len(triangles):
            # robust: no leaks between triangles
            self._engine = rtcore_scene.EmbreeScene(_device(), robust=True)
            TriangleMesh(self._engine, *(corners or (single,)))

    def first_faces(
        self, origins: Single, directions: Single, stride: int = 1, lines: int = 1
    ) -> Faces:
        """Return the first triangle that each ray meets, -1 for none.

        Parameters
        ----------
        origins, directions : (n, 3) float32, rig frame
        stride : int
            Above 1, rays between two that are so many places apart and meet one flat surface are
            taken to meet it too, at about the same triangle, without being sent.
        lines : int
            How many lines of a picture the rays are; with a stride, lines between two others are
            treated likewise.

        Returns
        -------
        (n,) int32
        """
        if stride == 1:
            return self._sent(origins, directions)

        # send some rays of every other line, and fill in the rest of these lines
        width = len(origins) // lines
        step = 2 if lines > 2 else 1
        starts, ways = (
            rays.reshape(lines, width, 3)[::step].reshape(-1, 3) for rays in (origins, directions)
        )
        found = np.empty(len(starts), np.int32)
        found[::stride] = self._sent(starts[::stride], ways[::stride])
        self._fill(found, stride, starts, ways)

        # then fill in the lines between
        faces = np.empty(len(origins), np.int32)
        faces.reshape(lines, width)[::step] = found.reshape(-1, width)
        self._fill(faces, step * width, origins, directions, width)
        return faces

    def _fill(
        self, faces: Faces, step: int, origins: Single, directions: Single, width: int = 1
    ) -> None:
        """Find the faces (n,) between known runs of some width whose starts are a step apart."""
        rest = np.empty(len(faces), np.int64)
        rest = rest[: fill_between(faces, self._surfaces, step, width, rest)]
        faces[rest] = self._sent(origins[rest], directions[rest])

    def _sent(self, origins: Single, directions: Single) -> Faces:
        origins, directions = np.ascontiguousarray(origins), np.ascontiguousarray(directions)
        if self._tree is not None:
            return np.asarray(first_faces_by_search(self._tree, origins, directions))
        if self._engine is None:
            return np.full(len(origins), -1, np.int32)
        return np.asarray(self._engine.run(origins, directions), dtype=np.int32)


@functools.cache
def _device() -> Any:
    return rtcore.EmbreeDevice()
