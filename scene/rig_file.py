"""From a rig file to a Rig, or to every problem in the file with its line.

The models in `rig.py` say what a table may hold; here stand the rules between tables, and the words in
which a user is told.
"""

import datetime
import difflib
import json
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeGuard

import numpy as np
from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from seamsight.scene import files
from seamsight.scene import rig as models
from seamsight.scene.assembly import build, part_around
from seamsight.scene.errors import FileError, Problem, RigError
from seamsight.scene.parts import OWN_ROLES
from seamsight.scene.rig import DESIGN, Rig, Table
from seamsight.scene.toml_lines import Path as KeyPath
from seamsight.scene.toml_lines import key_lines
from seamsight.scene.units import MM_PER_UNIT

MOST_BYTES = 4 * 2**20  # of the rig file itself
CONTENT = ("world", "card", "black")

_ARRAYS = ("head", "screen", "lens", "bank", "board", "plate", "mesh", "mark")
_PART_TABLES = ("screen", "bank", "board", "plate", "mesh")
_MODELS: dict[str, tuple[type[Table], ...]] = {
    "pilot": (models.Pilot,),
    "world": (models.World,),
    "head": (models.Head,),
    "screen": (models.Screen,),
    "lens": (models.Lens,),
    "bank": (models.Bank,),
    "board": (models.Board,),
    "plate": (models.Plate,),
    "mesh": (models.Mesh,),
    "mark": (models.Mark,),
    "bezel": (models.Bezel,),
    "shows": (models.Wide,),
    "frame": (models.Frame,),
    "holes": (models.CircleHole, models.RectHole),
}

Data = dict[str, Any]


@dataclass(frozen=True)
class _Finding:
    """One thing wrong, still by key path."""

    path: KeyPath
    text: str


def read_rig(file: str | Path) -> Rig:
    """Read a rig file, format 1.

    Raises
    ------
    RigError
        With everything that is wrong with the file, each with its line.
    FileError
        When a mesh is replaced by one that cannot be used in this very moment.
    """
    path = Path(file)
    source = _text(path)
    data = _parsed(source, str(file))
    findings = list(_findings(data, path))
    if findings:
        raise RigError(str(file), _located(findings, data, source))
    return Rig.model_validate(data).read_from(path)


def _text(path: Path) -> str:
    try:
        if not path.is_file():
            what = "is not a file" if path.exists() else "is missing: there is no such file"
            what = "is a folder, not a rig file" if path.is_dir() else what
            raise RigError(str(path), [Problem(0, "", what)])
        if path.stat().st_size > MOST_BYTES:
            raise RigError(
                str(path),
                [Problem(0, "", f"is too large for a rig file: at most {MOST_BYTES // 2**20} MB")],
            )
        return path.read_bytes().decode("utf-8-sig")  # Windows editors put a byte order mark first
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise RigError(str(path), [Problem(line, "", "is not UTF-8 text")]) from error
    except (OSError, ValueError) as error:
        if isinstance(error, RigError):
            raise
        raise RigError(str(path), [Problem(0, "", f"cannot be read ({error})")]) from error


def _parsed(source: str, file: str) -> Data:
    try:
        return tomllib.loads(source)
    except tomllib.TOMLDecodeError as error:
        text, _, place = str(error).rpartition(" (at ")
        line = place.partition("line ")[2].partition(",")[0]
        number = int(line) if line.isdigit() else source.count("\n") + 1
        raise RigError(
            file, [Problem(number, "", f"is not valid TOML: {text or error}")]
        ) from error
    except (RecursionError, ValueError) as error:
        raise RigError(
            file, [Problem(0, "", "is not valid TOML: nested too deeply, or a number too long")]
        ) from error


def _findings(data: Data, path: Path) -> Iterator[_Finding]:
    try:
        Rig.model_validate(data)
        wrong = []
    except ValidationError as error:
        wrong = [finding for detail in error.errors() for finding in _in_words(detail, data)]
    between = [*_name_rules(data), *_lens_rules(data), *_file_rules(data, path)]
    yield from wrong
    yield from _rules_despite(wrong, data)
    yield from between
    yield from _eye_rules(_usable(data, [*wrong, *between]), path)


