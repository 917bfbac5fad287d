"""What the window draws itself, as plain pictures: its controls, and its ground with the texts."""

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.files import Picture
from seamsight.scene.lettering import font
from seamsight.viewer.live.state import HEAD_AXES, HeadAxis, LiveState
from seamsight.viewer.live.window_layout import KEYS, Box, Button, Slider, WindowLayout
from seamsight.viewer.pictures.places import SEEN
from seamsight.viewer.sheet import FAINT, INK, PAPER

Draw = ImageDraw.ImageDraw
Colour = tuple[int, int, int]

FACE: Colour = (252, 252, 250)
RULE: Colour = (202, 203, 200)
ACCENT: Colour = (28, 96, 150)
ON_ACCENT: Colour = (176, 206, 230)  # a key's letter upon it
ALERT: Colour = (176, 32, 24)
SMOOTH = 3  # times as large as shapes are drawn, to be averaged down
HELP = (
    "Arrows, Page Up, Page Down: move the head",
    "A D: turn",
    "W S: nod",
    "Z C: tilt",
    "L: lenses in or out",
    "O: colour by eye",
    "B: head room",
    "H: next head position",
    "R: reset view",
    "P: save picture",
    "drag the 3D view: orbit, wheel: zoom",
    "Q: quit",
)
_CAPS = {"next": "PgDn", "prior": "PgUp"}  # what stands on keys where that is not their name
_ARROWS = {
    "left": ((-5, 0), (4, -5), (4, 5)),
    "right": ((5, 0), (-4, -5), (-4, 5)),
    "down": ((0, 5), (-5, -4), (5, -4)),
    "up": ((0, -5), (-5, 4), (5, 4)),
}


@dataclass(frozen=True)
class Texts:
    """What the window says besides its controls."""

    title: str
    overlap: bool
    heading: str
    lines: Sequence[str]
    fresh: bool
    broken: bool
    message: str
    alert: bool
    stage_legend: Mapping[str, str]


# ---- sliders and buttons ----


