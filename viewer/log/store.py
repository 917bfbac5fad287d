"""A build log: a folder of dated entries: the rig as it was, what the eyes saw, numbers, words.

An entry is written beside the others under a hidden name, flushed to the disk, and given its name
by one renaming. So it is there whole or not at all, whenever a writer is stopped; two writers at
once get different numbers. Entries are only ever added. What an entry needs to be shown is stored
in it: its rig need not be readable by later versions.
"""

import contextlib
import datetime
import difflib
import json
import os
import re
import shutil
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from seamsight.scene.errors import FileError, OutputError
from seamsight.scene.files import beside

FACTS = "entry.json"
NUMBERS = "numbers.json"
SHEET = "sheet.html"  # in entries that were added with it
WALK_IN = "walk_in.html"
HIDDEN = ".adding-"  # how the name of an entry starts while it is written
LEFT_AFTER = 3600  # s; an add writes its files in seconds, so one as old was killed
MOST_BYTES = 16 * 2**20  # of facts or numbers; those of a large rig take 1 MB
_NAME = re.compile(r"(\d{4}-\d\d-\d\d)-(\d{2,6})")


class OwnPicture(BaseModel):
    """A picture that the builder gave: its file in the entry, and what is written below it."""

    model_config = ConfigDict(frozen=True)

    file: str
    caption: str


class Facts(BaseModel):
    """What an entry's `entry.json` holds.

    Attributes
    ----------
    seamsight : str
        The version that wrote it.
    date : datetime.date
    title, text : str
        The builder's; the text is Markdown.
    rig : str
        The rig file in the entry.
    rig_name, head, head_words : str
        The rig's name, the head's name, and where that head is.
    lenses : bool
        Whether the rig has lenses, so that there are pictures without them too.
    field, azimuth, elevation : float
        The directions that the eyes' pictures show, degrees.
    cautions : tuple of str
    pictures : tuple of OwnPicture
    """

    model_config = ConfigDict(frozen=True)

    seamsight: str
    date: datetime.date
    title: str
    text: str
    rig: str
    rig_name: str
    head: str
    head_words: str
    lenses: bool
    field: float
    azimuth: float
    elevation: float
    cautions: tuple[str, ...] = ()
    pictures: tuple[OwnPicture, ...] = ()

    @property
    def directions(self) -> tuple[float, float, float]:
        """The directions that the eyes' pictures show: field, azimuth, elevation."""
        return self.field, self.azimuth, self.elevation


@dataclass(frozen=True, eq=False)
class Entry:
    """An entry as it is stored."""

    folder: Path
    facts: Facts
    numbers: dict[str, Any]

    @property
    def name(self) -> str:
        """Its folder's name: date and number."""
        return self.folder.name

    @property
    def title(self) -> str:
        """The builder's title, or the rig's name."""
        return self.facts.title or self.facts.rig_name

    def has(self, name: str) -> bool:
        """Tell whether it holds a file that not every entry does."""
        return (self.folder / name).exists()

    def eye_picture(self, eye: str, *, lenses: bool = True) -> Path:
        """Return the file of what the "left" or "right" eye sees."""
        return self.folder / eye_file(eye, lenses)


@dataclass(frozen=True)
class Log:
    """What a log's folder holds.

    Attributes
    ----------
    entries : list of Entry
        Oldest first.
    broken : list of str
        A line for each that cannot be used.
    leftovers : list of str
        Names of folders that killed writers left.
    """

    entries: list[Entry]
    broken: list[str]
    leftovers: list[str]


def read_log(folder: Path) -> Log:
    """Return everything in a log.

    Raises
    ------
    OutputError
        When the folder is no log.
    """
    if not folder.is_dir():
        msg = f"{folder} is not a build log: no such folder"
        raise OutputError(msg)
    names = sorted((path.name for path in folder.iterdir() if _number(path)), key=_order)
    if not names:
        msg = f"{folder} is not a build log: it contains no entry with a name such as 2026-01-31-01"
        raise OutputError(msg)

    entries = []
    broken = []
    for name in names:
        try:
            entries.append(read_entry(folder / name))
        except FileError as error:
            broken.append(broken_line(folder / name, error))
    return Log(entries, broken, sorted(path.name for path in folder.glob(f"{HIDDEN}*")))


def broken_line(folder: Path, error: FileError) -> str:
    """Return what is told of an entry that cannot be used for the sake of one of its files."""
    file = error.path.relative_to(folder)
    return f"entry {folder.name} is damaged and left out: {file} {error.what}"


def last_entry(folder: Path) -> Entry | None:
    """Return a log's last entry that can be read, None where there is none yet."""
    if not folder.is_dir() or not any(_number(path) for path in folder.iterdir()):
        return None
    return next(iter(reversed(read_log(folder).entries)), None)