def _rules_despite(wrong: list[_Finding], data: Data) -> Iterator[_Finding]:
    """Yield the rules that tables with wrong or missing keys break besides, judged by their right keys.

    A model looks at its own rules only when every key is right; a builder wants to hear of both at once.
    """
    rows = [(path, row, _MODELS[table][0]) for table in _ARRAYS for path, row in _rows(data, table)]
    for path, row in _rows(data, "bank"):
        inner = (("screen", models.Display), ("lens", models.Optic))
        rows += [
            ((*path, key), row[key], model)
            for key, model in inner
            if isinstance(row.get(key), dict)
        ]
    for path, row, model in rows:
        if any(finding.path[: len(path)] == path for finding in wrong):
            broken = _broken_rule(model, row)
            if broken:
                yield _Finding(path, _joined(_key_words(path), broken))


def _broken_rule(model: type[Table], row: Data) -> str | None:
    """Return the rule that a table breaks by its right keys; a wrong key, or a misspelt one, breaks none."""
    unknown: Any = object()  # neither missing nor fit to be compared
    misspelt = [
        difflib.get_close_matches(key, model.model_fields, 1, 0.6)
        for key in row
        if key not in model.model_fields
    ]
    values = {close[0]: unknown for close in misspelt if close}
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


# ---- rules between tables ---------------------------------------------------------------------------


def _rows(data: Data, table: str) -> Iterator[tuple[KeyPath, Data]]:
    """Yield the tables of an array of tables, whatever else stands in its place."""
    rows = data.get(table)
    for number, row in enumerate(rows if isinstance(rows, list) else []):
        if isinstance(row, dict):
            yield (table, number), row


def _part_names(data: Data) -> Iterator[tuple[KeyPath, str]]:
    for table in _PART_TABLES:
        for path, row in _rows(data, table):
            name, count = row.get("name"), row.get("count")
            if isinstance(name, str):
                units = [name]
                if table == "bank" and isinstance(count, int):
                    units += [f"{name}.{number}" for number in range(1, min(count, 24) + 1)]
                own = OWN_ROLES if table in ("screen", "bank") else ()
                for unit in units:
                    yield from (
                        ((*path, "name"), word)
                        for word in (unit, *(f"{unit} {role}" for role in own))
                    )


def _name_rules(data: Data) -> Iterator[_Finding]:
    heads = [
        ((*path, "name"), row["name"])
        for path, row in _rows(data, "head")
        if isinstance(row.get("name"), str)
    ]
    marks = [
        ((*path, "name"), row["name"])
        for path, row in _rows(data, "mark")
        if isinstance(row.get("name"), str)
    ]
    for group in (list(_part_names(data)), heads, marks):
        seen: set[str] = set()
        told: set[KeyPath] = set()
        for path, name in group:
            if (
                name in seen and path not in told
            ):  # a screen's own parts clash with it, which is no news
                yield _Finding(path, f"name is used twice (got {_shown(name)})")
                told.add(path)
            seen.add(name)
    for path, name in heads:
        if name == DESIGN:
            yield _Finding(path, f'name "{DESIGN}" is kept for the head at the design eye point')


def _lens_rules(data: Data) -> Iterator[_Finding]:
    screens = [row["name"] for _, row in _rows(data, "screen") if isinstance(row.get("name"), str)]
    served: set[str] = set()
    for path, row in _rows(data, "lens"):
        name = row.get("screen")
        if isinstance(name, str):
            if name not in screens:
                yield _Finding(
                    (*path, "screen"), f"there is no screen {_shown(name)}{_hint(name, screens)}"
                )
            elif name in served:
                yield _Finding((*path, "screen"), f"screen {_shown(name)} has a lens already")
            served.add(name)


