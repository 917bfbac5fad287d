"""The units that numbers are told in, and how a value of each reads."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Unit:
    """A unit, and how exactly values in it are told.

    Attributes
    ----------
    sign : str
        As it is written; "" for yes (1) or no (0).
    digits : int
        Decimals; enough to show what counts as a difference.
    within : float
        By how much two values may differ and still count as the same.
    scale : float
        From a value of the JSON to one in this unit.
    space : str
        The space between a number and the sign.
    """

    sign: str
    digits: int
    within: float
    scale: float = 1.0
    space: str = " "


PERCENT = Unit("%", 1, 0.05, scale=100.0)
DEGREES = Unit("°", 2, 0.02, space="")  # about one arcmin, what a 20/20 eye resolves
MM = Unit("mm", 1, 0.05)
DIOPTRES = Unit("D", 2, 0.01)
ARCMIN = Unit("′", 2, 0.01, space="")
TIMES = Unit("×", 2, 0.01)
YES_OR_NO = Unit("", 0, 0.0)


def in_words(value: float | None, unit: Unit, digits: int | None = None) -> str:
    """Return a value with its unit, such as "98.3 %", "−0.72°" or "yes"; a dash for None."""
    if value is None:
        return "–"
    if unit == YES_OR_NO:
        return "yes" if value else "no"
    number = number_words(value, unit.digits if digits is None else digits)
    return f"{number}{unit.space}{unit.sign}"


def number_words(value: float | None, digits: int, *, signed: bool = False) -> str:
    """Return a number as text, with a plus if `signed`; zero is never minus. A dash for None."""
    if value is None:
        return "–"
    rounded = round(value, digits) + 0.0  # no minus zero
    return f"{rounded:{'+' if signed else ''}.{digits}f}".replace("-", "−")
