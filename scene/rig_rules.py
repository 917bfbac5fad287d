"""What a rig file must keep beyond single keys: rules within tables and between them.

The models in `rig.py` and `display.py` say what a table may hold.
"""

import difflib
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import TypeAdapter, ValidationError

from seamsight.scene.assembly import build, part_around
from seamsight.scene.display import Display, Optic
from seamsight.scene.errors import ChoiceError
from seamsight.scene.file_rules import file_rules
from seamsight.scene.frames import move
from seamsight.scene.freedom import free_value
from seamsight.scene.layout import rig_from_pose
from seamsight.scene.output_rules import output_rules
from seamsight.scene.place_rules import part_names, place_rules
from seamsight.scene.rig import DESIGN, MOST_HOLES, MOST_SCREENS, MOST_UNITS, Rig
from seamsight.scene.rig_rows import images, named_rows, rows
from seamsight.scene.rig_words import MODELS, Data, Finding, hint, rule_broken, shown
from seamsight.scene.table import Table, keys_of
from seamsight.scene.toml_lines import Path as KeyPath

_ARRAYS = ("head", "screen", "lens", "bank", "board", "plate", "mesh", "lamp", "mark", "output")
# whose sum has a limit
BEFORE = 1.0  # mm before a lamp's face, where its light must come out
_TOTAL_OF = {"mesh": "file", "plate": "holes", "bank": "count", "screen": "mirror"}


def rules_despite(wrong: list[Finding], data: Data) -> Iterator[Finding]:
    """Yield the rules that tables with wrong keys break besides, judged by their right keys.

    A model looks at its own rules only when every key is right; a builder wants to hear of both at
    once.
    """
    found = [(path, row, MODELS[table][0]) for table in _ARRAYS for path, row in rows(data, table)]
    for path, row in rows(data, "bank"):
        inner = (("screen", Display), ("lens", Optic))
        found += [
            ((*path, key), row[key], model)
            for key, model in inner
            if isinstance(row.get(key), dict)
        ]
    spoilt = {finding.path[:length] for finding in wrong for length in (2, 3)}
    for path, row, model in found:
        if path in spoilt:
            broken = _broken_rule(model, row)
            if broken:
                yield rule_broken(path, broken)


def rules_between(data: Data, rig_file: Path) -> Iterator[Finding]:
    """Yield what tables break together: names, lenses and their screens, files beside the rig."""
    yield from _name_rules(data)
    yield from _lens_rules(data)
    yield from place_rules(data)
    yield from output_rules(data)
    yield from _total_rules(data)
    yield from _free_rules(data)
    yield from file_rules(data, rig_file)


def inside_rules(data: Data, wrong: Iterable[Finding], rig_file: Path) -> Iterator[Finding]:
    """Yield that the design eye point or a lamp is inside a part, judged by what is right.

    Raises
    ------
    FileError
        When a mesh cannot be read any more.
    """
    usable = _usable(data, wrong)
    if usable is None:
        return
    rig = Rig.model_validate(usable).read_from(rig_file)
    assembly = build(rig)
    around = part_around(assembly, np.array(rig.pilot.eye_point))
    if around is not None:
        yield Finding(("pilot", "eye_point"), f"the design eye point is inside {shown(around)}")
    for lamp in assembly.rig.lamp:
        around = part_around(assembly, move(rig_from_pose(lamp), np.array([0.0, -BEFORE, 0.0])))
        if around is not None:
            yield from _lamp_inside(data, lamp.name, around)


def _lamp_inside(data: Data, name: str, around: str) -> Iterator[Finding]:
    """Yield that the face of a lamp, or of its mirror image, is inside a part."""
    for path, row in rows(data, "lamp"):
        if name in (row.get("name"), row.get("mirror")):
            yield Finding((*path, "centre"), f"the face of {shown(name)} is inside {shown(around)}")