def _file_rules(data: Data, rig_file: Path) -> Iterator[_Finding]:
    for path, row in _rows(data, "mesh"):
        name = row.get("file")
        if _may_be_a_file(name):
            unit = row.get("unit", "mm")
            try:
                files.read_mesh(files.beside(rig_file, name), unit if unit in MM_PER_UNIT else "mm")
            except FileError as error:
                yield _Finding((*path, "file"), f"file {_shown(name)} {error.what}")
    displays = list(_rows(data, "screen"))
    displays += [((*path, "screen"), row.get("screen", {})) for path, row in _rows(data, "bank")]
    for path, row in displays:
        shows = row.get("shows") if isinstance(row, dict) else None
        name = shows.get("wide") if isinstance(shows, dict) else shows
        if _may_be_a_file(name) and name not in (CONTENT if name is shows else ("world",)):
            try:
                files.read_picture(files.beside(rig_file, name))
            except FileError as error:
                what = f"picture {_shown(name)} {error.what}{_hint(name, CONTENT)}"
                yield _Finding((*path, "shows"), what)


def _may_be_a_file(name: Any) -> TypeGuard[str]:
    """Return whether a name is worth looking up; what is wrong with others the models say."""
    return isinstance(name, str) and 0 < len(name) <= 80 and name.isprintable()


def _usable(data: Data, wrong: Iterable[_Finding]) -> Data | None:
    """Return the tables that nothing is wrong with, as a rig; None where no geometry can stand on them."""
    spoilt = {finding.path[:2] for finding in wrong}
    if "pilot" not in data or any(path[:1] == ("pilot",) for path in spoilt):
        return None
    usable: Data = {"format": 1, "name": "rig", "pilot": data.get("pilot")}
    for table in _ARRAYS:
        rows = [row for path, row in _rows(data, table) if path not in spoilt]
        usable[table] = [] if (table,) in spoilt else rows  # too many of them
    names = {row["name"] for row in usable["screen"]}
    usable["lens"] = [row for row in usable["lens"] if row["screen"] in names]
    return usable


def _eye_rules(usable: Data | None, path: Path) -> Iterator[_Finding]:
    if usable is None:
        return
    rig = Rig.model_validate(usable).read_from(path)
    around = part_around(build(rig), np.array(rig.pilot.eye_point))
    if around is not None:
        yield _Finding(("pilot", "eye_point"), f"the eye point lies inside {_shown(around)}")


# ---- in words ---------------------------------------------------------------------------------------


def _in_words(error: ErrorDetails, data: Data) -> Iterator[_Finding]:
    """Turn one validation error into a finding, in a builder's words."""
    kind, got, limits = error["type"], error["input"], error.get("ctx", {})
    path = _path_in(data, error["loc"])
    if kind == "missing":
        key = error["loc"][-1]
        called = _key_words((*path, key)) if path else str(key)
        yield _Finding(
            path,
            f"{f'item {key + 1} of {_key_words(path)}' if isinstance(key, int) else called} is missing",
        )
    elif kind == "extra_forbidden":
        yield _Finding(path, f'unknown key "{path[-1]}"{_hint(str(path[-1]), _known_keys(path))}')
    elif kind == "union_tag_not_found":
        yield _Finding(path, f"{_key_words((*path, 'shape'))} is missing")
    elif kind == "value_error" and isinstance(got, dict):
        yield _Finding(path, _joined(_key_words(path), str(limits["error"])))
    else:
        if "expected_tags" in limits:
            limits = limits | {"expected_tags": limits["expected_tags"].replace(", ", " or ")}
        what, got = _rule(kind, got, limits, error["msg"]), limits.get("tag", got)
        yield _Finding(
            path,
            _joined(
                _key_words(path), f"{what} (got {_shown(got)}){_choice_hint(kind, got, limits)}"
            ),
        )


