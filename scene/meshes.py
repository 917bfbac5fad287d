"""Meshes that stand beside a rig file: counted first, then read once and shared."""

import functools
import io
import logging
from pathlib import Path
from typing import Any

import numpy as np

from seamsight.scene.errors import FileError
from seamsight.scene.files import saved_at
from seamsight.scene.frames import Array
from seamsight.scene.mesh_count import (
    STL_HEADER,
    STL_TRIANGLE,
    count_triangles,
    is_text_stl,
    refuse_too_many,
)
from seamsight.scene.units import FARTHEST, MM_PER_UNIT

MESH_FORMATS = ("stl", "obj", "ply", "glb")

_STL_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
assert _STL_TRIANGLE.itemsize == STL_TRIANGLE


def read_mesh(path: Path, unit: str) -> Array:
    """Return a mesh file's triangles (n, 3, 3), mm, in the file's own frame.

    Raises
    ------
    FileError
        When it cannot be opened, is not a mesh, is broken or too large.
    """
    triangles = _mesh(path, saved_at(path)) * MM_PER_UNIT[unit]
    if np.abs(triangles).max() > FARTHEST:
        raise FileError(path, f'is larger than 100 m in unit "{unit}": is the unit right?')
    return np.asarray(triangles)


def triangles_told(path: Path) -> int:
    """Return how many triangles a mesh file says it holds, without loading it.

    Raises
    ------
    FileError
        When it cannot be opened, is not a mesh, is broken, empty or too large.
    """
    return _told(path, saved_at(path))


@functools.lru_cache(maxsize=256)
def _told(path: Path, saved_at: int) -> int:
    kind, content = _content(path)
    return _told_in(path, kind, content)


# Reading a rig checks its meshes, and drawing takes them up again. 32 are all those of a rig, or of
# the few that are compared.
@functools.lru_cache(maxsize=32)
def _mesh(path: Path, saved_at: int) -> Array:
    kind, content = _content(path)
    _told_in(path, kind, content)
    triangles = _loaded_triangles(path, kind, content)

    # refuse what rays cannot be cast at
    if len(triangles) == 0:
        raise FileError(path, "contains no triangles")
    refuse_too_many(path, len(triangles))
    if not np.isfinite(triangles).all():
        raise FileError(path, "contains corners that are not finite numbers")

    triangles.flags.writeable = False
    return triangles


def _told_in(path: Path, kind: str, content: bytes) -> int:
    count = count_triangles(path, content, kind)
    if count == 0:
        raise FileError(path, "contains no triangles")
    refuse_too_many(path, count)
    return count


def _content(path: Path) -> tuple[str, bytes]:
    """Return a mesh file's format, by its ending, and what it holds."""
    kind = path.suffix.lower().lstrip(".")
    if kind not in MESH_FORMATS:
        got = path.suffix or "no file ending"
        raise FileError(path, f"must be STL, OBJ, PLY or GLB (got {got})")
    try:
        return kind, path.read_bytes()
    except OSError as error:
        raise FileError(path, "cannot be opened") from error


def _loaded_triangles(path: Path, kind: str, content: bytes) -> Array:
    # a binary STL is the usual format, and reading it here spares most rigs the import of trimesh,
    # the longest wait of all
    if kind == "stl" and not is_text_stl(content):
        read = np.frombuffer(content, _STL_TRIANGLE, offset=STL_HEADER)
        with np.errstate(invalid="ignore"):  # numbers that are none
            return read["corners"].astype(np.float64)

    import trimesh

    # what it notes of a broken file, with tracebacks, is told below in a line
    logging.getLogger("trimesh").setLevel(logging.CRITICAL)
    # a PLY file's corners with two colours would be parted, and odd numbers with them
    options = {"fix_texture": False} if kind == "ply" else {}
    try:
        # from bytes and without materials, so that a mesh cannot make the loader open further files
        with np.errstate(all="ignore"):
            loaded: Any = trimesh.load_scene(
                io.BytesIO(content), file_type=kind, process=False, skip_materials=True, **options
            )
            meshes = [mesh for mesh in loaded.dump() if isinstance(mesh, trimesh.Trimesh)]
            found = [_corners(mesh) for mesh in meshes if len(mesh.faces)]
    except IndexError as error:
        raise FileError(path, "has faces that name corners which are not there") from error
    except Exception as error:  # the loaders raise whatever a broken file makes them trip over
        what = f"is not a readable {kind.upper()} mesh: it is damaged, or in another format"
        raise FileError(path, what) from error
    return np.array(np.concatenate(found)) if found else np.empty((0, 3, 3))


def _corners(mesh: Any) -> Array:
    """Return a mesh's triangles (n, 3, 3).

    Raises
    ------
    IndexError
        When a face names a corner that is not there; one before the first is not the last.
    ValueError
        When corners have other than three coordinates, or faces other than three corners.
    """
    faces = np.asarray(mesh.faces)
    if faces.min() < 0:
        msg = "a corner before the first"
        raise IndexError(msg)
    corners = np.asarray(mesh.vertices, dtype=np.float64)[faces]
    if corners.shape[1:] != (3, 3):
        msg = "no triangles in space"
        raise ValueError(msg)
    return np.asarray(corners)
