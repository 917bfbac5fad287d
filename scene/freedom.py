"""Values that a search may change: which, within which ends or out of which list.

A rig file's table `free` and the option `--free` say so in the same words: a path, and a range
"100..200" or a list "350, 400, 450"; lengths may have units.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from seamsight.scene.adjustable import limits_of
from seamsight.scene.errors import ChoiceError
from seamsight.scene.optics import magnification
from seamsight.scene.rig_words import Data, shown
from seamsight.scene.values import at, key_path, number_in, number_of

FINENESS = 2000  # steps of a range at least: as fine as anyone needs to build
_INSTEAD = {".distance": ".magnification", ".magnification": ".distance"}


@dataclass(frozen=True)
class Free:
    """A value that may change.

    Attributes
    ----------
    path : str
        In words, such as "outside.lens.distance".
    unit : "mm", "°", "cd/m²" or ""
    low, high : float
    choices : tuple of float
        What it may be, in rising order; empty where it may be anything from low to high.
    """

    path: str
    unit: str
    low: float
    high: float
    choices: tuple[float, ...] = ()

    @property
    def digits(self) -> int:
        """Decimals to which values of a range are rounded, so that they can be read and cut."""
        return math.ceil(-math.log10((self.high - self.low) / FINENESS))

    def value(self, number: float) -> float:
        """Return the value that a number stands for: one of the range, or the place of a choice."""
        if self.choices:
            return self.choices[min(max(round(number), 0), len(self.choices) - 1)]
        return min(max(round(number, self.digits) + 0.0, self.low), self.high)

    def ends(self) -> tuple[float, float]:
        """Return the least and the greatest number of `value`."""
        return (0.0, len(self.choices) - 1.0) if self.choices else (self.low, self.high)

    def words(self) -> str:
        """Return what it may be, as it is written."""
        if self.choices:
            return ",".join(f"{choice:g}" for choice in self.choices)
        return f"{self.low:g}..{self.high:g}"

    def number(self, value: float) -> float | None:
        """Return the number that stands for a value, None where it may not be that."""
        if self.choices:
            return float(self.choices.index(value)) if value in self.choices else None
        return value if self.low <= value <= self.high else None


def free_values(data: Data, asked: Mapping[str, str]) -> list[Free]:
    """Return the values that may change, by paths and their words.

    Raises
    ------
    ChoiceError
        When a path leads nowhere or to no number, or words are wrong for it.
    """
    found = [free_value(data, path, words) for path, words in asked.items()]
    for one in found:
        for end, instead in _INSTEAD.items():
            if one.path.endswith(end) and one.path.removesuffix(end) + instead in asked:
                msg = f"{shown(one.path)}: a lens has either a distance or a magnification: "
                msg += "make only one of them free"
                raise ChoiceError(msg)
    return found


def free_value(data: Data, path: str, words: str) -> Free:
    """Return one value that may change; for errors see `free_values`."""
    limits = limits_of(data, path)
    low_words, is_range, high_words = words.partition("..")
    texts = [low_words, high_words] if is_range else words.split(",")
    numbers = [_number(path, text, words) for text in texts]
    for number in numbers:
        if not limits.low <= number <= limits.high:
            msg = f"{shown(path)}: must be from {limits.low:g} to {limits.high:g} (got {number:g})"
            raise ChoiceError(msg)
    if not is_range:
        choices = tuple(sorted(set(numbers)))
        return Free(path, limits.unit, choices[0], choices[-1], choices)
    low, high = numbers
    if low >= high:
        msg = f"{shown(path)}: a range goes from the lower number to the higher (got {words})"
        raise ChoiceError(msg)
    return Free(path, limits.unit, low, high)


def value_now(data: Data, path: str) -> float | None:
    """Return what a number is in a rig file's tables, None where it is nothing in particular.

    A lens's magnification is worked out of its distance, and the other way round.
    """
    number = number_of(data, path)
    if number is None and path.endswith(".magnification"):
        lens = path.removesuffix(".magnification")
        focal_length, distance = (
            number_of(data, f"{lens}.{key}") for key in ("focal_length", "distance")
        )
        if focal_length is not None and distance is not None and distance < focal_length:
            return magnification(focal_length, distance)
    return number


def written_changes(data: Data, changes: Mapping[str, float]) -> dict[str, float]:
    """Return changes as they can be written over a rig file's own numbers.

    Where the file writes a lens's magnification, a distance is turned into that, and the other way
    round.

    Raises
    ------
    ChoiceError
        When the file does not write a number that changes.
    """
    found = {}
    for path, value in changes.items():
        if at(data, key_path(data, path)) is not None:
            found[path] = value
            continue
        lens, _, key = path.rpartition(".")
        other = f"{lens}{_INSTEAD.get('.' + key, '')}"
        if other == lens or at(data, key_path(data, other)) is None:
            msg = f"{shown(path)} is not written in the rig file: add it there"
            raise ChoiceError(msg)
        length = f"{lens}.focal_length"
        focal_length = changes.get(length, number_of(data, length))
        assert focal_length is not None  # every lens has one
        found[other] = (
            magnification(focal_length, value)
            if key == "distance"
            else focal_length * (1 - 1 / value)
        )
    return found


def _number(path: str, text: str, words: str) -> float:
    text = text.strip()
    try:
        number = float(text)
    except ValueError:
        try:
            number = number_in(text)
        except ValueError:
            number = math.nan
    if not math.isfinite(number):
        msg = f"{shown(path)}: write a range as 100..200, or a list as 350,400,450 (got {words!r})"
        raise ChoiceError(msg)
    return number
