"""The rig's own numbers by path, formulas worked out, and values set from outside.

A path names a number as a builder would: the thing's name, then the keys, with "." between them, as
`outside.lens.width` or `glare shield.centre.3` (the third number of a list: up). In a formula a
name's blanks are written "_".
"""

import copy
import dataclasses
import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from seamsight.scene.display import Optic
from seamsight.scene.errors import ChoiceError
from seamsight.scene.formulas import evaluate, is_formula
from seamsight.scene.layout import toe_angle
from seamsight.scene.rig import Bank, Lens, Rig
from seamsight.scene.rig_words import MODELS, Data, Finding, hint, rule_broken, shown
from seamsight.scene.table import Table, keys_of
from seamsight.scene.toml_lines import DEEPEST
from seamsight.scene.toml_lines import Path as KeyPath
from seamsight.scene.units import degrees, millimetres

_Table = TypeVar("_Table", bound=Table)

_WORDS = {
    "name",
    "note",
    "file",
    "wide",
    "shows",
    "screen",
    "on",
    "mirror",
    "link",
    "adapter",
}  # never formulas
_INSTEAD = {"distance": "magnification", "magnification": "distance"}
_COUNTED = {"count", "part", "of", "pixels"}  # whole numbers
_TABLES = ("pilot", "world", "values", "tolerance")
_WITH_DEFAULTS = ("world", "tolerance")  # of which a value may be set where the file has no table


@dataclasses.dataclass(frozen=True)
class Computed:
    """A rig file's tables with every formula worked out.

    Attributes
    ----------
    data : dict
        In which a formula that cannot be worked out stays as it is.
    wrong : list of Finding
        Why it cannot.
    """

    data: Data
    wrong: list[Finding]


def computed(data: Data) -> Computed:
    """Return a rig file's tables with the results of their formulas in place of these."""
    formulas = [path for path, value in _numbers_and_words(data) if is_formula(value)]
    if not formulas:
        return Computed(data, [])
    numbers = _Numbers(data)
    results = copy.deepcopy(data)
    wrong = []
    for path in formulas:
        try:
            put(results, path, numbers.at(path))
        except ValueError as error:
            wrong.append(rule_broken(path, f"{error} (got {shown(at(data, path))})"))
    return Computed(results, wrong)


def with_changes(data: Data, changes: Mapping[str, Any]) -> Data:
    """Return a rig file's tables with some values set, by their paths.

    A lens's distance goes in place of its magnification, and the other way round.

    Raises
    ------
    ChoiceError
        When a path leads to nothing that could be set.
    """
    begun = {words.partition(".")[0] for words in changes} - _named_tables(data).keys()
    absent: Data = {table: {} for table in _WITH_DEFAULTS if table in begun}
    changed = absent | copy.deepcopy(data)
    paths = {key_path(changed, words): value for words, value in changes.items()}
    for path, value in paths.items():
        put(changed, path, value)
        instead = _INSTEAD.get(str(path[-1]))
        table = at(changed, path[:-1])
        if instead in table and (*path[:-1], instead) not in paths:
            del table[instead]
    return changed


def key_path(data: Data, words: str) -> KeyPath:
    """Return the place of a value in a rig file's tables, there or not, from its path in words.

    Raises
    ------
    ChoiceError
        When no table, key or item is called so.
    """
    path, rest = _table_named(data, words)
    here: Any = at(data, path)

    # go from word to word, through lists by numbers and through tables by keys
    for number, word in enumerate(rest):
        if isinstance(here, list):
            if not (word.isascii() and word.isdigit() and 1 <= int(word) <= len(here)):
                msg = f"{shown(words)}: {shown(word)} must be a number from 1 to {len(here)}"
                raise ChoiceError(msg)
            path = (*path, int(word) - 1)
        else:
            known = list(here) if path == ("values",) else _keys_of((*path, word))
            if word not in known:
                msg = f"{shown(words)}: there is no key {shown(word)}{hint(word, known)}"
                raise ChoiceError(msg)
            path = (*path, word)
        here = at(data, path)
        if here is None and number < len(rest) - 1:
            msg = f"{shown(words)}: {shown(word)} is not written in the rig file"
            raise ChoiceError(msg)
    if not rest:
        msg = f"{shown(words)} is a table: name one of its keys, as {words}.{_example(here)}"
        raise ChoiceError(msg)
    return path


