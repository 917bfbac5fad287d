"""What a rig file must keep beyond single keys: rules within tables and between them.

The models in `rig.py` and `display.py` say what a table may hold.
"""

import difflib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, TypeGuard

import numpy as np
from pydantic import TypeAdapter, ValidationError

from seamsight.scene import files
from seamsight.scene.assembly import build, part_around
from seamsight.scene.display import CONTENT, Display, Optic
from seamsight.scene.errors import FileError
from seamsight.scene.layout import unit_name
from seamsight.scene.parts import OWN_ROLES, own_part_name
from seamsight.scene.rig import DESIGN, MOST_UNITS, Rig
from seamsight.scene.rig_words import MODELS, Data, Finding, hint, rule_broken, shown
from seamsight.scene.table import Table
from seamsight.scene.toml_lines import Path as KeyPath
from seamsight.scene.units import MM_PER_UNIT

_ARRAYS = ("head", "screen", "lens", "bank", "board", "plate", "mesh", "mark")
_PART_TABLES = ("screen", "bank", "board", "plate", "mesh")


def rules_despite(wrong: list[Finding], data: Data) -> Iterator[Finding]:
    """Yield the rules that tables with wrong keys break besides, judged by their right keys.

    A model looks at its own rules only when every key is right; a builder wants to hear of both at
    once.
    """
    rows = [(path, row, MODELS[table][0]) for table in _ARRAYS for path, row in _rows(data, table)]
    for path, row in _rows(data, "bank"):
        inner = (("screen", Display), ("lens", Optic))
        rows += [
            ((*path, key), row[key], model)
            for key, model in inner
            if isinstance(row.get(key), dict)
        ]
    spoilt = {finding.path[:length] for finding in wrong for length in (2, 3)}
    for path, row, model in rows:
        if path in spoilt:
            broken = _broken_rule(model, row)
            if broken:
                yield rule_broken(path, broken)


def rules_between(data: Data, rig_file: Path) -> Iterator[Finding]:
    """Yield what tables break together: names, lenses and their screens, files beside the rig."""
    yield from _name_rules(data)
    yield from _lens_rules(data)
    yield from _file_rules(data, rig_file)


def eye_rule(data: Data, wrong: Iterable[Finding], rig_file: Path) -> Iterator[Finding]:
    """Yield that the design eye point is inside a part, judged by the tables that are right.

    Raises
    ------
    FileError
        When a mesh cannot be read any more.
    """
    usable = _usable(data, wrong)
    if usable is None:
        return
    rig = Rig.model_validate(usable).read_from(rig_file)
    around = part_around(build(rig), np.array(rig.pilot.eye_point))
    if around is not None:
        yield Finding(("pilot", "eye_point"), f"the design eye point is inside {shown(around)}")


def _broken_rule(model: type[Table], row: Data) -> str | None:
    """Return the rule that a table breaks by its right keys; a wrong key breaks none."""
    unknown: Any = object()  # neither missing nor fit to be compared

    # stand in for the keys that were probably meant
    misspelt = [
        difflib.get_close_matches(key, model.model_fields, 1, 0.6)
        for key in row
        if key not in model.model_fields
    ]
    values = {close[0]: unknown for close in misspelt if close}

    # take each key by itself, right or wrong
    for key, field in model.model_fields.items():
        if key in row:
            try:
                values[key] = TypeAdapter(field.rebuild_annotation()).validate_python(row[key])
            except ValidationError:
                values[key] = unknown

    try:
        return model.model_construct(**values).broken_rule()
    except (TypeError, AttributeError):
        return None


def _rows(data: Data, table: str) -> Iterator[tuple[KeyPath, Data]]:
    """Yield the tables of an array of tables, whatever else stands in its place.

    Those beyond the most there may be are refused unseen.
    """
    rows = data.get(table)
    for number, row in enumerate(rows[: _most(table)] if isinstance(rows, list) else []):
        if isinstance(row, dict):
            yield (table, number), row


def _most(table: str) -> int:
    """Return how many tables an array of tables may have."""
    [most] = [kept.max_length for kept in Rig.model_fields[table].metadata]
    return int(most)


