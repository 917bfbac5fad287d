"""What a builder should be told of a rig before cutting, and on which line of the rig file it is.

A note says where it belongs by names, as ("bank", "outside", "screen", "pixels"): the rig that it
is about may have no file, and in one that is read the mirror images have been written out.
"""

import dataclasses
import tomllib
from dataclasses import dataclass
from typing import Any

from seamsight.scene.rig_rows import rows
from seamsight.scene.rig_words import Data
from seamsight.scene.toml_lines import Path as KeyPath
from seamsight.scene.toml_lines import key_lines

Where = tuple[str, ...]
"""A table's key, its name where there may be several, and the keys within it."""


@dataclass(frozen=True)
class Note:
    """Something about a rig that its builder should know.

    Attributes
    ----------
    kind : str
        "clash": two parts run into each other; "unit": a number whose unit seems to have been
        forgotten; "misfit": parts or values that do not suit each other.
    names : tuple of str
        The parts.
    text : str
        It in words, and what to do about it; no full stop.
    amount : float or None
        Of a clash: how deep, mm; else the number that does not fit, if it is one.
    where : tuple of str
    line : int or None
        Where in the rig file; None for a rig without one.
    """

    kind: str
    names: tuple[str, ...]
    text: str
    amount: float | None
    where: Where
    line: int | None = None

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON has it."""
        whole = dataclasses.asdict(self)
        del whole["where"]
        return whole


def with_lines(notes: list[Note], source: str | None) -> list[Note]:
    """Return notes with their lines in a rig file's text; None if there is no such text."""
    if source is None or not notes:
        return notes
    lines = key_lines(source)
    data = tomllib.loads(source)
    return [
        dataclasses.replace(note, line=_line(_path_of(note.where, data), lines)) for note in notes
    ]


def _path_of(where: Where, data: Data) -> KeyPath:
    """Return the key path of a place that is told by names."""
    table, *keys = where
    if not isinstance(data.get(table), list):
        return where
    name, *keys = keys
    if table == "lens":
        names = _and_image(data, "screen", name)
        found = (path for path, row in rows(data, table) if row.get("screen") in names)
    else:
        found = (
            path for path, row in rows(data, table) if name in (row.get("name"), row.get("mirror"))
        )
    return (*next(found, (table,)), *keys)


def _and_image(data: Data, table: str, name: str) -> list[Any]:
    """Return the names of what is called so, and of what it is the mirror image of."""
    images = [row.get("name") for _, row in rows(data, table) if row.get("mirror") == name]
    return [name, *images]


def _line(path: KeyPath, lines: dict[KeyPath, int]) -> int | None:
    """Return the line of a path, or of the table that lacks its key."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path)