def numbers_of(data: Data) -> dict[str, KeyPath]:
    """Return every number that a rig file writes, formulas too: path in words to its place."""
    found = {}
    names = _names_of_tables(data)
    for path, value in _numbers_and_words(data):
        try:
            is_number = is_formula(value) or math.isfinite(number_in(value))
        except ValueError:
            continue
        words = _in_words(path, names)
        # what outputs say, changes nothing that is seen
        if is_number and words and path[0] != "output" and not _COUNTED.intersection(path):
            found[words] = path
    return found


def number_of(data: Data, words: str) -> float | None:
    """Return what a number is, by its path: written, of a formula, a default, or a toe worked out.

    None where it is nothing in particular.

    Raises
    ------
    ChoiceError
        When the path leads nowhere.
    """
    path = key_path(data, words)
    try:
        if at(data, path) is None or path[2:] == ("toe",):
            return _Numbers(data).told(path, words)
        return _Numbers(data).at(path)
    except ValueError:
        return None


def in_words(data: Data, path: KeyPath) -> str:
    """Return a place in words, or "" where its table has no name."""
    return _in_words(path, _names_of_tables(data))


def _names_of_tables(data: Data) -> dict[KeyPath, str]:
    return {place: name for name, place in _named_tables(data).items()}


def _in_words(path: KeyPath, names: dict[KeyPath, str]) -> str:
    for length in (1, 2):
        if path[:length] in names and len(path) > length:
            return ".".join([names[path[:length]], *map(_step, path[length:])])
    return ""


def put(data: Any, path: KeyPath, value: Any) -> None:
    """Set a value in nested tables and lists."""
    *way, last = path
    for key in way:
        data = data[key]
    data[last] = value


def _step(key: str | int) -> str:
    return str(key + 1) if isinstance(key, int) else key


def at(data: Any, path: KeyPath) -> Any:
    """Return what stands at a place, None where nothing does."""
    for key in path:
        try:
            data = data[key]
        except (LookupError, TypeError):
            return None
    return data


def _example(here: Any) -> str:
    keys = [key for key, value in here.items() if key != "name" and not isinstance(value, str)]
    return keys[0] if keys else "KEY"


def _keys_of(path: KeyPath) -> list[str]:
    """Return which keys may stand beside one, by the table that it stands in."""
    tables = [key for key in path[:-1] if key in MODELS]
    owners = MODELS[str(tables[-1])] if tables else (Rig,)
    return [key for owner in owners for key in keys_of(owner)]


def _table_named(data: Data, words: str) -> tuple[KeyPath, list[str]]:
    """Return the table that a path begins with, and the path's other words.

    Names may hold dots: the longest that fits counts.
    """
    named = _named_tables(data)
    steps = words.split(".")
    for length in range(len(steps), 0, -1):
        name = ".".join(steps[:length])
        for known, path in named.items():
            if name in (known, known.replace(" ", "_")):
                return path, steps[length:]
    msg = f"there is nothing called {shown(steps[0])} in the rig{hint(steps[0], named)}"
    raise ChoiceError(msg)


def _named_tables(data: Data) -> dict[str, KeyPath]:
    """Return every table that a path can begin with, by its name; a lens by its screen's.

    Where a head or a mark is called as a part is, that of the part counts; theirs is then
    "head NAME" or "mark NAME".
    """
    named: dict[str, KeyPath] = {table: (table,) for table in _TABLES if table in data}
    tables = sorted(data, key=lambda table: table in ("head", "mark"))
    for table in tables:
        rows = data[table]
        for number, row in enumerate(rows if isinstance(rows, list) else []):
            name = row.get("screen" if table == "lens" else "name") if isinstance(row, dict) else 0
            if isinstance(name, str):
                called = f"{name} lens" if table == "lens" else name
                called = f"{table} {name}" if called in named else called
                named.setdefault(called, (table, number))
    return named


