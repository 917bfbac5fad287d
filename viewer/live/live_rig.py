"""A rig file that is looked at while numbers of it are changed, and written back on request.

The file's text and tables are read once; each set of changed numbers makes a rig of its own from
them. Only the rig file, and new files beside it, are ever written.
"""

import hashlib
import os
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from seamsight.scene.adjustable import Adjustable, adjustables
from seamsight.scene.errors import ChoiceError, OutputError
from seamsight.scene.recent import Recent
from seamsight.scene.rig_file import RigSource, read_source, rig_of, source_of
from seamsight.scene.rig_text import with_values
from seamsight.scene.values import key_path
from seamsight.scene.writing import LONGEST_NAME, write_new, write_whole, wrong_name
from seamsight.viewer.live.preview import FileWatch, Preview

PREVIEWS_KEPT = 6  # what lately was looked at: a value, its undoing, another tab's

Changes = Mapping[str, float]


@dataclass(frozen=True)
class Reading:
    """A rig file as it was when it was last right.

    Attributes
    ----------
    source : RigSource
    version : str
        Of its content: two that differ in anything have another.
    numbers : dict
        All that can be changed, by path.
    fixed : dict
        Other values that count instead of the file's, by path.
    """

    source: RigSource
    version: str
    numbers: Mapping[str, Adjustable]
    fixed: Mapping[str, Any]


class LiveRig:
    """The rig of a file, with or without changed numbers. Several threads may use it at once.

    Parameters
    ----------
    watch : FileWatch
        On the rig file, made before it is read.
    changes : dict, optional
        Values that count instead of the file's, by path.

    Attributes
    ----------
    file : Path
    start : dict
        Those of the changes that are numbers of the file, for sliders to start with.

    Raises
    ------
    RigError
        With everything that is wrong with the file.
    """

    def __init__(self, watch: FileWatch, changes: Mapping[str, Any] | None = None) -> None:
        self.file = watch.file
        self._watch = watch
        self._lock = threading.Lock()
        source = read_source(self.file)
        rig_of(source, changes)
        self.start, fixed = _parted(source, changes) if changes else ({}, {})
        self._take(source, fixed)

    @property
    def reading(self) -> Reading:
        """What was read last."""
        return self._reading

    def preview(self, changes: Changes) -> Preview:
        """Return the rig with some numbers changed, made ready to be looked at.

        Raises
        ------
        RigError
            When it is wrong so.
        ChoiceError
            When one of them is no number of the file.
        """
        with self._lock:
            reading = self._reading
            key = tuple(sorted(changes.items()))
            return self._previews.get(key, lambda: _preview(reading, changes))

    def is_saved(self) -> bool:
        """Return True once for each time that somebody else saved the file."""
        return self._watch.is_saved()

    def read(self) -> None:
        """Read the file again.

        Raises
        ------
        RigError
            When it is wrong; what was read before then still counts.
        """
        self._take(read_source(self.file), self._reading.fixed)

    def write(self, changes: Changes, version: str) -> None:
        """Write changed numbers into the rig file, of which nothing else changes.

        Parameters
        ----------
        changes : dict
        version : str
            Of the file that the changes were made to.

        Raises
        ------
        OutputError
            When the file is another by now, or cannot be written.
        RigError
            When the rig would be wrong.
        ChoiceError
            When one of the changes is no number of the file.
        """
        path = self.file.resolve()
        try:
            content = path.read_bytes()
        except OSError as error:
            msg = f"{self.file.name} cannot be read ({error.strerror}); nothing was written"
            raise OutputError(msg) from error
        if _version(content) != version:
            msg = f"{self.file.name} was changed by another program; nothing was written"
            raise OutputError(msg)
        if not os.access(path, os.W_OK):
            msg = f"{self.file.name} may only be read; nothing was written"
            raise OutputError(msg)

        source = self._changed(source_of(str(self.file), content), changes)
        write_whole(path, source.content)
        self._watch.keep()
        self._take(source, self._reading.fixed)

    def save_as(self, name: str, changes: Changes) -> Path:
        """Write the file with changed numbers as a new one in the same folder; return its path.

        Raises
        ------
        OutputError
            When it is there already, or cannot be written.
        RigError
            When the rig would be wrong.
        ChoiceError
            When it is no plain name, or one of the changes is no number of the file.
        """
        path = self.file.resolve().parent / plain_name(name)
        write_new(path, self._changed(self._reading.source, changes).content)
        return path

    def _changed(self, source: RigSource, changes: Changes) -> RigSource:
        """Return the file with changed numbers; refuse a wrong rig."""
        refuse_unknown(changes, adjustables(source.data))
        changed = source_of(source.file, with_values(source.content, changes))
        rig_of(changed, self._reading.fixed)
        return changed

    def _take(self, source: RigSource, fixed: Mapping[str, Any]) -> None:
        present = Preview(rig_of(source, fixed))
        reading = Reading(source, _version(source.content), adjustables(source.data), fixed)
        previews = Recent[Preview](PREVIEWS_KEPT, lambda _: 1)
        previews.get((), lambda: present)
        with self._lock:
            self._reading, self._previews = reading, previews


def plain_name(name: str) -> str:
    """Return a new rig file's name, with ".toml" at its end.

    Raises
    ------
    ChoiceError
        When it is empty, or no plain name: a path, hidden, or that of a device.
    """
    bare = name.strip().removesuffix(".toml")
    full = f"{bare}.toml"
    if not bare or wrong_name(full):
        msg = "a new file's name must be a plain name, such as wider.toml, without a folder"
        raise ChoiceError(msg)
    return full


def refuse_unknown(changes: Changes, numbers: Mapping[str, Adjustable]) -> None:
    """Refuse changes to what is no number of a file.

    Raises
    ------
    ChoiceError
    """
    unknown = [path for path in changes if path not in numbers]
    if unknown:
        msg = f"the rig file has no number {unknown[0][:LONGEST_NAME]!r}"
        raise ChoiceError(msg)


def _preview(reading: Reading, changes: Changes) -> Preview:
    refuse_unknown(changes, reading.numbers)
    return Preview(rig_of(reading.source, {**reading.fixed, **changes}))


def _parted(
    source: RigSource, changes: Mapping[str, Any]
) -> tuple[dict[str, float], dict[str, Any]]:
    """Return those changes that sliders can make, and the others."""
    words = {key_path(source.data, path): path for path in adjustables(source.data)}
    start: dict[str, float] = {}
    fixed: dict[str, Any] = {}
    for path, value in changes.items():
        known = words.get(key_path(source.data, path))
        if known and isinstance(value, int | float) and not isinstance(value, bool):
            start[known] = value
        else:
            fixed[path] = value
    return start, fixed


def _version(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
