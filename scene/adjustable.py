"""The numbers of a rig file that can be changed one by one: value, unit, limits and meaning."""

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from seamsight.scene.errors import ChoiceError
from seamsight.scene.formulas import is_formula
from seamsight.scene.rig import Rig
from seamsight.scene.rig_words import Data, shown
from seamsight.scene.toml_lines import Path as KeyPath
from seamsight.scene.units import FARTHEST
from seamsight.scene.values import at, computed, key_path, number_in, numbers_of

_Schema = Mapping[str, Any]


@dataclass(frozen=True)
class Adjustable:
    """A number that a rig file writes.

    Attributes
    ----------
    path : str
        In words, such as "outside.lens.distance".
    value : float
        In mm or degrees; a formula's result.
    unit : "mm", "°", "cd/m²", "kg" or ""
    low, high : float
        What its key may be at least and at most.
    meaning : str
    written : str
        The file's own text, where it is no plain number: "22 in" or a formula.
    """

    path: str
    value: float
    unit: str
    low: float
    high: float
    meaning: str
    written: str = ""


def adjustables(data: Data) -> dict[str, Adjustable]:
    """Return every number of a right rig file's tables that can be changed, by its path in words.

    Numbers of pixels, screens and parts are left out, and what a formula cannot be worked out of.
    """
    results = computed(data).data
    numbers = numbers_of(data)
    # these can make two paths alike; looking after each path takes long in a large file
    is_doubtful = any(set("._") & set(_name(*number)) for number in numbers.items())
    found = {}
    for words, place in numbers.items():
        try:
            number = number_in(at(results, place))
        except ValueError:  # a formula that cannot be worked out
            continue
        if not is_doubtful or _leads_to(data, words, place):
            text = at(data, place)
            written = text if isinstance(text, str) else ""
            found[words] = _told(words, place, number, written)
    return found


def limits_of(data: Data, words: str) -> Adjustable:
    """Return unit, limits and meaning of a number by its path, written in the file or not.

    Its value is not looked up.

    Raises
    ------
    ChoiceError
        When the path leads nowhere, or to what is no number that can be changed bit by bit.
    """
    place = key_path(data, words)
    nodes, _ = _key_schema(place)
    if not any(node.get("type") == "number" for node in nodes):
        msg = f"{shown(words)} is no length, angle or other number that could be changed bit by bit"
        raise ChoiceError(msg)
    return _told(words, place, math.nan, "")


def _name(words: str, place: KeyPath) -> str:
    """Return the name of the table that a path begins with."""
    in_table = len(place) - (1 if isinstance(place[1], str) else 2)
    return words.rsplit(".", in_table)[0]


def _leads_to(data: Data, words: str, place: KeyPath) -> bool:
    """Return whether a path leads to a place, and to no other of a like name."""
    try:
        return key_path(data, words) == place
    except ChoiceError:
        return False


def _told(words: str, place: KeyPath, value: float, written: str) -> Adjustable:
    nodes, meaning = _key_schema(place)
    numbers = [node for node in nodes if node.get("type") == "number"]
    limits = numbers[0] if numbers else {}
    above = limits.get("exclusiveMinimum")
    low = limits.get("minimum", -FARTHEST) if above is None else math.nextafter(above, math.inf)
    unit = _unit(nodes, meaning)
    if place[0] == "values":  # which may be anything
        meaning = "a value of this rig file's own"
        if not written or is_formula(written):
            unit = ""
    return Adjustable(words, value, unit, low, limits.get("maximum", FARTHEST), meaning, written)


def _unit(nodes: list[_Schema], meaning: str) -> str:
    texts = " ".join(node.get("pattern", "") for node in nodes)
    if "deg" in texts:
        return "°"
    if "mm" in texts:
        return "mm"
    if "degrees" in meaning or "angle" in meaning:
        return "°"
    return next((unit for unit in ("cd/m²", "kg") if f", {unit}" in meaning), "")


def _key_schema(place: KeyPath) -> tuple[list[_Schema], str]:
    """Return what may stand at a place, each a JSON Schema, and what its key means."""
    nodes = [_rig_schema()]
    meaning = ""
    for step in place:
        inner = [one for node in nodes for one in _inner(node, step)]
        meaning = next((one["description"] for one in inner if "description" in one), meaning)
        nodes = [one for node in inner for one in _branches(node)]
    return nodes, meaning


def _inner(node: _Schema, step: str | int) -> Iterator[_Schema]:
    """Yield the schema of a table's key or of a list's item."""
    if isinstance(step, int):
        items = node.get("prefixItems", [])
        if step < len(items):
            yield items[step]
        elif "items" in node:
            yield node["items"]
    elif step in node.get("properties", {}):
        yield node["properties"][step]
    elif isinstance(node.get("additionalProperties"), dict):
        yield node["additionalProperties"]


def _branches(node: _Schema) -> Iterator[_Schema]:
    """Yield what a schema allows, without references and choices."""
    if "$ref" in node:
        yield from _branches(_rig_schema()["$defs"][node["$ref"].rpartition("/")[2]])
    elif "anyOf" in node or "oneOf" in node:
        for one in node.get("anyOf", node.get("oneOf", [])):
            yield from _branches(one)
    else:
        yield node


@functools.cache
def _rig_schema() -> _Schema:
    return Rig.model_json_schema()
