"""Changed rigs tried one after the other, each once, for a search; kept with their figures."""

import functools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from seamsight.scene.errors import ChoiceError, PoseError
from seamsight.scene.frames import Array
from seamsight.scene.freedom import Free, value_now
from seamsight.scene.rig import Rig
from seamsight.scene.rig_file import RigSource
from seamsight.scene.rig_words import Data
from seamsight.scene.values import computed, key_path, with_changes
from seamsight.viewer.studies.choosing_figures import FIGURES, Views, figures

NO_RIG = 1e3  # what a rig that cannot be built falls short by: more than any other
AS_SET = 1e-9  # by which a figure may miss a constraint, for rounding's sake
_ALONE = ("format", "name", "values", "pilot", "head", "screen", "lens", "bank")
WHY_NONE = {
    "blur": 'no screen of the outside view has a lens of model = "grooved": an ideal one blurs '
    "nothing",
    "corner-light": 'no screen of the outside view has a lens of model = "grooved": an ideal one '
    "takes no light",
    "dark-strip": "no two screens of the outside view are neighbours, so there is no seam",
    "magnification": "no screen of the outside view has a lens",
}

Values = tuple[float, ...]
Figures = Mapping[str, float | None]


@dataclass(frozen=True)
class Limit:
    """A constraint: what a figure must be at least or, where less of it is better, at most."""

    key: str
    value: float

    def short(self, figures: Figures) -> float:
        """Return by how much figures miss it, 0 if they keep it; infinite for what is not there."""
        value = figures[self.key]
        if value is None:
            return math.inf
        by = self.value - value if FIGURES[self.key].better == "more" else value - self.value
        return by if by > AS_SET else 0.0


@dataclass(frozen=True)
class Try:
    """A rig that was tried.

    Attributes
    ----------
    values : tuple of float
        One for each free value.
    figures : dict or None
        None for one that cannot be built.
    change : float
        How much of its range each value differs from that of the file, 0..1, on average.
    """

    values: Values
    figures: Figures | None
    change: float = 0.0

    def short(self, limits: Sequence[Limit]) -> float:
        """Return how much it misses of some constraints, of each as a share of a lot, in all."""
        if self.figures is None:
            return NO_RIG
        found = self.figures
        return sum(
            min(limit.short(found) / FIGURES[limit.key].scale, NO_RIG / 10) for limit in limits
        )

    def loss(self, goal: str) -> float:
        """Return how bad it is for a goal: less is better, infinite where it has no such figure."""
        value = None if self.figures is None else self.figures[goal]
        if value is None:
            return math.inf
        return -value if FIGURES[goal].better == "more" else value


class Tries:
    """Every rig that was tried, by its values.

    Parameters
    ----------
    source : RigSource
    given : dict
        Changes of the file's values that hold for all.
    frees : sequence of Free
    views : Views
    keys : set of str
        The `FIGURES` wanted.
    """

    def __init__(
        self,
        source: RigSource,
        given: Mapping[str, Any],
        frees: Sequence[Free],
        views: Views,
        keys: frozenset[str],
    ) -> None:
        self.frees = tuple(frees)
        self._file = Path(source.file)
        self._data = with_changes(source.data, given)
        if "hide" not in keys:
            self._data = outside_alone(self._data, [free.path for free in frees])
        self._views = views
        self._keys = keys
        self._kept: dict[Values, Try] = {}
        self.on_try: Callable[[], None] = lambda: None

    def __len__(self) -> int:
        return len(self._kept)

    def all(self) -> list[Try]:
        """Return every one, in the order in which they were tried."""
        return list(self._kept.values())

    def as_it_is(self) -> Try:
        """Return the rig without changes."""
        values = (math.nan if value is None else value for value in self.now.values())
        return Try(tuple(values), self._figures({}))

    @functools.cached_property
    def start(self) -> Array | None:
        """The numbers that stand for the rig as it is, None where that is out of range."""
        each = zip(self.frees, self.now.values(), strict=True)
        numbers = [None if value is None else free.number(value) for free, value in each]
        known = [number for number in numbers if number is not None]
        return np.array(known) if len(known) == len(numbers) else None

    @functools.cached_property
    def now(self) -> dict[str, float | None]:
        """What each free value is in the rig as it is, by its path."""
        return {free.path: value_now(self._data, free.path) for free in self.frees}

    def at(self, numbers: Array) -> Try:
        """Return the rig that some numbers (f,), one for each free value, stand for."""
        each = zip(self.frees, numbers.tolist(), strict=True)
        values = tuple(free.value(number) for free, number in each)
        if values not in self._kept:
            figures = self._figures(self.changes(values))
            self._kept[values] = Try(values, figures, self._change(values))
        self.on_try()
        return self._kept[values]

    def changes(self, values: Values) -> dict[str, float]:
        """Return values by their paths."""
        return {free.path: value for free, value in zip(self.frees, values, strict=True)}

    def numbers(self, values: Values) -> Array:
        """Return what stands for values."""
        numbers = [free.number(value) for free, value in zip(self.frees, values, strict=True)]
        return np.array(numbers, np.float64)

    def _change(self, values: Values) -> float:
        if self.start is None:
            return 0.0
        spans = np.array([high - low or 1.0 for low, high in map(Free.ends, self.frees)])
        return float(np.abs((self.numbers(values) - self.start) / spans).mean())

    def _figures(self, changes: Mapping[str, float]) -> Figures | None:
        data = computed(with_changes(self._data, changes)).data
        try:
            rig = Rig.model_validate(data).read_from(self._file)
            return figures(rig, self._views, self._keys)
        except (ValidationError, ChoiceError, PoseError):
            return None


def outside_alone(data: Data, paths: Sequence[str]) -> Data:
    """Return a rig's tables without what stands round about its screens of the outside view.

    All of them where a screen or a head stands on something or is a mirror image, or where formulas
    or paths may name what stands there.
    """
    screens = [row for row in data.get("screen", []) if _is_outside(row)]
    if any("on" in row or "mirror" in row for row in [*screens, *data.get("head", [])]):
        return data
    names = [row["name"] for row in screens]
    lenses = [row for row in data.get("lens", []) if row["screen"] in names]
    kept = {key: rows for key, rows in data.items() if key in _ALONE}
    alone = kept | {"screen": screens, "lens": lenses}
    try:
        named = [key_path(alone, path) for path in paths]
    except ChoiceError:
        return data
    has_formulas = computed(data).data is not data
    return data if has_formulas or not named else alone


def refuse_without(keys: Sequence[str], figures: Figures | None) -> None:
    """Refuse figures that a rig does not have at all, None for one that its own rules forbid.

    Raises
    ------
    ChoiceError
    """
    for key in keys:
        if figures is not None and figures[key] is None:
            msg = f"no value can change the {FIGURES[key].words} of this rig: {WHY_NONE[key]}"
            raise ChoiceError(msg)


def _is_outside(row: Data) -> bool:
    shows = row.get("shows", "world")
    return isinstance(shows, dict) or shows == "world"
