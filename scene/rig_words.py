"""What is wrong with a rig file, in a builder's words: which table and key, and what to write."""

import datetime
import difflib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, get_args

from pydantic_core import ErrorDetails

from seamsight.scene import display, lamps, outputs, solids
from seamsight.scene import rig as models
from seamsight.scene.errors import Problem
from seamsight.scene.rig import Rig
from seamsight.scene.table import Table, keys_of
from seamsight.scene.tolerance import Tolerance
from seamsight.scene.toml_lines import Path as KeyPath
from seamsight.scene.toml_lines import key_lines

Data = dict[str, Any]  # a rig file's tables, right or wrong

MODELS: dict[str, tuple[type[Table], ...]] = {
    "pilot": (models.Pilot,),
    "world": (models.World,),
    "head": (models.Head,),
    "screen": (models.Screen,),
    "lens": (models.Lens,),
    "bank": (models.Bank,),
    "board": (solids.Board,),
    "plate": (solids.Plate,),
    "mesh": (solids.Mesh,),
    "lamp": (lamps.Lamp,),
    "mark": (models.Mark,),
    "output": (outputs.Output,),
    "splitter": (outputs.Splitter,),
    "bezel": (display.Bezel,),
    "shows": (display.Wide,),
    "frame": (display.Frame,),
    "carcass": (solids.Carcass,),
    "slot": (solids.Slot,),
    "hood": (solids.Hood,),
    "holes": (solids.CircleHole, solids.RectHole),
    "tolerance": (Tolerance,),
}
"""The models of a table, by the key that it has."""

LONGEST_SHOWN = 60  # letters of what a file says, in a message
LONGEST_SENTENCE = 200  # letters of what pydantic and tomllib say
LONGEST_NAME = 80  # letters of a word that may have been meant

_NUMBERS = {2: "two numbers", 3: "three numbers: right, forward, up"}
"""What a list of so many numbers must have; all lists of three are places, offsets or sizes."""

_RULES = {
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
    "too_short": "must have at least {min_length} item",
    "too_long": "must have at most {max_length} items",
    "literal_error": "must be {expected}",
    "union_tag_invalid": "shape must be {expected_tags}",
}
"""What a value must be, by pydantic's name for its error; in braces what pydantic tells with it."""


@dataclass(frozen=True)
class Finding:
    """One thing wrong, still by key path."""

    path: KeyPath
    text: str


def in_words(error: ErrorDetails, data: Data, *, hints: bool = True) -> Finding:
    """Turn one validation error into a finding; without hints an unknown key is only named."""
    kind = error["type"]
    path = _path_in(data, error["loc"])
    if kind == "missing":
        return Finding(path, _missing(path, error))
    if kind == "extra_forbidden":
        key = str(path[-1])
        meant = hint(key, _known_keys(path)) if hints else ""
        return Finding(path, f"unknown key {shown(key)}{meant}")
    if kind == "union_tag_not_found":
        shapes = 'shape = "circle" or shape = "rect"'
        return Finding(path, f"{_key_words(path)} has no shape: add {shapes}")

    if kind == "tuple_type" and len(path) == 1 and isinstance(error["input"], dict):
        table = path[0]
        brackets = f"so write it in double brackets: [[{table}]]"
        return Finding(path, f"[{table}] may occur several times, {brackets}")

    limits = error.get("ctx", {})
    if kind == "value_error" and isinstance(error["input"], dict):  # a table's own rule
        return rule_broken(path, str(limits["error"]))
    return rule_broken(path, _refusal(error, limits))


def rule_broken(path: KeyPath, rule: str) -> Finding:
    """Return a finding that names the key, or of a whole table says the rule alone."""
    key = _key_words(path)
    return Finding(path, f"{key} {rule}" if key else rule)


def hint(word: str, known: Iterable[str]) -> str:
    """Return a question after the nearest of the words that are known, or nothing."""
    short = [one for one in known if len(one) <= LONGEST_NAME]
    close = difflib.get_close_matches(word, short, 1, 0.6) if len(word) <= LONGEST_NAME else []
    return f" (did you mean {shown(close[0])}?)" if close else ""


