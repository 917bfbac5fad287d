"""Files written whole or not at all, and never over somebody's own."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from seamsight.scene.errors import OutputError


def refuse_to_overwrite(path: Path, force: bool) -> None:
    """Raise OutputError when a file must not or cannot be written; called before the work is done.

    Raises
    ------
    OutputError
    """
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
    # Make a file beside it, on the same disk, so that it can be renamed
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        msg = f"{path} cannot be written ({error.strerror})"
        raise OutputError(msg) from error

    # Fill it, open it as the umask lets it, and give it its name
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


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
