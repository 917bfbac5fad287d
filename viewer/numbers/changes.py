"""Numbers side by side, with what got better or worse.

Works on numbers as JSON has them, old ones included.
"""

import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Any, NamedTuple

from seamsight.viewer.numbers.quantities import (
    HIDDEN,
    LOSSES,
    OF_RIG,
    OF_SCREEN,
    OF_SEAM,
    OFF,
    STRIPS,
    Quantity,
    hider_words,
    names_at,
    scene_seams,
    table_at,
)
from seamsight.viewer.numbers.units import in_words

ALL = "outside screens"
"""The place of rows that sum a whole rig up, so that other names of screens do not matter."""


@dataclass(frozen=True)
class Row:
    """One number of several sets, side by side.

    Attributes
    ----------
    where : str
        "outside screens", "outside.1", "seam outside.1 and outside.2", "reference points".
    what : str
        "seen by both eyes", "hidden by post": the quantity's words.
    quantity : Quantity
    values : tuple of float or None
        One for each set, in the quantity's unit; None where it has none.
    verdicts : tuple of str
        One for each set: "" for the first, for each other "better", "worse", "same" or "other"
        (there is no better, or a value is missing) against the first.
    """

    where: str
    what: str
    quantity: Quantity
    values: tuple[float | None, ...]
    verdicts: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Whether any value is not the same as the first."""
        return any(verdict not in ("", "same") for verdict in self.verdicts)

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON has it: the quantity as its unit, "" for yes (1) or no (0)."""
        return {
            "where": self.where,
            "what": self.what,
            "unit": self.quantity.unit.sign,
            "values": self.values,
            "verdicts": self.verdicts,
        }


class _Kind(NamedTuple):
    """What a row is about; rows of one place and kind belong together."""

    where: str
    what: str
    quantity: Quantity


def side_by_side(numbers: Sequence[Mapping[str, Any]]) -> list[Row]:
    """Return the numbers of several rigs or heads as rows, each compared with the first set's.

    Parameters
    ----------
    numbers : sequence of dict
        As `Numbers.as_json` gives them; keys may be missing or None.
    """
    hiders = _hiders(numbers)
    sets = [
        {kind: value for kind, value in _values(one, hiders) if value is not None}
        for one in numbers
    ]
    kinds = _in_order([list(one) for one in sets])
    rows = [_row(kind, tuple(one.get(kind) for one in sets)) for kind in kinds]

    # rigs with more or fewer screens sum up other things
    screens = [len(table_at(one, "screens")) for one in numbers]
    alike = [count == screens[0] for count in screens]
    rows = [_unjudged(row, alike) if row.where == ALL else row for row in rows]
    return _without_false_gains(rows)


def _without_false_gains(rows: Sequence[Row]) -> list[Row]:
    """Return rows in which a narrower dark strip is no gain where more of the picture is lost."""
    lost = {
        (row.where, number)
        for row in rows
        if row.quantity in LOSSES
        for number, verdict in enumerate(row.verdicts)
        if verdict == "worse"
    }
    return [
        dataclasses.replace(row, verdicts=_but_gains(row, lost)) if row.quantity in STRIPS else row
        for row in rows
    ]


def _but_gains(row: Row, lost: Set[tuple[str, int]]) -> tuple[str, ...]:
    return tuple(
        "other" if verdict == "better" and (row.where, number) in lost else verdict
        for number, verdict in enumerate(row.verdicts)
    )


def value_words(row: Row, index: int) -> str:
    """Return a value of a row as text, such as "98.3 %"; a dash where there is none."""
    return in_words(row.values[index], row.quantity.unit)


def _hiders(numbers: Sequence[Mapping[str, Any]]) -> dict[str, list[str]]:
    """Return for each screen the parts that hide some of it in any of the sets."""
    found: dict[str, dict[str, None]] = {}
    for one in numbers:
        hidden_by = table_at(one, "hidden_by")
        for screen in hidden_by:
            found.setdefault(screen, {}).update(dict.fromkeys(table_at(hidden_by, screen)))
    return {screen: list(parts) for screen, parts in found.items()}


def _in_order(sets: list[list[_Kind]]) -> list[_Kind]:
    """Return each kind once: by place in the order met, a place's kinds together."""
    every = dict.fromkeys(kind for kinds in sets for kind in kinds)
    places = list(dict.fromkeys(kind.where for kind in every))
    return sorted(every, key=lambda kind: places.index(kind.where))


def _row(kind: _Kind, values: tuple[float | None, ...]) -> Row:
    verdicts = ("", *(_verdict(kind.quantity, values[0], value) for value in values[1:]))
    return Row(*kind, values, verdicts)


def _unjudged(row: Row, alike: Sequence[bool]) -> Row:
    """Return a row without verdicts on the sets that are not like the first."""
    verdicts = (
        verdict if same else "other" for verdict, same in zip(row.verdicts, alike, strict=True)
    )
    return dataclasses.replace(row, verdicts=tuple(verdicts))


def _verdict(quantity: Quantity, first: float | None, value: float | None) -> str:
    if first is None or value is None:
        return "same" if first is value else "other"
    within = quantity.unit.within + 1e-9  # what is written with few digits counts too
    prints_alike = in_words(value, quantity.unit) == in_words(first, quantity.unit)
    if abs(value - first) <= within or prints_alike:
        return "same"
    gain = {
        "more": value - first,
        "less": first - value,
        "nearer 0": abs(first) - abs(value),
        "": 0.0,
    }[quantity.better]
    if abs(gain) <= within:
        return "other"
    return "better" if gain > 0 else "worse"


def _values(
    numbers: Mapping[str, Any], hiders: Mapping[str, Iterable[str]]
) -> Iterator[tuple[_Kind, float | None]]:
    """Yield every number of a set that can be compared with another's.

    `hiders` gives for each screen the parts to name.
    """
    yield from _told(ALL, OF_RIG, numbers)
    for name, screen in table_at(numbers, "screens").items():
        yield from _told(name, OF_SCREEN, screen)
        if name in table_at(numbers, "hidden_by"):
            yield from _hidden(name, numbers, hiders[name])
    for seam in scene_seams(numbers):
        where = f"seam {' and '.join(sorted(names_at(seam, 'between'))) or '?'}"
        yield from _told(where, OF_SEAM, seam)
    for name, mark in table_at(numbers, "marks").items():
        yield _Kind("reference points", OFF.words.format(name), OFF), OFF.value(mark)


def _told(where: str, every: Iterable[Quantity], tree: Any) -> Iterator[tuple[_Kind, float | None]]:
    for quantity in every:
        yield _Kind(where, quantity.words, quantity), quantity.value(tree)


def _hidden(
    screen: str, numbers: Mapping[str, Any], hiders: Iterable[str]
) -> Iterator[tuple[_Kind, float | None]]:
    """Yield how much of a screen each part hides."""
    shares = table_at(table_at(numbers, "hidden_by"), screen)
    for part in hiders:
        share = shares.get(part, 0.0)  # what hides nothing is not listed
        yield (
            _Kind(screen, HIDDEN.words.format(hider_words(screen, part)), HIDDEN),
            HIDDEN.value(share),
        )