def controls_picture(layout: WindowLayout, state: LiveState, buttons: Sequence[Button]) -> Picture:
    """Return sliders and buttons as they stand now, as large as their box."""
    picture = _resting_controls(layout, tuple(buttons)).copy()
    draw = ImageDraw.Draw(picture)
    area = layout.controls
    for index, axis in enumerate(HEAD_AXES):
        slider = layout.slider(index)
        value = getattr(state, axis.name)
        y = slider.track.top - area.top + slider.track.height // 2

        # Draw the bar from zero, and the knob at its end.
        zero, here = (round(slider.place_of(axis, at)) - area.left for at in (0.0, value))
        thick = max(1, slider.track.height // 14)
        draw.rectangle([min(zero, here), y - thick, max(zero, here), y + thick], fill=ACCENT)
        box = slider.knob_at(axis, value)
        knob = _knob(box.width)
        picture.paste(knob, (box.left - area.left, box.top - area.top), knob)

        # Write the value.
        words = f"{round(value, 1):+g}".replace("-", "−") if value else "0"
        words += axis.unit if axis.unit == "°" else f" {axis.unit}"
        place = (slider.value[0] - area.left, y)
        draw.text(place, words, fill=INK, font=font(layout.letter), anchor="lm")
    return np.asarray(picture)


@functools.lru_cache(maxsize=4)
def _resting_controls(layout: WindowLayout, buttons: tuple[Button, ...]) -> Image.Image:
    """Return all that does not change while a slider is dragged."""
    area = layout.controls
    boxes = layout.buttons(buttons)

    # Draw shapes large, to be averaged down.
    large = Image.new("RGB", (area.width * SMOOTH, area.height * SMOOTH), PAPER)
    shapes = ImageDraw.Draw(large)
    for index, axis in enumerate(HEAD_AXES):
        _draw_slider(shapes, area, layout.slider(index), axis)
    for button, box in zip(buttons, boxes, strict=True):
        _draw_face(shapes, area, box, ACCENT if button.on else FACE)

    # Write upon them.
    picture = large.reduce(SMOOTH)
    draw = ImageDraw.Draw(picture)
    for index, axis in enumerate(HEAD_AXES):
        _write_slider(draw, area, layout.slider(index), axis, layout.letter)
    for button, box in zip(buttons, boxes, strict=True):
        _write_button(draw, area, box, button, layout.letter)
    return picture


@functools.lru_cache(maxsize=4)
def _knob(size: int) -> Image.Image:
    large = Image.new("RGBA", (size * SMOOTH, size * SMOOTH), (*ACCENT, 0))
    edges = [0, 0, size * SMOOTH - 1, size * SMOOTH - 1]
    ImageDraw.Draw(large).ellipse(edges, fill=FACE, outline=ACCENT, width=2 * SMOOTH)
    return large.reduce(SMOOTH)


def _draw_slider(shapes: Draw, area: Box, slider: Slider, axis: HeadAxis) -> None:
    """Draw a slider's track and its keys' faces and arrows."""
    track = slider.track
    y = (track.top - area.top + track.height // 2) * SMOOTH
    thick = track.height * SMOOTH / 14
    start, end = ((x - area.left) * SMOOTH for x in (track.left, track.right))
    shapes.rounded_rectangle([start, y - thick, end, y + thick], radius=thick, fill=RULE)

    for box, key in zip((slider.less, slider.more), KEYS[axis.name], strict=True):
        _draw_face(shapes, area, box, FACE)
        if key in _ARROWS:
            x = (box.left - area.left + box.width / 2) * SMOOTH
            unit = box.height * SMOOTH / 28
            corners = [(x + right * unit, y + down * unit) for right, down in _ARROWS[key]]
            shapes.polygon(corners, fill=INK)


def _write_slider(draw: Draw, area: Box, slider: Slider, axis: HeadAxis, letter: int) -> None:
    """Write a slider's label and its keys' letters."""
    y = slider.track.top - area.top + slider.track.height / 2
    place = (slider.label[0] - area.left, y)
    draw.text(place, axis.label, fill=INK, font=font(letter), anchor="lm")
    small = font(max(8, letter - 2))
    for box, key in zip((slider.less, slider.more), KEYS[axis.name], strict=True):
        if key not in _ARROWS:
            middle = (box.left - area.left + box.width / 2, y)
            draw.text(middle, _CAPS.get(key, key.upper()), fill=INK, font=small, anchor="mm")


def _draw_face(shapes: Draw, area: Box, box: Box, fill: Colour) -> None:
    """Draw the face of a key or button."""
    left = (box.left - area.left) * SMOOTH
    top = (box.top - area.top) * SMOOTH
    edges = [left, top, left + box.width * SMOOTH - 1, top + box.height * SMOOTH - 1]
    radius = box.height * SMOOTH / 6
    shapes.rounded_rectangle(edges, radius=radius, fill=fill, outline=RULE, width=SMOOTH)


def _write_button(draw: Draw, area: Box, box: Box, button: Button, letter: int) -> None:
    """Write a button's text and its key's letter."""
    left = box.left - area.left + 0.8 * letter
    right = box.right - area.left - 0.8 * letter
    middle = box.top - area.top + box.height / 2
    text = _cut(button.text, box.width - 2.6 * letter, letter)
    text_ink, key_ink = (PAPER, ON_ACCENT) if button.on else (INK, FAINT)
    draw.text((left, middle), text, fill=text_ink, font=font(letter), anchor="lm")
    draw.text((right, middle), button.key, fill=key_ink, font=font(letter), anchor="rm")


# ---- the ground with its texts ----


def ground_picture(layout: WindowLayout, texts: Texts) -> Picture:
    """Return the whole window's ground with every text that is not a control."""
    picture = Image.new("RGB", (layout.width, layout.height), PAPER)
    draw = ImageDraw.Draw(picture)
    letter = layout.letter
    letters = font(letter)

    # Write what stands above the rig and above the eyes' pictures.
    middle = layout.stage.top / 2
    title = _cut(
        texts.title, layout.stage.width - _legend_width(texts.stage_legend, letter), letter
    )
    draw.text((letter, middle), title, fill=INK, font=letters, anchor="lm")
    _write_legend(draw, layout.stage, texts.stage_legend, letter)
    for eye, box in zip(("left eye", "right eye"), layout.eyes, strict=True):
        draw.text((box.left, box.top - middle), eye, fill=INK, font=letters, anchor="lm")
        if texts.overlap:
            _write_legend(draw, box, SEEN, letter)

    _write_numbers(draw, layout, texts)
    _write_foot(draw, layout, texts)
    return np.asarray(picture)


def _write_legend(draw: Draw, box: Box, legend: Mapping[str, Any], letter: int) -> None:
    """Write what colours mean, above a box at its right."""
    right = float(box.right)
    y = box.top - 0.95 * letter
    for name, colour in reversed(list(legend.items())):
        draw.text((right, y), name, fill=INK, font=font(letter), anchor="rm")
        right -= font(letter).getlength(name) + 0.4 * letter
        draw.rectangle([right - letter, y - letter / 2, right, y + letter / 2], fill=colour)
        right -= 2.2 * letter


def _legend_width(legend: Mapping[str, Any], letter: int) -> float:
    return sum(font(letter).getlength(name) + 2.6 * letter for name in legend)


def _write_numbers(draw: Draw, layout: WindowLayout, texts: Texts) -> None:
    area = layout.numbers
    letter = layout.letter
    heading = _cut(texts.heading, area.width, letter)
    ink = ALERT if texts.broken else FAINT
    draw.text((area.left, area.top), heading, fill=ink, font=font(letter))

    # Fit the lines into the rows that there are.
    lines = []
    for text in texts.lines:
        lines += _wrapped(text.split(), area.width, letter, " ")
    if len(lines) > layout.rows:
        lines[layout.rows - 1 :] = [f"… and {len(lines) - layout.rows + 1} more lines"]

    ink = INK if texts.fresh else FAINT
    for number, line in enumerate(lines, start=1):
        place = (area.left, area.top + number * layout.line)
        draw.text(place, _cut(line, area.width, letter), fill=ink, font=font(letter))


def _write_foot(draw: Draw, layout: WindowLayout, texts: Texts) -> None:
    """Write the message and which keys do what, below a line."""
    foot = layout.foot
    letter = layout.letter
    rule = foot.top + letter // 3
    draw.line([(foot.left, rule), (foot.right, rule)], fill=RULE)

    top = foot.top + round(0.7 * letter)
    message = _cut(texts.message, foot.width, letter)
    draw.text((letter, top), message, fill=ALERT if texts.alert else INK, font=font(letter))
    for number, line in enumerate(_wrapped(HELP, foot.width, letter, "  ·  ")[:2], start=1):
        place = (letter, top + number * layout.line)
        draw.text(place, line, fill=FAINT, font=font(letter))


def _cut(text: str, width: float, letter: int) -> str:
    """Return a text in one line, its end left out where it would be wider than so many pixels."""
    text = " ".join(text.split())
    if font(letter).getlength(text) <= width:
        return text
    while text and font(letter).getlength(f"{text}…") > width:
        text = text[:-1]
    return f"{text}…"


def _wrapped(pieces: Sequence[str], width: float, letter: int, between: str) -> list[str]:
    """Return pieces of text in lines of so many pixels, none of them broken."""
    lines: list[str] = []
    for piece in pieces:
        longer = f"{lines[-1]}{between}{piece}" if lines else piece
        if lines and font(letter).getlength(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(piece)
    return lines
