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
    """

    def __init__(self, triangles: Array) -> None:
        self._triangles = np.ascontiguousarray(triangles, np.float32)
        self._engine: Any = None
        if rtcore is None:
            _say_that_it_is_slow()
        elif len(triangles):
            self._engine = rtcore_scene.EmbreeScene(_device(), robust=True)  # robust: no leaks between triangles
            TriangleMesh(self._engine, self._triangles)

    def first_faces(self, origins: Single, directions: Single) -> Faces:
        """Return the first triangle that each ray meets, -1 for none.

        Parameters
        ----------
        origins, directions : (n, 3) float32, rig frame

        Returns
        -------
        (n,) int32
        """
        if len(self._triangles) == 0:
            return np.full(len(origins), -1, np.int32)
        if self._engine is None:
            return np.asarray(first_faces_by_search(self._triangles, origins, directions))
        return np.asarray(self._engine.run(origins, directions), dtype=np.int32)


@functools.cache
def _device() -> Any:
    return rtcore.EmbreeDevice()


@functools.cache
def _say_that_it_is_slow() -> None:
    print("seamsight: no ray engine for this machine (embreex); using a slower search instead", file=sys.stderr)
