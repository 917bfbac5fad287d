"""Numbers side by side, with what got better or worse. Works on numbers as JSON has them, old ones included."""

import dataclasses
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from seamsight.viewer.eye import EYES
from seamsight.viewer.numbers.margins import SIDES

SAME_WITHIN = {"%": 0.05, "°": 0.02, "mm": 0.05, "D": 0.01, "′": 0.01, "×": 0.01, "": 0.0}
"""By how much two values of a unit may differ and still count as the same; 0.02° is what a 20/20 eye resolves."""

ALL = "all screens"
"""Where rows stand that sum a whole rig up, so that rigs whose screens have other names compare too."""

_DIGITS = {"%": 1, "°": 2, "mm": 1, "D": 2, "′": 2, "×": 2}
_CLOSE_UP = ("°", "′")  # units written without a space before them

Better = Literal["more", "less", "nearer 0", ""]


@dataclass(frozen=True)
class Row:
    """One number of several sets, side by side.

    Attributes
    ----------
    where : str
        "all screens", "outside.1", "seam outside.1 and outside.2", "marks".
    what : str
        "seen by both eyes", "dark strip, left eye".
    unit : str
        "%", "°", "mm", "D", "′", "×"; "" for yes (1) or no (0).
    values : tuple of float or None
        One for each set, None where it has none.
    verdicts : tuple of str
        One for each set: "" for the first, for each other "better", "worse", "same" or "other" (there is no better, or
        a value is missing) against the first.
    """

    where: str
    what: str
    unit: str
    values: tuple[float | None, ...]
    verdicts: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Whether any value is not the same as the first."""
        return any(verdict not in ("", "same") for verdict in self.verdicts)


class _Kind(NamedTuple):
    """What a row is about; rows of one place and kind belong together."""

    where: str
    what: str
    unit: str
    better: Better


def side_by_side(numbers: Sequence[Mapping[str, Any]]) -> list[Row]:
    """Return the numbers of several rigs or heads as rows, each held against the first set's.

    Parameters
    ----------
    numbers : sequence of dict
        As `Numbers.as_json` gives them; keys may be missing or None.
    """
    hiders: dict[str, dict[str, None]] = {}
    for one in numbers:
        for screen, shares in _table(one, "hidden_by").items():
            hiders.setdefault(screen, {}).update(
                dict.fromkeys(shares if isinstance(shares, Mapping) else ())
            )
    sets = [
        {kind: value for kind, value in _values(one, hiders) if value is not None}
        for one in numbers
    ]
    kinds = _in_order([list(one) for one in sets])
    screens = [len(_table(one, "screens")) for one in numbers]
    rows = [_row(kind, tuple(one.get(kind) for one in sets)) for kind in kinds]
    return [
        _unjudged(row, [count == screens[0] for count in screens]) if row.where == ALL else row
        for row in rows
    ]


def value_words(row: Row, index: int) -> str:
    """Return a value of a row as text, such as "98.3 %"; a dash where there is none."""
    value = row.values[index]
    if value is None:
        return "–"
    if row.unit == "":
        return "yes" if value else "no"
    rounded = round(value, _DIGITS[row.unit]) + 0.0  # no minus zero
    text = f"{rounded:.{_DIGITS[row.unit]}f}".replace("-", "−")
    return f"{text}{'' if row.unit in _CLOSE_UP else ' '}{row.unit}"


def _in_order(sets: list[list[_Kind]]) -> list[_Kind]:
    """Return each kind once: by place in the order met, a place's kinds together."""
    every = dict.fromkeys(kind for kinds in sets for kind in kinds)
    places = {
        place: number for number, place in enumerate(dict.fromkeys(kind.where for kind in every))
    }
    return sorted(every, key=lambda kind: places[kind.where])


def _row(kind: _Kind, values: tuple[float | None, ...]) -> Row:
    verdicts = ("", *(_verdict(kind, values[0], value) for value in values[1:]))
    return Row(kind.where, kind.what, kind.unit, values, verdicts)


def _unjudged(row: Row, alike: Sequence[bool]) -> Row:
    """Return a row of sums without verdicts on rigs that have more or fewer screens: these sum up other things."""
    verdicts = (
        verdict if same else "other" for verdict, same in zip(row.verdicts, alike, strict=True)
    )
    return dataclasses.replace(row, verdicts=tuple(verdicts))


def _verdict(kind: _Kind, first: float | None, value: float | None) -> str:
    if first is None or value is None:
        return "same" if first is value else "other"
    within = SAME_WITHIN[kind.unit] + 1e-9  # what is written with few digits counts too
    if abs(value - first) <= within:
        return "same"
    gain = {
        "more": value - first,
        "less": first - value,
        "nearer 0": abs(first) - abs(value),
        "": 0.0,
    }[kind.better]
    if abs(gain) <= within:
        return "other"
    return "better" if gain > 0 else "worse"


def _values(
    numbers: Mapping[str, Any], hiders: Mapping[str, Iterable[str]]
) -> Iterator[tuple[_Kind, float | None]]:
    """Yield every number of a set that can be held against another's; `hiders` tells which parts to name, by screen."""
    hidden_by, screens, seams = (
        _table(numbers, "hidden_by"),
        _table(numbers, "screens"),
        _seams(numbers),
    )
    yield from _of_all(list(screens.values()), seams)
    for name, screen in screens.items():
        yield from _of_screen(name, screen)
        for part in hiders.get(name, ()) if name in hidden_by else ():
            what = "its own lens's edge" if part == f"{name} lens" else part
            share = _number(
                _table(hidden_by, name).get(part, 0.0)
            )  # what hides nothing is not listed
            yield _Kind(name, f"hidden by {what}", "%", "less"), _scaled(share, 100)
    for seam in seams:
        yield from _of_seam(seam, screens)
    for name, mark in _table(numbers, "marks").items():
        yield _Kind("marks", f"{name}, off by", "mm", "less"), _at(mark, "off")


