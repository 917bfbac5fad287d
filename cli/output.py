"""Files written whole or not at all, and a word on standard error when something takes long."""

import json
import os
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

PATIENCE = 1.0  # s; what takes longer is announced


def refuse_to_overwrite(path: Path, force: bool) -> None:
    """Raise OutputError when a file must not or cannot be written; called before the work is done.

    Raises
    ------
    OutputError
    """
    from seamsight.scene.errors import OutputError

    if path.is_dir():
        msg = f"{path} is a folder"
        raise OutputError(msg)
    if path.exists() and not force:
        msg = f"{path} exists: choose another name, or give --force to overwrite it"
        raise OutputError(msg)
    if not path.parent.is_dir():
        msg = f"{path.parent} is not a folder: make it first"
        raise OutputError(msg)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all.

    Raises
    ------
    OutputError
        When it cannot be written.
    """
    from seamsight.scene.errors import OutputError

    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        msg = f"{path} cannot be written ({error.strerror})"
        raise OutputError(msg) from error
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        os.chmod(name, 0o666 & ~_umask())
        os.replace(name, path)
    except OSError as error:
        msg = f"{path} cannot be written ({error.strerror})"
        raise OutputError(msg) from error
    finally:
        with suppress(FileNotFoundError):
            os.unlink(name)


def print_json(value: Any) -> None:
    """Print one JSON value on standard output; text in it needs no more than ASCII to pass through."""
    print(json.dumps(value, indent=2, allow_nan=False))


@contextmanager
def announced(what: str) -> Iterator[None]:
    """Say on standard error what is going on, if it takes longer than a moment."""
    timer = threading.Timer(
        PATIENCE, lambda: print(f"seamsight: {what} …", file=sys.stderr, flush=True)
    )
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
