"""What is chosen for a builder's measures; if they do not suit each other, what would work."""

import dataclasses
import math
from collections.abc import Callable, Iterable
from typing import TypeVar

from seamsight.scene.errors import ChoiceError
from seamsight.scene.starting import (
    LEAST_F_NUMBER,
    MOST_LOST,
    Choice,
    Measures,
    best,
    usual_focal_length,
    usual_lens,
    usual_pixels,
)
from seamsight.scene.units import MM_PER_UNIT

UNEQUAL = 0.03  # by which pixels may be higher or wider than square
UNDER_LENSES = 215.0  # from the carcass down to the panel's lower edge, and a little air, mm
LITTLE_LOST = 0.1  # share of the image's area that what is offered may lose

_Value = TypeVar("_Value")


def choose(measures: Measures) -> Choice:
    """Return where lenses and screens go.

    As little of the image as can be is lost; then the magnification is at most about 1.6 where it
    can be; then the lenses are as near to 600 mm from the eyes as can be.

    Raises
    ------
    ChoiceError
        When measures do not suit each other; it says what would work.
    """
    _refuse_odd_pixels(measures)
    _refuse_low_eyes(measures)
    found = best(measures)
    if found is None:
        msg = f"{_why_not(measures)} {_what_would_work(measures)}"
        raise ChoiceError(msg)
    return found


def _refuse_odd_pixels(measures: Measures) -> None:
    """Refuse pixels that are not square; they mean a wrong aspect or a wrong number."""
    across, up = measures.pixels
    square = measures.pixels[0] * measures.aspect[1] / (measures.pixels[1] * measures.aspect[0])
    if not 1 - UNEQUAL < square < 1 + UNEQUAL:
        fits = usual_pixels(measures.aspect)
        shortest = math.gcd(across, up)
        msg = (
            f"{across}x{up} pixels do not fit an image of {measures.aspect[0]}:"
            f"{measures.aspect[1]}: pixels are square. {fits[0]}x{fits[1]} would fit, or an aspect "
            f"of {across // shortest}:{up // shortest}."
        )
        raise ChoiceError(msg)


def _refuse_low_eyes(measures: Measures) -> None:
    """Refuse eyes so low that the panel below the screens would reach into the floor."""
    least_height = max(measures.housing[1], measures.unit[1]) / 2 + UNDER_LENSES
    if measures.eye_height < least_height:
        msg = (
            f"Eyes {measures.eye_height:.0f} mm above the floor are too low: the panel below the "
            f"screens would stand in it. They would have to be {math.ceil(least_height)} mm up."
        )
        raise ChoiceError(msg)


def _why_not(measures: Measures) -> str:
    """Return a sentence on what does not suit what."""
    assert measures.lens
    size = _by(measures.lens)
    focal_length = f"{measures.focal_length:.0f} mm"
    if measures.f_number < LEAST_F_NUMBER:
        return (
            f"A focal length of {focal_length} is too short for a lens of {size} "
            f"(f/{measures.f_number:.2f}): hardly any lens is made below f/{LEAST_F_NUMBER:g}."
        )
    if best(dataclasses.replace(measures, count=1)):
        return (
            f"Screens {measures.housing[0]:.0f} mm wide with their bezels are too wide to stand "
            f"side by side behind lenses {measures.lens[0]:.0f} mm wide."
        )
    if all(lens < image for lens, image in zip(measures.lens, measures.image, strict=True)):
        return (
            f"A lens of {size} is too small for an image of {_by(measures.image)}: more than "
            f"{MOST_LOST:.0%} of the image would be lost at any distance."
        )
    return (
        f"Behind a lens of {size} with a focal length of {focal_length}, an image of "
        f"{_by(measures.image)} fills the lens at no distance without losing more than "
        f"{MOST_LOST:.0%} of it."
    )


def _what_would_work(measures: Measures) -> str:
    """Return a sentence with the nearest lens, focal length and screen that would do."""
    assert measures.lens
    width, height = measures.lens
    ways = []

    # the nearest of its kind, in whole mm or inches as in shops
    lens = _nearest(
        [
            *((round(width * p / 100), round(height * p / 100)) for p in _nearer_first(100)),
            usual_lens(measures),
        ],
        lambda lens: dataclasses.replace(measures, lens=lens),
    )
    if lens:
        ways.append(f"a lens of {_by(lens)}")
    focal_length = _nearest(
        [
            *(10.0 * step for step in _nearer_first(round(measures.focal_length / 10))),
            usual_focal_length(measures.lens),
        ],
        lambda focal_length: dataclasses.replace(measures, focal_length=focal_length),
    )
    if focal_length:
        ways.append(f"a focal length of {focal_length:.0f} mm")
    inch = MM_PER_UNIT["in"]
    diagonal = _nearest(
        [inch * step for step in _nearer_first(round(measures.diagonal / inch))],
        lambda diagonal: dataclasses.replace(measures, diagonal=diagonal),
    )
    if diagonal:
        ways.append(f"screens of {diagonal / inch:.0f} in")

    return f"What would work: {', or '.join(ways or [_another_lens(measures)])}."


def _another_lens(measures: Measures) -> str:
    """Return a lens and focal length that would do; where the bezels are in the way, that."""
    lens = usual_lens(measures)
    focal_length = usual_focal_length(lens)
    if best(dataclasses.replace(measures, lens=lens, focal_length=focal_length)):
        return f"a lens of {_by(lens)} with a focal length of {focal_length:.0f} mm"
    return "narrower bezels"


def _nearer_first(number: int) -> list[int]:
    """Return whole numbers from a third to three times a number, the nearest to it first."""
    others = range(max(1, number // 3), 3 * number + 1)
    return sorted(others, key=lambda other: abs(math.log(other / max(1, number))))


def _nearest(
    values: Iterable[_Value], measures_with: Callable[[_Value], Measures]
) -> _Value | None:
    """Return the first of values with which there is a choice that loses less than a tenth."""
    for value in values:
        choice = best(measures_with(value))
        if choice and choice.lost < LITTLE_LOST:
            return value
    return None


def _by(size: tuple[float, float]) -> str:
    return f"{size[0]:.0f} x {size[1]:.0f} mm"