def printable(text: str, most: int = LONGEST_SHOWN) -> str:
    """Return text as one short line; what a terminal would obey, or not show, is written out."""
    line = "".join(
        letter if letter.isprintable() else letter.encode("unicode_escape").decode()
        for letter in text[: most + 1]
    )
    return line if len(line) <= most else f"{line[: most - 3]}…"


def shown(value: Any) -> str:
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
    return printable(text)


def located(findings: Iterable[Finding], data: Data, source: str) -> list[Problem]:
    """Return findings with their lines in the file, and what their tables are called."""
    lines = key_lines(source)
    return [
        Problem(_line(finding.path, lines), _where(finding.path, data), finding.text)
        for finding in findings
    ]


def _missing(path: KeyPath, error: ErrorDetails) -> str:
    """Return what is missing: a key, or numbers of a list."""
    key = error["loc"][-1]
    if isinstance(key, int):
        needed = _NUMBERS[_length_of(path)]
        return f"{_key_words(path)} needs {needed} (got {len(error['input'])})"
    return f"{_key_words((*path, key)) if path else key} is missing"


def _length_of(path: KeyPath) -> int:
    """Return how many numbers the list at a path has."""
    key = str(path[-1])
    fields = (keys_of(model).get(key) for model in _owners(path))
    return next(len(get_args(field.annotation)) for field in fields if field)


def _refusal(error: ErrorDetails, limits: dict[str, Any]) -> str:
    """Return what a value must be, what it is, and what was probably meant."""
    if "expected_tags" in limits:
        limits = limits | {"expected_tags": limits["expected_tags"].replace(", ", " or ")}
    rule = _rule(error, limits)
    got = limits.get("tag", error["input"])
    return f"{rule} (got {shown(got)}){_choice_hint(error['type'], got, limits)}"


def _rule(error: ErrorDetails, limits: dict[str, Any]) -> str:
    kind = error["type"]
    if kind == "value_error":
        return str(limits["error"])
    if kind in _RULES:
        return _RULES[kind].format(**limits).replace("'", '"')
    text = error["msg"]
    return f"cannot be used: {printable(text[:1].lower() + text[1:], LONGEST_SENTENCE)}"


def _choice_hint(kind: str, got: Any, limits: dict[str, Any]) -> str:
    options = str(limits.get("expected", limits.get("expected_tags", "")))
    if kind not in ("literal_error", "union_tag_invalid") or "'" not in options:
        return ""
    return hint(str(got), [word.strip(" '") for word in options.replace(" or ", ",").split(",")])


def _path_in(data: Any, loc: tuple[str | int, ...]) -> KeyPath:
    """Return the part of an error's place that the file really has: branches of unions go."""
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
    return 1 if path[0] in ("pilot", "world", "values", "tolerance") else 0


def _key_words(path: KeyPath) -> str:
    keys = path[_table_depth(path) :]
    words = " ".join(f"item {key + 1}" if isinstance(key, int) else key for key in keys)
    return words.replace("holes item", "hole")


def _known_keys(path: KeyPath) -> list[str]:
    return [key for owner in _owners(path) for key in keys_of(owner) if key != path[-1]]


def _owners(path: KeyPath) -> tuple[type[Table], ...]:
    """Return the models of which a path's last key may be."""
    tables = [key for key in path[:-1] if key in MODELS]
    return MODELS[str(tables[-1])] if tables else (Rig,)


def _line(path: KeyPath, lines: dict[KeyPath, int]) -> int:
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


def _where(path: KeyPath, data: Data) -> str:
    """Return how to call a table: `screen "left"`, or `screen #2` where it has no name."""
    depth = _table_depth(path)
    if depth == 0:
        return ""
    if depth == 1:
        return str(path[0])

    table = str(path[0])
    number = int(path[1])
    row = data[table][number]
    name = row.get("screen" if table == "lens" else "name") if isinstance(row, dict) else None
    return f"{table} {shown(name)}" if isinstance(name, str) else f"{table} #{number + 1}"
