"""A rig file's own text with some values changed, and nothing else."""

import copy
import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from seamsight.scene.errors import ChoiceError
from seamsight.scene.rig_words import shown
from seamsight.scene.toml_lines import Path, value_spans
from seamsight.scene.units import MM_PER_UNIT, degrees
from seamsight.scene.values import at, key_path, number_in, put

_LAST_UNIT = re.compile(r"(mm|cm|m|inch|in|ft|\")\s*$", re.IGNORECASE)


def with_values(content: bytes, changes: Mapping[str, Any]) -> bytes:
    """Return a rig file's bytes in which some values, by their paths, are others.

    A number that stands in the place of a length with a unit, as "22 in", counts in mm and is
    written in that unit.

    Raises
    ------
    ChoiceError
        When a path leads nowhere, or to what the file does not write.
    """
    for words, value in changes.items():
        content = _with_value(content, words, value)
    return content


def _with_value(content: bytes, words: str, value: Any) -> bytes:
    data = tomllib.loads(content.decode("utf-8-sig"))
    path = key_path(data, words)
    span = value_spans(content).get(path)
    if span is None:
        msg = f"{shown(words)} is not written in the rig file: add it there"
        raise ChoiceError(msg)
    text = _written(value, at(data, path))
    start, end = span
    changed = content[:start] + text.encode() + content[end:]
    _prove(changed, data, path, text)
    return changed


def _prove(changed: bytes, data: Any, path: Path, text: str) -> None:
    """See to it that a file reads as before but for one value."""
    wanted = copy.deepcopy(data)
    put(wanted, path, tomllib.loads(f"value = {text}")["value"])
    if tomllib.loads(changed.decode("utf-8-sig")) != wanted:
        msg = f"the value of {shown(path[-1])} cannot be changed without others"
        raise ChoiceError(msg)


def _written(value: Any, before: Any) -> str:
    """Return a value as a rig file writes it, in the form that it had before."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        if isinstance(before, str) and _is_measure(before):
            return json.dumps(_with_unit(value, before), ensure_ascii=False)
        return format(value, ".10g")
    if isinstance(value, list):
        return f"[{', '.join(_written(item, None) for item in value)}]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    msg = f"{shown(value)} cannot be written there"
    raise ChoiceError(msg)


def _is_measure(text: str) -> bool:
    """Return whether a text is a length or an angle: no formula, and no word such as "touch"."""
    try:
        number_in(text)
    except ValueError:
        return False
    return True


def _with_unit(value: float, before: str) -> str:
    """Return mm in the unit of a length, or degrees with "deg"."""
    try:
        degrees(before)
    except ValueError:
        found = _LAST_UNIT.search(before)
        unit = found[1].lower() if found else "mm"
        unit = "in" if unit in ("inch", '"') else unit
        return f"{value / MM_PER_UNIT[unit]:.10g} {unit}"
    return f"{value:.10g} deg"
