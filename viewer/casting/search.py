"""Compiled searches for faces: through all triangles, and between rays already sent."""

import numpy as np
import numpy.typing as npt

from seamsight.viewer.casting.compiling import compiled


@compiled
def fill_between(
    faces: npt.NDArray[np.int32],
    surfaces: npt.NDArray[np.int32],
    step: int,
    width: int,
    rest: npt.NDArray[np.int64],
) -> int:
    """Fill in faces (n,) between known runs of some width whose starts are a step apart.

    A place gets the face of the run before it. Where the surface (m,) of that face is not that of
    the run behind it, or there is none, the place is written to `rest` (n,) too; how many are is
    returned.
    """
    count = 0
    for start in range(0, faces.shape[0], step):
        for place in range(start + width, min(start + step, faces.shape[0])):
            before = start + (place - start) % width
            faces[place] = faces[before]
            if (
                before + step >= faces.shape[0]
                or surfaces[faces[before]] != surfaces[faces[before + step]]
            ):
                rest[count] = place
                count += 1
    return count


@compiled
def first_faces_by_search(
    triangles: npt.NDArray[np.float32],
    origins: npt.NDArray[np.float32],
    directions: npt.NDArray[np.float32],
) -> npt.NDArray[np.int32]:
    """Return the first triangle (n, 3, 3) on each ray (m, 3), -1 for none, by trying them all.

    Moeller & Trumbore, J. Graphics Tools 2 (1997) 21.
    """
    # all in one: a call for each triangle would take as long again
    faces = np.full(origins.shape[0], -1, np.int32)
    for ray in range(origins.shape[0]):
        ox = np.float64(origins[ray, 0])
        oy = np.float64(origins[ray, 1])
        oz = np.float64(origins[ray, 2])
        dx = np.float64(directions[ray, 0])
        dy = np.float64(directions[ray, 1])
        dz = np.float64(directions[ray, 2])
        nearest = np.inf
        for face in range(triangles.shape[0]):
            # take two edges from the first corner
            a, b, c = triangles[face]
            e1x = np.float64(b[0]) - a[0]
            e1y = np.float64(b[1]) - a[1]
            e1z = np.float64(b[2]) - a[2]
            e2x = np.float64(c[0]) - a[0]
            e2y = np.float64(c[1]) - a[1]
            e2z = np.float64(c[2]) - a[2]

            # leave out what is seen edge on
            px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
            area = e1x * px + e1y * py + e1z * pz
            if area == 0.0:
                continue

            # find where the ray crosses the triangle's plane, in shares of both edges
            sx, sy, sz = ox - a[0], oy - a[1], oz - a[2]
            u = (sx * px + sy * py + sz * pz) / area
            if u < 0.0 or u > 1.0:
                continue
            qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
            v = (dx * qx + dy * qy + dz * qz) / area
            if v < 0.0 or u + v > 1.0:
                continue

            distance = (e2x * qx + e2y * qy + e2z * qz) / area
            if 0.0 < distance < nearest:
                nearest = distance
                faces[ray] = face
    return faces