def _seams(numbers: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the seams that one scene runs across."""
    found = numbers.get("seams")
    seams = found if isinstance(found, list) else []
    return [seam for seam in seams if isinstance(seam, Mapping) and seam.get("in_scene", True)]


def _of_all(
    screens: list[Any], seams: list[Mapping[str, Any]]
) -> Iterator[tuple[_Kind, float | None]]:
    seen = _whole(_at(screen, "seen", "both") for screen in screens)
    yield (
        _Kind(ALL, "seen by both eyes, mean", "%", "more"),
        100 * sum(seen) / len(seen) if seen else None,
    )
    spans = _whole(_at(screen, "span", "h") for screen in screens)
    yield _Kind(ALL, "field across, summed", "°", "more"), sum(spans) if spans else None
    pixels = _whole(_at(screen, "arcmin_per_px", "h") for screen in screens)
    yield _Kind(ALL, "one pixel, coarsest", "′", "less"), max(pixels, default=None)
    focus = _whole(_at(screen, "image_dioptres") for screen in screens)
    yield _Kind(ALL, "focus, nearest", "D", "less"), max(focus, default=None)
    dark = _known(_at(seam, "dark", eye) for seam in seams for eye in ("left", "right"))
    yield _Kind(ALL, "dark strip, widest", "°", "nearer 0"), max(dark, key=abs, default=None)
    missing = _whole(_border_missing(screen) for screen in screens)
    yield _Kind(ALL, "border missing, widest", "mm", "less"), max(missing, default=None)


def _of_screen(name: str, screen: Any) -> Iterator[tuple[_Kind, float | None]]:
    for eye, words in (("left", "left eye"), ("right", "right eye"), ("both", "both eyes")):
        yield _Kind(name, f"seen by {words}", "%", "more"), _scaled(_at(screen, "seen", eye), 100)
    yield _Kind(name, "field across", "°", "more"), _at(screen, "span", "h")
    yield _Kind(name, "field up", "°", "more"), _at(screen, "span", "v")
    yield _Kind(name, "one pixel", "′", "less"), _at(screen, "arcmin_per_px", "h")
    yield _Kind(name, "looks larger", "×", ""), _at(screen, "magnification")
    yield _Kind(name, "image at", "mm", ""), _at(screen, "image_distance")
    # common practice: the farther the eyes focus, the more they rest
    yield _Kind(name, "focus", "D", "less"), _at(screen, "image_dioptres")
    for side in SIDES:
        margins = _known(_at(screen, "margin", side, eye) for eye in ("left", "right"))
        lost = sum(max(0.0, -margin) for margin in margins) if margins else None
        yield _Kind(name, f"lost at the {side}, both eyes summed", "mm", "less"), lost
    yield _Kind(name, "border missing, widest", "mm", "less"), _border_missing(screen)
    yield _Kind(name, "lens shifts the border", "°", "less"), _at(screen, "distortion")
    yield _Kind(name, "lens parts red from blue", "′", "less"), _at(screen, "colour")
    yield (
        _Kind(name, "light in the corners", "%", "more"),
        _scaled(_at(screen, "light", "corner"), 100),
    )


def _border_missing(screen: Any) -> float | None:
    """Return by how much the worst side's border is below what both eyes need: `gap_needed` less the mid margin."""
    return max(_known(_missing_at(screen, side) for side in SIDES), default=None)


def _missing_at(screen: Any, side: str) -> float | None:
    needed, present = _at(screen, "gap_needed", side), _at(screen, "margin", side, "mid")
    return None if needed is None or present is None else max(0.0, needed - present)


def _of_seam(
    seam: Mapping[str, Any], screens: Mapping[str, Any]
) -> Iterator[tuple[_Kind, float | None]]:
    where = f"seam {' and '.join(sorted(_list(seam, 'between'))) or '?'}"
    for eye in EYES:
        words = "mid-eye" if eye == "mid" else f"{eye} eye"
        yield _Kind(where, f"dark strip, {words}", "°", "nearer 0"), _at(seam, "dark", eye)
    yield _Kind(where, "both eyes see all of it", "", "more"), _at(seam, "both_whole")
    # each side for itself: what one has to spare does not help the other
    sides = zip(_list(seam, "between"), _list(seam, "sides"), strict=False)
    missing = _known(_missing_at(screens.get(name), side) for name, side in sides)
    yield (
        _Kind(where, "border missing, both sides summed", "mm", "less"),
        sum(missing) if missing else None,
    )


def _whole(values: Iterable[float | None]) -> list[float]:
    """Return values if all are known, else none of them: the rest alone would look better than the whole."""
    every = list(values)
    return [] if None in every else _known(every)


def _known(values: Iterable[float | None]) -> list[float]:
    return [value for value in values if value is not None]


def _table(tree: Any, key: str) -> Mapping[str, Any]:
    found = tree.get(key) if isinstance(tree, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def _list(tree: Mapping[str, Any], key: str) -> list[str]:
    found = tree.get(key)
    return [str(value) for value in found] if isinstance(found, list | tuple) else []


def _at(tree: Any, *path: str) -> float | None:
    """Return the number at a path of keys, None where there is none."""
    for key in path:
        tree = tree.get(key) if isinstance(tree, Mapping) else None
    return _number(tree)


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and math.isfinite(value) else None


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor
