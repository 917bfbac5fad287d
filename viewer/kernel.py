"""The compiled inner loops: starting rays, and taking each ray from the face it met to its next segment.

Everything here is scalar code over arrays, free of Python's lock, so that tiles run on threads. The first
call on a machine compiles it; the result is cached beside the code.
"""

from collections.abc import Callable
from typing import NamedTuple, TypeVar

import numba
import numpy as np
import numpy.typing as npt

from seamsight.scene import optics
from seamsight.scene.frames import Array
from seamsight.scene.parts import Kind

VOID = -1  # fate of a ray that meets nothing
LOST = -2  # fate of a ray that met more lenses than MOST_SEGMENTS
STEP = 0.01  # mm; a ray behind a lens starts this far on, so that it does not meet the lens again

_ROOM_LIGHT = (0.016, 0.019, 0.024)  # linear light of the dim room where a ray meets nothing
_OPAQUE, _IMAGE = int(Kind.OPAQUE), int(Kind.IMAGE)
_Function = TypeVar("_Function", bound=Callable[..., object])


def _compiled(function: _Function) -> _Function:
    """Compile a function; for the type checker it stays what it was."""
    compiled: _Function = numba.njit(nogil=True, cache=True)(function)
    return compiled


_thin_slope = _compiled(optics.thin_slope)


class Tables(NamedTuple):
    """What the kernel must know of the parts (p of them) and faces (n)."""

    part_of_face: npt.NDArray[np.int32]  # (n,)
    face_normal: Array  # (n, 3), unit length
    kind: npt.NDArray[np.int8]  # (p,)
    colour: Array  # (p, 3), linear
    frame: Array  # (p, 4, 3): origin, right, away, up of images and lenses, rig frame
    size: Array  # (p, 2): width and height of images, mm
    gain: Array  # (p,): an image's white against the brightest screen's
    focal_length: Array  # (p,): of lenses, mm
    texels: npt.NDArray[np.uint8]  # every image's pixels, one after the other, sRGB
    texture: npt.NDArray[np.int64]  # (p, 3): first texel, columns, rows of images
    linear: Array  # (256,): sRGB code to linear light


class Tile(NamedTuple):
    """A batch of rays (n) on their way, and what became of them."""

    origins: Array  # (n, 3)
    directions: Array  # (n, 3), unit length
    near: npt.NDArray[np.float32]  # (n, 3): origins for the engine, compacted
    along: npt.NDArray[np.float32]  # (n, 3): directions for the engine, compacted
    rays: npt.NDArray[np.int64]  # (n,): the ray in each compacted row
    fate: npt.NDArray[np.int32]  # (n,): part id, VOID or LOST
    points: Array  # (n, 3): where it ended, rig frame; not a number for VOID and LOST
    light: Array  # (n, 3): linear light


@_compiled
def start_rays(tile: Tile, eye: Array, axes: Array, columns: Array, rows: Array, first_row: int) -> None:
    """Fill a tile with the rays of whole picture rows.

    A ray's direction before turning is (x a, y a, b) with (x, y) of its column and (a, b) of its row.
    """
    width = columns.shape[0]
    for ray in range(tile.rays.shape[0]):
        column, row = ray % width, first_row + ray // width
        x, y = columns[column, 0] * rows[row, 0], columns[column, 1] * rows[row, 0]
        z = rows[row, 1]
        scale = 1.0 / np.sqrt(x * x + y * y + z * z)
        for k in range(3):
            direction = (axes[k, 0] * x + axes[k, 1] * y + axes[k, 2] * z) * scale
            tile.origins[ray, k] = eye[k]
            tile.directions[ray, k] = direction
            tile.near[ray, k] = eye[k]
            tile.along[ray, k] = direction
        tile.rays[ray] = ray


@_compiled
def advance(tile: Tile, count: int, faces: npt.NDArray[np.int32], tables: Tables) -> int:
    """Take the first `count` compacted rays to where they met a face; return how many go on behind a lens."""
    going = 0
    for row in range(count):
        ray = tile.rays[row]
        if faces[row] < 0:
            tile.fate[ray] = VOID
            for k in range(3):
                tile.light[ray, k] += _ROOM_LIGHT[k]
            continue
        face = faces[row]
        part = tables.part_of_face[face]
        origin, direction = tile.origins[ray], tile.directions[ray]
        kind = tables.kind[part]
        if kind == _OPAQUE:
            tile.fate[ray] = part
            _end_on_solid(tile, ray, face, part, tables)
            continue
        # find where the ray crosses the part's plane, in the part's own frame
        frame = tables.frame[part]
        slant = _dot(direction, frame[2])
        away = (_dot(frame[0], frame[2]) - _dot(origin, frame[2])) / slant
        for k in range(3):
            origin[k] += away * direction[k]
        x = _dot(origin, frame[1]) - _dot(frame[0], frame[1])
        z = _dot(origin, frame[3]) - _dot(frame[0], frame[3])
        if kind == _IMAGE:
            tile.fate[ray] = part
            tile.points[ray] = origin
            _end_on_image(tile.light[ray], x, z, part, tables)
            continue
        _bend(direction, frame, slant, x, z, tables.focal_length[part])
        for k in range(3):
            origin[k] += STEP * direction[k]
            tile.near[going, k] = origin[k]
            tile.along[going, k] = direction[k]
        tile.rays[going] = ray
        going += 1
    return going


@_compiled
def _dot(a: Array, b: Array) -> float:
    return float(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


@_compiled
def _bend(direction: Array, frame: Array, slant: float, x: float, z: float, focal_length: float) -> None:
    """Turn a direction (3,) as a thin lens does that is crossed at x, z of its own frame."""
    on_axis = abs(slant)
    right = _thin_slope(_dot(direction, frame[1]) / on_axis, x, focal_length)
    up = _thin_slope(_dot(direction, frame[3]) / on_axis, z, focal_length)
    scale = 1.0 / np.sqrt(1.0 + right * right + up * up)
    forward = np.sign(slant)
    for k in range(3):
        direction[k] = (right * frame[1, k] + forward * frame[2, k] + up * frame[3, k]) * scale


@_compiled
def _end_on_image(light: Array, x: float, z: float, part: int, tables: Tables) -> None:
    """Add the light of the image's pixel at x, z of its own frame."""
    first, columns, rows = tables.texture[part]
    column = min(columns - 1, max(0, int((x / tables.size[part, 0] + 0.5) * columns)))
    row = min(rows - 1, max(0, int((0.5 - z / tables.size[part, 1]) * rows)))
    at = first + 3 * (row * columns + column)
    for k in range(3):
        light[k] += tables.gain[part] * tables.linear[tables.texels[at + k]]


@_compiled
def _end_on_solid(tile: Tile, ray: int, face: int, part: int, tables: Tables) -> None:
    """Add the light of a matt part under an even light from above and behind the pilot."""
    normal, direction = tables.face_normal[face], tile.directions[ray]
    facing = -1.0 if _dot(normal, direction) > 0 else 1.0
    glow = 0.16 + 0.12 * facing * normal[2] + 0.24 * abs(_dot(normal, direction))
    for k in range(3):
        tile.light[ray, k] += tables.colour[part, k] * glow


@_compiled
def first_faces_by_search(
    triangles: npt.NDArray[np.float32], origins: npt.NDArray[np.float32], directions: npt.NDArray[np.float32]
) -> npt.NDArray[np.int32]:
    """Return the first triangle (n, 3, 3) on each ray (m, 3), -1 for none, by trying them all.

    Moeller & Trumbore, J. Graphics Tools 2 (1997) 21.
    """
    faces = np.full(origins.shape[0], -1, np.int32)
    for ray in range(origins.shape[0]):
        ox, oy, oz = np.float64(origins[ray, 0]), np.float64(origins[ray, 1]), np.float64(origins[ray, 2])
        dx, dy, dz = np.float64(directions[ray, 0]), np.float64(directions[ray, 1]), np.float64(directions[ray, 2])
        nearest = np.inf
        for face in range(triangles.shape[0]):
            a, b, c = triangles[face]
            e1x, e1y, e1z = np.float64(b[0]) - a[0], np.float64(b[1]) - a[1], np.float64(b[2]) - a[2]
            e2x, e2y, e2z = np.float64(c[0]) - a[0], np.float64(c[1]) - a[1], np.float64(c[2]) - a[2]
            px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
            area = e1x * px + e1y * py + e1z * pz
            if area == 0.0:
                continue
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