def read_entry(folder: Path) -> Entry:
    """Return one entry.

    Raises
    ------
    FileError
        When something in it is missing or cannot be read.
    """
    file = folder / FACTS
    try:
        facts = Facts.model_validate_json(_content(folder, FACTS))
    except ValidationError as error:
        first = error.errors()[0]
        words = [*map(str, first["loc"]), first["msg"]]
        raise FileError(file, f"cannot be used: {' '.join(words)}") from error

    file = folder / NUMBERS
    try:
        numbers = json.loads(_content(folder, NUMBERS))
    except (ValueError, RecursionError) as error:
        raise FileError(file, f"cannot be read ({error})") from error
    if not isinstance(numbers, dict):
        raise FileError(file, "contains no table")

    entry = Entry(folder, facts, numbers)
    pages = filter(entry.has, (SHEET, WALK_IN))
    pictures = (picture.file for picture in facts.pictures)
    for name in (*eye_files(facts.lenses), *pictures, *pages):
        beside(folder / FACTS, name)
    return entry


def _content(folder: Path, name: str) -> bytes:
    """Return what a file of an entry holds, if it is one, and of a size that can be.

    Raises
    ------
    FileError
    """
    file = beside(folder / FACTS, name)
    try:
        if file.stat().st_size <= MOST_BYTES:
            return file.read_bytes()
    except OSError as error:
        raise FileError(folder / name, f"cannot be read ({error.strerror})") from error
    raise FileError(folder / name, f"is too large: at most {MOST_BYTES // 2**20} MB")


def refuse_foreign_folder(folder: Path) -> None:
    """Refuse a folder that no entry must be added to: it contains other files, or cannot be there.

    Raises
    ------
    OutputError
    """
    if folder.exists() and not folder.is_dir():
        msg = f"{folder} is a file, not a folder"
        raise OutputError(msg)
    if not folder.is_dir():
        if not folder.parent.is_dir():
            msg = f"there is no folder {folder.parent}: create it first"
            raise OutputError(msg)
        return
    found = [path for path in folder.iterdir() if not path.name.startswith(".")]
    if found and not any(_number(path) for path in found):
        msg = f"{folder} contains other files and no build log: choose a new or an empty folder"
        raise OutputError(msg)


def store(folder: Path, date: datetime.date, files: Mapping[str, bytes]) -> Path:
    """Add an entry to a log, whole or not at all, and return its folder.

    It gets the next free number of its date. What adds that were killed have left goes.

    Raises
    ------
    OutputError
        When it cannot be written.
    """
    hidden = folder / f"{HIDDEN}{uuid.uuid4().hex}"
    try:
        folder.mkdir(exist_ok=True)
        _sweep(folder)
        hidden.mkdir()
        for name, content in files.items():
            _write_flushed(hidden / name, content)
        for inner in (*(path for path in hidden.rglob("*") if path.is_dir()), hidden):
            _flush_folder(inner)
        return _named(hidden, folder, date)
    except OSError as error:
        msg = f"the entry cannot be written into {folder} ({error.strerror or error})"
        raise OutputError(msg) from error
    finally:
        shutil.rmtree(hidden, ignore_errors=True)


def changed_lines(before: Entry, after: Entry, most: int = 40) -> list[str]:
    """Return the lines of the rig file that differ, at most so many.

    A "−" stands before an old one, a "+" before a new one.
    """
    compared = difflib.unified_diff(_rig_lines(before), _rig_lines(after), n=0, lineterm="")
    lines = [line for line in list(compared)[2:] if not line.startswith("@@")]
    found = [f"{'−' if line[0] == '-' else '+'} {line[1:]}" for line in lines]
    return found if len(found) <= most else [*found[:most], f"… and {len(found) - most} more lines"]


def _rig_lines(entry: Entry) -> list[str]:
    try:
        file = beside(entry.folder / FACTS, entry.facts.rig)
        return file.read_text("utf-8", "replace").splitlines()
    except (FileError, OSError):
        return []


def _sweep(folder: Path) -> None:
    """Delete what killed adds left; others may be at work beside this one, so only if it is old."""
    for path in folder.glob(f"{HIDDEN}*"):
        with contextlib.suppress(OSError):  # another add has swept it meanwhile
            if time.time() - path.stat().st_mtime > LEFT_AFTER:
                shutil.rmtree(path)


def _named(hidden: Path, folder: Path, date: datetime.date) -> Path:
    """Give an entry the next free number; where another writer took it meanwhile, the one after."""
    of_date = (path for path in folder.iterdir() if path.name.startswith(f"{date}-"))
    number = max((_number(path) or 0 for path in of_date), default=0) + 1
    while True:
        path = folder / f"{date}-{number:02d}"
        try:
            # by POSIX no folder takes the name of one that is not empty, as no entry is
            os.rename(hidden, path)
        except OSError:
            if not path.exists():
                raise
            number += 1
            continue
        _flush_folder(folder)
        return path


def _write_flushed(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _flush_folder(folder: Path) -> None:
    """Bring a folder's names to the disk, on systems where a folder can be opened."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _number(path: Path) -> int | None:
    """Return the number in the name of an entry's folder, None where it is no entry's name."""
    found = _NAME.fullmatch(path.name)
    return int(found[2]) if found else None


def _order(name: str) -> tuple[str, int]:
    return name[:10], int(name[11:])


def eye_file(eye: str, lenses: bool) -> str:
    """Return the name of the file of what an eye sees, with or without lenses."""
    return f"{eye}{'' if lenses else '_without_lenses'}.png"


def eye_files(lenses: bool) -> list[str]:
    """Return the names of all those files, of a rig with or without lenses."""
    kinds = (True, False) if lenses else (True,)
    return [eye_file(eye, within) for within in kinds for eye in ("left", "right")]
