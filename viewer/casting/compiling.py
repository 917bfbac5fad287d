"""Compiling the inner loops, and keeping what was compiled: the one door to numba.

numba keeps compiled code on the disk, but looks for changes only in the file of the very function
it compiled, not in those of the functions that this one calls. So ours is kept in a folder named
after the content of all files that compiled code rests on: a change in any compiles all anew.
"""

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import numba

from seamsight.scene import kind, optics

_HERE = Path(__file__)
COMPILED_FILES = (
    *(
        _HERE.with_name(f"{name}.py")
        for name in (
            "box_tree",
            "compiling",
            "lens_kernel",
            "kernel",
            "mark_kernel",
            "search",
            "world_kernel",
        )
    ),
    *(Path(str(module.__file__)) for module in (kind, optics)),
)
"""All files that compiled code rests on."""

_FOLDER = hashlib.sha256(b"".join(file.read_bytes() for file in COMPILED_FILES)).hexdigest()[:12]

_Function = TypeVar("_Function", bound=Callable[..., object])


def compiled(function: _Function) -> _Function:
    """Compile a function; for the type checker it stays what it was.

    Its first call compiles it, without Python's lock while it runs, or loads what an earlier run
    compiled.
    """
    with _own_cache():
        compiled: _Function = numba.njit(nogil=True, cache=True)(function)
    return compiled


@contextmanager
def _own_cache() -> Iterator[None]:
    """Have what is decorated meanwhile kept in our folder: beside the code, or where the user says.

    numba reads this setting as it decorates a function, and never again for that one. The setting
    is everyone's, so it is put back.
    """
    chosen = numba.config.CACHE_DIR
    numba.config.CACHE_DIR = str(Path(chosen or _HERE.with_name("__pycache__")) / _FOLDER)
    try:
        yield
    finally:
        numba.config.CACHE_DIR = chosen