def _broken_rule(model: type[Table], row: Data) -> str | None:
    """Return the rule that a table breaks by its right keys; a wrong key breaks none."""
    unknown: Any = object()  # neither missing nor fit to be compared
    fields = keys_of(model)

    # stand in for the keys that were probably meant
    misspelt = [difflib.get_close_matches(key, fields, 1, 0.6) for key in row if key not in fields]
    values = {close[0]: unknown for close in misspelt if close}

    # take each key by itself, right or wrong
    for key, field in fields.items():
        if key in row:
            try:
                values[key] = TypeAdapter(field.rebuild_annotation()).validate_python(row[key])
            except ValidationError:
                values[key] = unknown

    try:
        return model.model_construct(**values).broken_rule()
    except (TypeError, AttributeError):
        return None


def _name_rules(data: Data) -> Iterator[Finding]:
    heads, marks = (
        [(path, name) for path, name, _ in named_rows(data, table)] for table in ("head", "mark")
    )
    for group in (part_names(data), heads, marks):
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
    screens = [name for _, name, _ in named_rows(data, "screen")]
    served: set[str] = set()
    for path, row in rows(data, "lens"):
        name = row.get("screen")
        if isinstance(name, str):
            place = (*path, "screen")
            if name not in screens:
                yield Finding(place, f"there is no screen {shown(name)}{hint(name, screens)}")
            elif name in served:
                yield Finding(place, f"screen {shown(name)} already has a lens")
            served.add(name)


def _total_rules(data: Data) -> Iterator[Finding]:
    """Yield the first table with which there are too many screens, or holes, in all."""
    holders = [(path, images(row), "mirror") for path, row in rows(data, "screen")]
    for path, row in rows(data, "bank"):
        count = row.get("count")
        units = count if isinstance(count, int) and 0 < count <= MOST_UNITS else 0
        holders.append((path, units, "count"))
    most = f"a rig may have {MOST_SCREENS} screens in all, those of banks and mirrored ones too"
    yield from _beyond(holders, MOST_SCREENS, most)

    in_plate = ((path, row.get("holes"), images(row)) for path, row in rows(data, "plate"))
    drilled = [
        (path, times * len(holes), "holes")
        for path, holes, times in in_plate
        if isinstance(holes, list)
    ]
    yield from _beyond(drilled, MOST_HOLES, f"a rig may have {MOST_HOLES:,} holes in all plates")


def _free_rules(data: Data) -> Iterator[Finding]:
    """Yield which values cannot be free, or not so."""
    free = data.get("free")
    right = (
        {key: words for key, words in free.items() if isinstance(words, str)}
        if isinstance(free, dict)
        else {}
    )
    for path, words in right.items():
        try:
            free_value(data, path, words)
        except ChoiceError as error:
            yield Finding(("free", path), str(error))


def _beyond(counts: list[tuple[KeyPath, int, str]], most: int, rule: str) -> Iterator[Finding]:
    """Yield the first of some tables, of each a count and its key, whose sum is above the most."""
    total = 0
    for path, count, key in counts:
        total += count
        if total > most:
            yield Finding((*path, key), f"{rule} (got {total:,} with this {path[0]})")
            return


def _usable(data: Data, wrong: Iterable[Finding]) -> Data | None:
    """Return the tables that nothing is wrong with, as a rig; None where no geometry can stand."""
    paths = {finding.path for finding in wrong}
    spoilt = {path[:2] for path in paths}
    if "pilot" not in data or any(path[:1] == ("pilot",) for path in spoilt):
        return None

    usable: Data = {"format": 1, "name": "rig", "pilot": data.get("pilot")}
    for table in _ARRAYS:
        # behind what is too much there may be more: nobody looked
        too_much = (path for path in paths if path[::2] == (table, _TOTAL_OF.get(table)))
        unseen = min(too_much, default=(table, sys.maxsize))
        found = [row for path, row in rows(data, table) if path not in spoilt and path < unseen]
        usable[table] = [] if (table,) in spoilt else found  # too many of them

    # a lens goes with its screen, and a thing with what it stands on
    lost: set[KeyPath] = {()}
    while lost:
        names = {row["name"] for row in usable["screen"]}
        usable["lens"] = [row for row in usable["lens"] if row["screen"] in names]
        lost = {finding.path[:2] for finding in place_rules(usable)}
        for table in _ARRAYS:
            usable[table] = [row for path, row in rows(usable, table) if path not in lost]
    return usable
