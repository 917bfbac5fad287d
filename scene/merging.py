"""Closed meshes with fewer triangles: flat faces of many are put together."""

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array

Faces = npt.NDArray[np.int64]
FLAT = 0.01  # mm by which a corner may be off a flat face


def merged(corners: Array, faces: Faces) -> tuple[Array, Faces]:
    """Return a closed mesh of corners (c, 3) and faces (f, 3) with as few as its shape needs.

    Raises
    ------
    ValueError
        When the mesh is not closed.
    """
    from manifold3d import Error, Manifold, Mesh64

    mesh = Mesh64(np.ascontiguousarray(corners, np.float64), np.ascontiguousarray(faces, np.uint64))
    whole = Manifold(mesh)
    if whole.status() != Error.NoError:
        msg = "the mesh is not closed"
        raise ValueError(msg)
    simple = whole.simplify(FLAT).to_mesh64()
    return np.asarray(simple.vert_properties[:, :3]), simple.tri_verts.astype(np.int64)
