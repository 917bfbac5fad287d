"""From where to where a slider goes that changes a number of the rig file, and in which steps."""

import math
from dataclasses import asdict, dataclass
from typing import Any

from seamsight.scene.adjustable import Adjustable

TURN = 45.0  # degrees either way
ASIDE = 100.0  # mm either way, at least, of what may be on either side of zero
LEAST_REACH = 0.5  # either way
STEPS = 600  # from end to end, at least


@dataclass(frozen=True)
class SliderEnds:
    """The ends of a slider, multiples of its step."""

    first: float
    last: float
    step: float


def slider_ends(number: Adjustable) -> SliderEnds:
    """Return a slider's ends about the present value, as far as the key's limits let it."""
    reach = _reach(number)
    step = _round_step(2 * reach / STEPS)
    low = max(number.value - reach, number.low)
    high = min(number.value + reach, number.high)
    # 6 digits: so that a limit that is a multiple of the step is reached
    first = math.ceil(round(low / step, 6))
    last = math.floor(round(high / step, 6))
    if _times(first, step) < number.low:  # which its key must be above
        first += 1
    return SliderEnds(_times(first, step), _times(last, step), step)


def slider_facts(number: Adjustable) -> dict[str, Any]:
    """Return what a page must know to make a slider for a number."""
    return asdict(number) | asdict(slider_ends(number))


def _reach(number: Adjustable) -> float:
    if number.unit == "°":
        return TURN
    if number.low < 0:
        return max(ASIDE, abs(number.value) / 4)
    return max(LEAST_REACH, abs(number.value) / 2)


def _round_step(most: float) -> float:
    """Return the largest step of 1, 5, 10, 50 and so on, or a part of ten, not above the most."""
    power = math.floor(math.log10(most))
    return float(f"{5 if most >= 5 * 10.0**power else 1}e{power}")


def _times(steps: int, step: float) -> float:
    """Return so many steps, without the noise of binary fractions."""
    return float(f"{steps * step:.10g}")