def _numbers_and_words(data: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    """Yield every number and text of a rig file that is no name, with its place."""
    if isinstance(data, dict | list) and len(path) < DEEPEST:
        items: Iterable[tuple[Any, Any]] = (
            data.items() if isinstance(data, dict) else enumerate(data)
        )
        for key, value in items:
            if not (isinstance(value, str) and key in _WORDS):
                yield from _numbers_and_words(value, (*path, key))
    elif isinstance(data, int | float | str) and not isinstance(data, bool):
        yield path, data


class _Numbers:
    """Numbers by place, each formula worked out once, circles found."""

    def __init__(self, data: Data) -> None:
        self._data = data
        self._values = data["values"] if isinstance(data.get("values"), dict) else {}
        self._known: dict[KeyPath, float] = {}
        self._open: list[KeyPath] = []

    def at(self, path: KeyPath) -> float:
        if path in self._known:
            return self._known[path]
        if path in self._open:
            circle = self._open[self._open.index(path) :]
            names = " -> ".join(in_words(self._data, one) or shown(one[-1]) for one in circle)
            msg = f"goes round in a circle: {names} -> {in_words(self._data, path)}"
            raise ValueError(msg)
        if len(self._open) >= DEEPEST:
            msg = f"rests on more than {DEEPEST} formulas, one upon the other"
            raise ValueError(msg)

        self._open.append(path)
        try:
            value = at(self._data, path)
            number = evaluate(value, self._named) if is_formula(value) else number_in(value)
        finally:
            self._open.pop()
        self._known[path] = number
        return number

    def _named(self, name: str) -> float:
        """Return the number that a formula calls by a name or a path."""
        if name in self._values:
            return self.at(("values", name))
        if "." not in name:
            msg = f"there is no value {shown(name)}{hint(name, self._values)}"
            raise ValueError(msg)
        path = key_path(self._data, name)
        if at(self._data, path) is not None and path[2:] != ("toe",):
            return self.at(path)
        return self.told(path, name)

    def told(self, path: KeyPath, name: str) -> float:
        """Return a number that the file does not write, but the rig has: a default, a toe."""
        row = self._resolved(path[:2], leave_out=path) if path[0] in ("bank", "lens") else None
        if path[0] == "bank" and path[2:] == ("toe",):
            return math.degrees(toe_angle(_model(Bank, row, name)))
        if path[0] == "bank" and path[2:] == ("lens", "distance"):
            lens: Optic | None = _model(Bank, row, name).lens
            assert lens is not None  # or there would be no such path
            return lens.separation
        if path[0] == "lens" and path[2:] == ("distance",):
            return _model(Lens, row, name).separation

        # what a key is when it is left out
        owners = [key for key in path[:-1] if key in MODELS]
        for owner in MODELS[str(owners[-1])] if owners else ():
            default = owner.model_fields[str(path[-1])].default
            if isinstance(default, int | float):
                return default
        msg = f"{shown(name)} is not written in the rig file"
        raise ValueError(msg)

    def _resolved(self, path: KeyPath, leave_out: KeyPath) -> Any:
        """Return a table with its formulas worked out, but for one place."""
        row = copy.deepcopy(at(self._data, path))
        for place, value in _numbers_and_words(row):
            if is_formula(value) and (*path, *place) != leave_out:
                put(row, place, self.at((*path, *place)))
        return row


def _model(model: type[_Table], row: Any, name: str) -> _Table:
    try:
        return model.model_validate(row)
    except ValidationError as error:
        msg = f"{shown(name)} rests on a table with errors"
        raise ValueError(msg) from error


def number_in(value: Any) -> float:
    """Return a plain number, a length with a unit in mm, or an angle with "deg" in degrees.

    Raises
    ------
    ValueError
        When it is none of these.
    """
    if isinstance(value, str):
        for read in (degrees, millimetres):
            try:
                return float(read(value))
            except ValueError:
                continue
    if isinstance(value, bool) or not isinstance(value, int | float):
        msg = f"{shown(value)} is not a number"
        raise ValueError(msg)
    return value
