"""A trade-off curve drawn: what its rigs have of one goal, against what they have of the other."""

import math
from collections.abc import Sequence

from PIL import Image, ImageDraw

from seamsight.scene.lettering import font
from seamsight.viewer.numbers.units import in_words
from seamsight.viewer.sheet import FAINT, INK, PAPER, noted
from seamsight.viewer.studies.choosing import Answer
from seamsight.viewer.studies.choosing_figures import FIGURES
from seamsight.viewer.studies.choosing_tries import Figures

LINE, BEST = (58, 110, 165), (199, 93, 44)
TICKS = 5  # steps of a scale, about
ROOM = 0.06  # of a scale, left free at its ends

Pixel = tuple[float, float]


def trade_off(answer: Answer, goals: Sequence[str], caption: str, width: int) -> Image.Image:
    """Return a trade-off curve with its points numbered as in the table, and the rig as it is.

    Parameters
    ----------
    answer : Answer
        With a curve.
    goals : sequence of str
        The two that it is about: the first up, the second across.
    caption : str
    width : int
        Pixels.
    """
    letter = max(12, width // 60)
    rows = [point.figures for point in answer.curve]
    before = answer.before
    shown = [*rows, *([before] if before else [])]
    scales = [_Scale([_value(figures, goal) for figures in shown]) for goal in goals]
    left, top, right = 6 * letter, 6 * letter, width - 3 * letter
    foot = top + round(0.55 * width)

    sheet = Image.new("RGB", (width, foot + 5 * letter), PAPER)
    draw = ImageDraw.Draw(sheet)
    draw.text((letter, 0.7 * letter), caption, fill=INK, font=font(letter))
    _draw_scales(draw, (left, top, right, foot), scales, goals, letter)

    def at(figures: Figures) -> Pixel:
        up, across = (
            scale.share(_value(figures, goal)) for scale, goal in zip(scales, goals, strict=True)
        )
        return left + across * (right - left), foot - up * (foot - top)

    draw.line([at(figures) for figures in rows], fill=LINE, width=max(2, letter // 6))
    rises = (at(rows[-1])[0] - at(rows[0])[0]) * (at(rows[-1])[1] - at(rows[0])[1]) < 0
    for number, point in enumerate(answer.curve, start=1):
        colour = BEST if point == answer.best else LINE
        _draw_point(draw, at(point.figures), colour, letter)
        _name_point(draw, at(point.figures), str(number), colour, letter, above=True, left=rises)
    if before:
        _draw_point(draw, at(before), INK, letter)
        _name_point(draw, at(before), "as it is", INK, letter, above=False, left=not rises)
    note = "Numbered points are the rigs of the table; the orange one loses least of either goal."
    return noted(sheet, [note], letter)


class _Scale:
    """What is shown of a goal, with ends a little beyond its values."""

    def __init__(self, values: Sequence[float]) -> None:
        low, high = min(values), max(values)
        room = ROOM * (high - low) or 0.01 * max(1.0, abs(low))
        self.low, self.high = low - room, high + room

    def share(self, value: float) -> float:
        return (value - self.low) / (self.high - self.low)

    def ticks(self) -> list[float]:
        """Return round values between its ends."""
        rough = (self.high - self.low) / TICKS
        power = 10.0 ** math.floor(math.log10(rough))
        step = next(power * times for times in (1, 2, 5, 10) if power * times >= rough)
        first, last = math.ceil(self.low / step), math.floor(self.high / step)
        return [number * step for number in range(first, last + 1)]


def _value(figures: Figures, goal: str) -> float:
    """Return what figures have of a goal, in the unit that it is told in."""
    value = figures[goal]
    assert value is not None  # every rig of a curve has its goals' figures
    return value * FIGURES[goal].unit.scale


def _draw_scales(
    draw: ImageDraw.ImageDraw,
    frame: tuple[int, int, int, int],
    scales: Sequence[_Scale],
    goals: Sequence[str],
    letter: int,
) -> None:
    left, top, right, foot = frame
    letters = font(letter)
    up, across = scales
    units = [FIGURES[goal].unit for goal in goals]

    for value in up.ticks():
        y = foot - up.share(value) * (foot - top)
        draw.line([(left, y), (right, y)], fill=FAINT)
        words = in_words(value, units[0], _digits(up))
        draw.text((left - 0.5 * letter, y), words, fill=INK, font=letters, anchor="rm")
    for value in across.ticks():
        x = left + across.share(value) * (right - left)
        draw.line([(x, foot), (x, foot + 0.5 * letter)], fill=INK)
        words = in_words(value, units[1], _digits(across))
        draw.text((x, foot + 0.8 * letter), words, fill=INK, font=letters, anchor="ma")

    draw.rectangle([left, top, right, foot], outline=INK)
    words_up, words_across = (
        f"{FIGURES[goal].words} ({FIGURES[goal].better} is better)" for goal in goals
    )
    draw.text((left, top - 0.5 * letter), words_up, fill=INK, font=letters, anchor="ld")
    draw.text((right, foot + 2.4 * letter), words_across, fill=INK, font=letters, anchor="ra")


def _digits(scale: _Scale) -> int:
    step = scale.ticks()[1] - scale.ticks()[0] if len(scale.ticks()) > 1 else 1.0
    return max(0, -math.floor(math.log10(step) + 1e-9))


def _draw_point(
    draw: ImageDraw.ImageDraw, at: Pixel, colour: tuple[int, int, int], letter: int
) -> None:
    x, y = at
    size = letter / 3
    draw.ellipse([x - size, y - size, x + size, y + size], fill=colour, outline=PAPER)


def _name_point(
    draw: ImageDraw.ImageDraw,
    at: Pixel,
    words: str,
    colour: tuple[int, int, int],
    letter: int,
    *,
    above: bool,
    left: bool,
) -> None:
    """Write what a point is called beside it, away from the curve."""
    x = at[0] + (-0.6 if left else 0.6) * letter
    y = at[1] + (-0.4 if above else 0.4) * letter
    anchor = ("r" if left else "l") + ("d" if above else "a")
    draw.text((x, y), words, fill=colour, font=font(letter), anchor=anchor)
