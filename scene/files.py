"""Pictures and meshes that stand beside a rig file, read once and shared."""

import contextlib
import functools
import io
import struct
import warnings
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from seamsight.scene.errors import FileError
from seamsight.scene.frames import Array
from seamsight.scene.units import FARTHEST, MM_PER_UNIT

MESH_FORMATS = ("stl", "obj", "ply", "glb")
PICTURE_FORMATS = ("PNG", "JPEG", "BMP", "GIF", "WEBP")
MOST_BYTES = 256 * 2**20
MOST_TRIANGLES = 4_000_000
MOST_PIXELS = 16384 * 16384 // 4

_STL_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

Picture = npt.NDArray[np.uint8]


def beside(rig_file: Path, name: str) -> Path:
    """Return the path of a file that a rig names.

    Raises
    ------
    FileError
        When it is outside the rig's folder, is missing or is too large.
    """
    named = rig_file.parent / name
    try:
        folder = rig_file.resolve().parent
        path = (folder / name).resolve()
    except (OSError, RuntimeError) as error:  # links that go round in a circle
        raise FileError(named, "cannot be opened") from error

    if not path.is_relative_to(folder):
        raise FileError(named, "is outside the rig's folder")
    if not path.exists():
        raise FileError(named, "is missing: no such file in this folder")
    if not path.is_file():
        raise FileError(named, "is not a file")
    if path.stat().st_size > MOST_BYTES:
        raise FileError(named, f"is too large: at most {MOST_BYTES // 2**20} MB")
    return path


def read_picture(path: Path) -> Picture:
    """Return a picture as (h, w, 3) uint8 sRGB, top row first.

    Raises
    ------
    FileError
        When it cannot be opened, is not a picture, or not one that can be used.
    """
    return _picture(path, _saved_at(path))


def read_mesh(path: Path, unit: str) -> Array:
    """Return a mesh file's triangles (n, 3, 3), mm, in the file's own frame.

    Raises
    ------
    FileError
        When it cannot be opened, is not a mesh, is broken or too large.
    """
    triangles = _mesh(path, _saved_at(path)) * MM_PER_UNIT[unit]
    if np.abs(triangles).max() > FARTHEST:
        raise FileError(path, f'is larger than 100 m in unit "{unit}": is the unit right?')
    return np.asarray(triangles)


@contextlib.contextmanager
def opened_picture(path: Path) -> Iterator[Any]:
    """Open a picture, a Pillow image; what is wrong with it, also when read within, is a FileError.

    Raises
    ------
    FileError
        When it is not a picture, or not one that can be used.
    """
    from PIL import Image

    broken = (
        OSError,
        SyntaxError,
        RuntimeError,
        EOFError,
        struct.error,
        zlib.error,
        Image.DecompressionBombError,
    )
    try:
        with warnings.catch_warnings():
            # MOST_PIXELS is our limit; odd notes of a camera do not matter
            warnings.simplefilter("ignore")
            with Image.open(path, formats=PICTURE_FORMATS) as image:
                _refuse_odd_picture(path, image)
                yield image
    except broken as error:
        raise FileError(path, f"is not a readable picture ({_first_line(error)})") from error


def _refuse_odd_picture(path: Path, image: Any) -> None:
    if image.width * image.height > MOST_PIXELS:
        raise FileError(path, f"has too many pixels (got {image.width} x {image.height})")
    if image.mode.startswith(("I", "F")):
        raise FileError(path, "has 16 or more bits per colour: save it with 8")


def _saved_at(path: Path) -> int:
    """Return when a file was saved, so that one saved anew is read anew."""
    try:
        return path.stat().st_mtime_ns
    except OSError as error:
        raise FileError(path, "cannot be opened") from error


# Reading a rig checks its pictures, and drawing takes them up again. 16 are more than any rig has
# had so far, and fill 400 MB where each has the 3840 x 2160 pixels of a large screen.
@functools.lru_cache(maxsize=16)
def _picture(path: Path, saved_at: int) -> Picture:
    from PIL import ImageOps

    with opened_picture(path) as image:
        picture = np.array(ImageOps.exif_transpose(image).convert("RGB"))
    picture.flags.writeable = False
    return picture


# Meshes are kept for the same reason: 32 are all those of a rig, or of the few that are compared.
@functools.lru_cache(maxsize=32)
def _mesh(path: Path, saved_at: int) -> Array:
    kind = path.suffix.lower().lstrip(".")
    if kind not in MESH_FORMATS:
        got = path.suffix or "no file ending"
        raise FileError(path, f"must be STL, OBJ, PLY or GLB (got {got})")
    triangles = _loaded_triangles(path, kind)

    # refuse what rays cannot be cast at
    count = len(triangles)
    if count == 0:
        raise FileError(path, "contains no triangles")
    if count > MOST_TRIANGLES:
        most = f"at most {MOST_TRIANGLES:,} (got {count:,})"
        raise FileError(path, f"contains too many triangles: {most}")
    if not np.isfinite(triangles).all():
        raise FileError(path, "contains corners that are not finite numbers")

    triangles.flags.writeable = False
    return triangles


def _loaded_triangles(path: Path, kind: str) -> Array:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise FileError(path, "cannot be opened") from error
    binary = _binary_stl(content) if kind == "stl" else None
    if binary is not None:
        return binary

    import trimesh

    try:
        # from bytes and without materials, so that a mesh cannot make the loader open further files
        stream = io.BytesIO(content)
        loaded: Any = trimesh.load_scene(stream, file_type=kind, process=False, skip_materials=True)
        meshes = [mesh for mesh in loaded.dump() if isinstance(mesh, trimesh.Trimesh)]
        with np.errstate(all="ignore"):
            found = [
                np.asarray(mesh.triangles, dtype=np.float64) for mesh in meshes if len(mesh.faces)
            ]
    except Exception as error:  # the loaders raise whatever a broken file makes them trip over
        what = f"is not a readable {kind.upper()} mesh: it is damaged, or in another format"
        raise FileError(path, what) from error
    return np.array(np.concatenate(found)) if found else np.empty((0, 3, 3))


def _binary_stl(content: bytes) -> Array | None:
    """Return the triangles of a binary STL file, None if it is not one.

    It is the usual format, and reading it here spares most rigs the import of trimesh, the longest
    wait of all.
    """
    count = int.from_bytes(content[80:84], "little")
    if len(content) != 84 + _STL_TRIANGLE.itemsize * count:
        return None
    return np.frombuffer(content, _STL_TRIANGLE, count, 84)["corners"].astype(np.float64)


def _first_line(error: BaseException) -> str:
    lines = str(error).splitlines()
    return lines[0][:120] if lines else type(error).__name__
