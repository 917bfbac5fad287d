"""Files that stand beside a rig file: where they may lie; pictures, read once and shared."""

import contextlib
import functools
import os
import struct
import warnings
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from seamsight.scene.errors import FileError

PICTURE_FORMATS = ("PNG", "JPEG", "BMP", "GIF", "WEBP")
MOST_BYTES = 256 * 2**20
MOST_PIXELS = 16384 * 16384 // 4

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
    if size_of(path) > MOST_BYTES:
        raise FileError(named, f"is too large: at most {MOST_BYTES // 2**20} MB")
    return path


def read_picture(path: Path) -> Picture:
    """Return a picture as (h, w, 3) uint8 sRGB, top row first.

    Raises
    ------
    FileError
        When it cannot be opened, is not a picture, or not one that can be used.
    """
    return _picture(path, saved_at(path))


def picture_pixels(path: Path) -> int:
    """Return how many pixels a picture has, by its header.

    Raises
    ------
    FileError
        When it is not a picture, or not one that can be used.
    """
    with opened_picture(path) as image:
        return int(image.width * image.height)


@contextlib.contextmanager
def opened_picture(path: Path) -> Iterator[Any]:
    """Open a picture, a Pillow image; what is wrong with it, also when read within, is a FileError.

    Raises
    ------
    FileError
        When it is not a picture, or not one that can be used.
    """
    from PIL import Image

    broken = (  # Pillow raises whatever a broken file makes it trip over
        OSError,
        ValueError,
        LookupError,
        TypeError,
        OverflowError,
        MemoryError,
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
    except FileError:
        raise
    except broken as error:
        raise FileError(path, f"is not a readable picture ({_first_line(error)})") from error


def _refuse_odd_picture(path: Path, image: Any) -> None:
    if image.width * image.height > MOST_PIXELS:
        raise FileError(path, f"has too many pixels (got {image.width} x {image.height})")
    if image.mode.startswith(("I", "F")):
        raise FileError(path, "has 16 or more bits per colour: save it with 8")


def saved_at(path: Path) -> int:
    """Return when a file was saved, so that one saved anew is read anew.

    Raises
    ------
    FileError
        When it cannot be opened.
    """
    return _stat(path).st_mtime_ns


def size_of(path: Path) -> int:
    """Return how many bytes a file has.

    Raises
    ------
    FileError
        When it cannot be opened.
    """
    return _stat(path).st_size


def _stat(path: Path) -> os.stat_result:
    try:
        return path.stat()
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


def _first_line(error: BaseException) -> str:
    lines = str(error).splitlines()
    return lines[0][:120] if lines else type(error).__name__