def _rule(kind: str, got: Any, limits: dict[str, Any], fallback: str) -> str:
    if kind == "value_error":
        return str(limits["error"])
    if kind == "tuple_type" and isinstance(got, dict):
        return "must be a list; an array of tables has its name in double brackets, as [[screen]]"
    bounds = {
        "greater_than": "must be above {gt:g}",
        "greater_than_equal": "must be at least {ge:g}",
        "less_than": "must be below {lt:g}",
        "less_than_equal": "must be at most {le:g}",
        "finite_number": "must be a finite number",
        "float_type": "must be a number",
        "float_parsing": "must be a number",
        "int_type": "must be a whole number",
        "int_from_float": "must be a whole number",
        "bool_type": "must be true or false",
        "string_type": "must be text in quotes",
        "string_too_short": "must not be empty",
        "string_too_long": "must be at most {max_length} characters long",
        "string_pattern_mismatch": 'must be a colour such as "#334455"',
        "tuple_type": "must be a list",
        "model_type": "must be a table",
        "dict_type": "must be a table",
        "too_long": "must have at most {max_length} items",
        "literal_error": "must be {expected}",
        "union_tag_invalid": "shape must be {expected_tags}",
    }
    if kind in bounds:
        return bounds[kind].format(**limits).replace("'", '"')
    return f"cannot be used: {fallback[:1].lower()}{fallback[1:]}"


def _choice_hint(kind: str, got: Any, limits: dict[str, Any]) -> str:
    options = str(limits.get("expected", limits.get("expected_tags", "")))
    if kind not in ("literal_error", "union_tag_invalid") or "'" not in options:
        return ""
    return _hint(str(got), [word.strip(" '") for word in options.replace(" or ", ",").split(",")])


def _path_in(data: Any, loc: tuple[str | int, ...]) -> KeyPath:
    """Return the part of a validation error's place that the file really has: branches of unions go."""
    path: KeyPath = ()
    for key in loc:
        try:
            data = data[key]
        except (LookupError, TypeError):
            continue
        path = (*path, key)
    return path


def _table_depth(path: KeyPath) -> int:
    """Return how many steps of a path name the table itself."""
    if not path or path[0] not in Rig.model_fields:
        return 0
    if len(path) > 1 and isinstance(path[1], int):
        return 2
    return 1 if path[0] in ("pilot", "world") else 0


def _key_words(path: KeyPath) -> str:
    words = [
        f"item {key + 1}" if isinstance(key, int) else key for key in path[_table_depth(path) :]
    ]
    return " ".join(words)


def _joined(key: str, what: str) -> str:
    return f"{key} {what}" if key else what


def _known_keys(path: KeyPath) -> list[str]:
    tables = [key for key in path[:-1] if key in _MODELS]
    owners = _MODELS[str(tables[-1])] if tables else (Rig,)
    return [key for owner in owners for key in owner.model_fields if key != path[-1]]


def _hint(word: str, known: Iterable[str]) -> str:
    close = difflib.get_close_matches(word, list(known), 1, 0.6)
    return f' (did you mean "{close[0]}"?)' if close else ""


def _shown(value: Any) -> str:
    """Return a value as the file would write it, short."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    try:
        text = json.dumps(value, ensure_ascii=False)
    except ValueError:  # a whole number of thousands of digits
        return "a number too long to show"
    return text if len(text) <= 60 else f"{text[:57]}…"


def _located(findings: Iterable[_Finding], data: Data, source: str) -> list[Problem]:
    lines = key_lines(source)
    return [
        Problem(_line(finding.path, lines), _where(finding.path, data), finding.text)
        for finding in findings
    ]


def _line(path: KeyPath, lines: dict[KeyPath, int]) -> int:
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


def _where(path: KeyPath, data: Data) -> str:
    """Return how to call a table: `screen "left"`, or `screen #2` where it has no name."""
    if _table_depth(path) == 0:
        return ""
    if _table_depth(path) == 1:
        return str(path[0])
    table, number = str(path[0]), int(path[1])
    row = data[table][number]
    name = row.get("screen" if table == "lens" else "name") if isinstance(row, dict) else None
    return f"{table} {_shown(name)}" if isinstance(name, str) else f"{table} #{number + 1}"
