"""Files written whole or not at all, and never over somebody's own."""

import os
import stat
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from seamsight.scene.errors import OutputError

LONGEST_NAME = 120  # letters of a file's or folder's name
FORBIDDEN = frozenset('/\\:*?"<>|')  # on one system or another
# names that Windows keeps for devices, whatever their ending
DEVICES = {
    "CON",
    "PRN",
    "AUX",
    "NUL",
    *(f"{port}{n}" for port in ("COM", "LPT") for n in range(10)),
}


def wrong_name(name: str) -> str | None:
    """Return what is wrong with the name of a file or folder that must be safe on any system."""
    if len(name) > LONGEST_NAME:
        return f"has more than {LONGEST_NAME} characters"
    if not name.isprintable() or FORBIDDEN & set(name):
        return "has characters that not every system allows"
    if not name or name != name.strip(" ."):
        return "is empty, or begins or ends with a dot or a blank"
    if name.partition(".")[0].upper() in DEVICES:
        return "is the name of a device on some systems"
    return None


def refuse_to_overwrite(path: Path, force: bool) -> None:
    """Raise OutputError when a file must not or cannot be written; called before the work is done.

    Raises
    ------
    OutputError
    """
    try:
        is_folder = path.is_dir()
        is_there = path.exists()
    except OSError as error:  # as where the name is too long
        raise _unwritable(path, error) from error
    if is_folder:
        msg = f"{path} is a folder"
        raise OutputError(msg)
    if is_there and not force:
        msg = f"{path} exists: choose another name, or give --force to overwrite it"
        raise OutputError(msg)
    if not path.parent.is_dir():
        msg = f"there is no folder {path.parent}: create it first"
        raise OutputError(msg)

    # See whether a file can be made there at all
    handle, name = _file_beside(path)
    os.close(handle)
    os.unlink(name)


def make_folder(path: Path) -> None:
    """Make a folder and those that it is in, unless it is there.

    Raises
    ------
    OutputError
        When it cannot be made.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        msg = f"the folder {path} cannot be made ({error.strerror})"
        raise OutputError(msg) from error


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all.

    Raises
    ------
    OutputError
        When it cannot be written.
    """
    _write(path, content, os.replace)


def write_new(path: Path, content: bytes) -> None:
    """Write a file that is not there yet, whole or not at all.

    Raises
    ------
    OutputError
        When something of this name is there, also since a moment ago, or it cannot be written.
    """
    try:
        _write(path, content, _put_new)
    except FileExistsError as error:
        msg = f"{path.name} exists: choose another name"
        raise OutputError(msg) from error


def _put_new(name: str, path: Path) -> None:
    """Give a file its name if nothing else has that."""
    try:
        os.link(name, path)
    except FileExistsError:
        raise
    except OSError:  # some memory sticks have no links: take the name first
        os.close(os.open(path, os.O_CREAT | os.O_EXCL))
        os.replace(name, path)


def _write(path: Path, content: bytes, put: Callable[[str, Path], None]) -> None:
    handle, name = _file_beside(path)

    # Fill it, open it as the umask or the file before it lets it, and give it its name
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())  # or a power cut could leave an empty file of its name
        os.chmod(name, _mode(path))
        put(name, path)
    except FileExistsError:
        raise
    except OSError as error:
        raise _unwritable(path, error) from error
    finally:
        with suppress(FileNotFoundError):
            os.unlink(name)


def _file_beside(path: Path) -> tuple[int, str]:
    """Make a file beside another, on the same disk, so that it can take its name when it is full.

    Its own name is short: that of the other may be as long as names can be.
    """
    try:
        return tempfile.mkstemp(dir=path.parent, prefix=".seamsight-")
    except OSError as error:
        raise _unwritable(path, error) from error


def _unwritable(path: Path, error: OSError) -> OutputError:
    return OutputError(f"{path} cannot be written ({error.strerror})")


def _mode(path: Path) -> int:
    """Return who may do what with a file: as before where it is there."""
    with suppress(OSError):
        return stat.S_IMODE(path.stat().st_mode)
    return 0o666 & ~_umask()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