def _named_rows(data: Data, table: str) -> Iterator[tuple[KeyPath, str, Data]]:
    """Yield the tables that have a name: where that stands, the name, the table."""
    for path, row in _rows(data, table):
        name = row.get("name")
        if isinstance(name, str):
            yield (*path, "name"), name, row


def _part_names(data: Data) -> Iterator[tuple[KeyPath, str]]:
    """Yield the names of all parts that a file makes, a screen's own too, and of its banks."""
    for table in _PART_TABLES:
        own = OWN_ROLES if table in ("screen", "bank") else ()
        for path, name, row in _named_rows(data, table):
            units = [name]
            count = row.get("count")
            if table == "bank" and isinstance(count, int):
                numbers = range(1, min(count, MOST_UNITS) + 1)
                units += [unit_name(name, number) for number in numbers]
            for unit in units:
                yield path, unit
                yield from ((path, own_part_name(unit, role)) for role in own)


def _name_rules(data: Data) -> Iterator[Finding]:
    heads, marks = (
        [(path, name) for path, name, _ in _named_rows(data, table)] for table in ("head", "mark")
    )
    for group in (_part_names(data), heads, marks):
        seen: set[str] = set()
        told: set[KeyPath] = set()
        for path, name in group:
            # a screen's own parts clash with it, which is no news
            if name in seen and path not in told:
                yield Finding(path, f"the name {shown(name)} is used twice")
                told.add(path)
            seen.add(name)

    for path, name in heads:
        if name == DESIGN:
            yield Finding(
                path,
                f'the name "{DESIGN}" is reserved for the head position at the design eye point',
            )


def _lens_rules(data: Data) -> Iterator[Finding]:
    screens = [name for _, name, _ in _named_rows(data, "screen")]
    served: set[str] = set()
    for path, row in _rows(data, "lens"):
        name = row.get("screen")
        if isinstance(name, str):
            place = (*path, "screen")
            if name not in screens:
                yield Finding(place, f"there is no screen {shown(name)}{hint(name, screens)}")
            elif name in served:
                yield Finding(place, f"screen {shown(name)} already has a lens")
            served.add(name)


def _file_rules(data: Data, rig_file: Path) -> Iterator[Finding]:
    for path, row in _rows(data, "mesh"):
        name = row.get("file")
        if _may_be_a_file(name):
            unit = row.get("unit", "mm")
            try:
                files.read_mesh(files.beside(rig_file, name), unit if unit in MM_PER_UNIT else "mm")
            except FileError as error:
                yield Finding((*path, "file"), f"file {shown(name)} {error.what}")

    displays = list(_rows(data, "screen"))
    displays += [((*path, "screen"), row.get("screen", {})) for path, row in _rows(data, "bank")]
    for path, row in displays:
        shows = row.get("shows") if isinstance(row, dict) else None
        name = shows.get("wide") if isinstance(shows, dict) else shows
        if _may_be_a_file(name) and name not in (CONTENT if name is shows else ("world",)):
            try:
                files.read_picture(files.beside(rig_file, name))
            except FileError as error:
                what = f"picture {shown(name)} {error.what}{hint(name, CONTENT)}"
                yield Finding((*path, "shows"), what)


def _may_be_a_file(name: Any) -> TypeGuard[str]:
    """Return whether a name is worth looking up; what is wrong with others the models say."""
    return isinstance(name, str) and 0 < len(name) <= 80 and name.isprintable()


def _usable(data: Data, wrong: Iterable[Finding]) -> Data | None:
    """Return the tables that nothing is wrong with, as a rig; None where no geometry can stand."""
    spoilt = {finding.path[:2] for finding in wrong}
    if "pilot" not in data or any(path[:1] == ("pilot",) for path in spoilt):
        return None

    usable: Data = {"format": 1, "name": "rig", "pilot": data.get("pilot")}
    for table in _ARRAYS:
        rows = [row for path, row in _rows(data, table) if path not in spoilt]
        usable[table] = [] if (table,) in spoilt else rows  # too many of them

    # a lens goes with its screen
    names = {row["name"] for row in usable["screen"]}
    usable["lens"] = [row for row in usable["lens"] if row["screen"] in names]
    return usable
