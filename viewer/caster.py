"""Which triangle a ray meets first. The only place that knows the ray engine, and single precision.

Where the engine has no build for a machine, a compiled search over all triangles does the same, slower.
"""

import functools
import sys
from typing import Any

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.viewer.kernel import first_faces_by_search

Single = npt.NDArray[np.float32]
Faces = npt.NDArray[np.int32]

try:
    from embreex import rtcore, rtcore_scene
    from embreex.mesh_construction import TriangleMesh
except ImportError:
    rtcore = None


class Caster:
    """Triangles made ready for casting. Casting from several threads at once is safe.

    Parameters
    ----------
    triangles : (n, 3, 3) float64, rig frame, mm
    surfaces : (n,) int32
        The flat surface that each triangle belongs to.
    """

    def __init__(self, triangles: Array, surfaces: Faces) -> None:
        self._triangles = np.ascontiguousarray(triangles, np.float32)
        self._surfaces = np.append(surfaces, np.int32(-1))  # the last stands for the void, face -1
        self._engine: Any = None
        if rtcore is None:
            _say_that_it_is_slow()
        elif len(triangles):
            self._engine = rtcore_scene.EmbreeScene(_device(), robust=True)  # robust: no leaks between triangles
            TriangleMesh(self._engine, self._triangles)

    def first_faces(self, origins: Single, directions: Single, stride: int = 1) -> Faces:
        """Return the first triangle that each ray meets, -1 for none.

        Parameters
        ----------
        origins, directions : (n, 3) float32, rig frame
        stride : int
            Above 1, rays between two that are so many places apart and meet one flat surface are taken to meet it
            too, at about the same triangle, without being sent.

        Returns
        -------
        (n,) int32
        """
        if stride == 1 or len(origins) <= stride:
            return self._sent(origins, directions)
        sent = self._sent(origins[::stride], directions[::stride])
        surfaces = self._surfaces[sent]
        faces = np.repeat(sent, stride)[: len(origins)]
        unsure = np.ones(len(sent), bool)
        unsure[:-1] = surfaces[1:] != surfaces[:-1]
        between = np.repeat(unsure, stride)[: len(origins)]
        between[::stride] = False
        rest = np.flatnonzero(between)
        faces[rest] = self._sent(origins[rest], directions[rest])
        return faces

    def _sent(self, origins: Single, directions: Single) -> Faces:
        if len(self._triangles) == 0:
            return np.full(len(origins), -1, np.int32)
        if self._engine is None:
            return np.asarray(first_faces_by_search(self._triangles, origins, directions))
        return np.asarray(
            self._engine.run(np.ascontiguousarray(origins), np.ascontiguousarray(directions)), dtype=np.int32
        )


@functools.cache
def _device() -> Any:
    return rtcore.EmbreeDevice()


@functools.cache
def _say_that_it_is_slow() -> None:
    print("seamsight: no ray engine for this machine (embreex); using a slower search instead", file=sys.stderr)
