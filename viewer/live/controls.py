"""What the window draws itself, as plain pictures: where everything stands, its texts, sliders and buttons."""

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.files import Picture
from seamsight.scene.lettering import font
from seamsight.scene.rig import Rig
from seamsight.viewer.live.preview import HEIGHT, WIDTH
from seamsight.viewer.live.state import HEAD_AXES, HeadAxis, LiveState
from seamsight.viewer.pictures.overlap import SEEN
from seamsight.viewer.sheet import FAINT, INK, PAPER

WIDE, HIGH, LETTER = (
    1360,
    850,
    14,
)  # pixels of a window in which lettering and pictures have their natural size
FACE, RULE, ACCENT, ALERT = (252, 252, 250), (202, 203, 200), (28, 96, 150), (176, 32, 24)
ABOUT = 1.06  # times as large as it is, a picture is not enlarged at all
COLUMNS = 2  # of sliders
SMOOTH = 3  # times as large as shapes are drawn, to be averaged down
SPACING = 1.45  # from line to line, in letters
HELP = (
    "Arrow keys, Page Up, Page Down: move the head",
    "A D: turn",
    "W S: nod",
    "L: lenses in or out",
    "O: who sees what",
    "H: next head",
    "R: start again",
    "P: save a picture",
    "drag the rig to look around it, wheel: nearer",
    "Q: quit",
)


class Box(NamedTuple):
    """A part of the window, pixels from its upper left corner."""

    left: int
    top: int
    width: int
    height: int

    def holds(self, x: float, y: float) -> bool:
        """Tell whether a point of the window lies in it."""
        return self.left <= x < self.left + self.width and self.top <= y < self.top + self.height

    def grown(self, by: int) -> "Box":
        """Return the box with so many pixels more at its left and its right."""
        return self._replace(left=self.left - by, width=self.width + 2 * by)


@dataclass(frozen=True)
class Button:
    """A button: what it stands for, its text, the key that does the same, and whether it is on."""

    name: str
    text: str
    key: str
    on: bool = False


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
    stage_key: Mapping[str, str]


@dataclass(frozen=True)
class Layout:
    """Where everything stands in a window of `width` x `height` pixels, with room for so many lines of numbers."""

    width: int
    height: int
    rows: int

    @property
    def letter(self) -> int:
        """Height of the lettering, pixels."""
        return max(8, round(LETTER * min(self.width / WIDE, self.height / HIGH)))

    @property
    def line(self) -> int:
        """Height of a line of text."""
        return round(SPACING * self.letter)

    @property
    def foot(self) -> Box:
        """Message and keys, along the lower edge."""
        high = 3 * self.line + self.letter
        return Box(self.letter, self.height - high, self.width - 2 * self.letter, high)

    @property
    def eyes(self) -> tuple[Box, Box]:
        """What the left and the right eye see, one above the other, each with a line of text above it."""
        label = round(1.9 * self.letter)
        room = (self.foot.top - 2 * label) / 2
        wide = max(16, int(min(self.width / 2 - 1.5 * self.letter, room * WIDTH / HEIGHT)))
        if WIDTH <= wide < ABOUT * WIDTH:
            wide = WIDTH  # pixel for pixel
        high = max(9, int(wide * HEIGHT / WIDTH))
        left = self.width - self.letter - wide
        return Box(left, label, wide, high), Box(left, 2 * label + high, wide, high)

    @property
    def stage(self) -> Box:
        """The rig in 3D."""
        top = self.eyes[0].top
        return Box(
            self.letter, top, self._column, max(16, self.controls.top - top - self.letter // 2)
        )

    @property
    def controls(self) -> Box:
        """Sliders and buttons."""
        rows = -(-len(HEAD_AXES) // COLUMNS)
        high = round((2.3 * rows + 2.6) * self.letter)
        return Box(self.letter, self.numbers.top - high - self.letter // 2, self._column, high)

    @property
    def numbers(self) -> Box:
        """The numbers that matter."""
        high = (self.rows + 1) * self.line
        return Box(self.letter, self.foot.top - high, self._column, high)

    @property
    def _column(self) -> int:
        return max(16, self.eyes[0].left - 2 * self.letter)

    def slider(self, index: int) -> "Slider":
        """Return where the parts of a slider are, by its place in HEAD_AXES."""
        u, area = self.letter, self.controls
        wide = area.width // COLUMNS
        left, top = (
            area.left + index % COLUMNS * wide,
            area.top + round(2.3 * u * (index // COLUMNS)),
        )
        high, cap = round(1.7 * u), round(2.7 * u)
        less, value = left + round(4.4 * u), left + wide - round(5.6 * u)
        more = value - cap - u // 2
        track = Box(less + cap + u, top, max(8, more - less - cap - 2 * u), high)
        return Slider(
            (left, top), Box(less, top, cap, high), track, Box(more, top, cap, high), (value, top)
        )

    def buttons(self, buttons: Sequence[Button]) -> list[Box]:
        """Return where the buttons are, side by side below the sliders; the longest gives way where room is short."""
        u, area = self.letter, self.controls
        gap = u // 2
        wide = [
            int(font(u).getlength(f"{button.text}  {button.key}") + 2 * u) for button in buttons
        ]
        longest = wide.index(max(wide))
        wide[longest] = max(
            2 * u,
            min(wide[longest], area.width - sum(wide) + wide[longest] - gap * (len(wide) - 1)),
        )
        top, high = area.top + area.height - round(2.1 * u), round(2.0 * u)
        return [
            Box(area.left + sum(wide[:n]) + gap * n, top, wide[n], high) for n in range(len(wide))
        ]


class Slider(NamedTuple):
    """Where a slider's label, its key for less, its track, its key for more, and its value are."""

    label: tuple[int, int]
    less: Box
    track: Box
    more: Box
    value: tuple[int, int]

    def value_at(self, axis: HeadAxis, x: float) -> float:
        """Return the whole number that a place along the track stands for."""
        share = min(1.0, max(0.0, (x - self.track.left) / self.track.width))
        return float(round(axis.low + share * (axis.high - axis.low)))

    def place_of(self, axis: HeadAxis, value: float) -> float:
        """Return where along the track a value is."""
        share = min(1.0, max(0.0, (value - axis.low) / (axis.high - axis.low)))
        return self.track.left + share * self.track.width


KEYS = {  # for less and for more along an axis, as the window system names them
    "x": ("left", "right"),
    "y": ("down", "up"),
    "z": ("next", "prior"),
    "turn": ("a", "d"),
    "nod": ("s", "w"),
}
_CAPS = {"next": "PgDn", "prior": "PgUp"}  # what stands on them where that is not their name
_ARROWS = {
    "left": ((-5, 0), (4, -5), (4, 5)),
    "right": ((5, 0), (-4, -5), (-4, 5)),
    "down": ((0, 5), (-5, -4), (5, -4)),
    "up": ((0, -5), (-5, 4), (5, 4)),
}


def laid_out(width: int, height: int, rig: Rig) -> Layout:
    """Return the layout of a window on a rig, with room for the lines of its screens and most of its seams."""
    screens = len(rig.screen) + sum(bank.count for bank in rig.bank)
    return Layout(width, height, min(11, max(4, 2 * screens)))


def controls_picture(layout: Layout, state: LiveState, buttons: Sequence[Button]) -> Picture:
    """Return sliders and buttons as they stand now, as large as their box."""
    sheet = _resting_controls(layout, tuple(buttons)).copy()
    draw, area = ImageDraw.Draw(sheet), layout.controls
    for index, axis in enumerate(HEAD_AXES):
        slider, value = layout.slider(index), getattr(state, axis.key)
        y, knob = (
            slider.track.top - area.top + slider.track.height // 2,
            _knob(slider.track.height * 3 // 4),
        )
        rest, here = (round(slider.place_of(axis, at)) - area.left for at in (0.0, value))
        thick = max(1, slider.track.height // 14)
        draw.rectangle([min(rest, here), y - thick, max(rest, here), y + thick], fill=ACCENT)
        sheet.paste(knob, (here - knob.width // 2, y - knob.height // 2), knob)
        words = f"{value:+.4g}".replace("-", "−") if value else "0"
        words += axis.unit if axis.unit == "°" else f" {axis.unit}"
        draw.text(
            (slider.value[0] - area.left, y), words, fill=INK, font=font(layout.letter), anchor="lm"
        )
    return np.asarray(sheet)


@functools.lru_cache(maxsize=4)
def _resting_controls(layout: Layout, buttons: tuple[Button, ...]) -> Image.Image:
    """Return all that does not change while a slider is dragged."""
    area, u = layout.controls, layout.letter
    large = Image.new("RGB", (area.width * SMOOTH, area.height * SMOOTH), PAPER)
    shapes = ImageDraw.Draw(large)
    boxes = layout.buttons(buttons)
    for index, axis in enumerate(HEAD_AXES):
        _draw_slider(shapes, area, layout.slider(index), axis)
    for button, box in zip(buttons, boxes, strict=True):
        _draw_face(shapes, area, box, ACCENT if button.on else FACE)
    sheet = large.reduce(SMOOTH)
    draw = ImageDraw.Draw(sheet)
    for index, axis in enumerate(HEAD_AXES):
        _write_slider(draw, area, layout.slider(index), axis, u)
    for button, box in zip(buttons, boxes, strict=True):
        middle = box.top - area.top + box.height / 2
        ink, dim = (PAPER, (176, 206, 230)) if button.on else (INK, FAINT)
        text = _cut(button.text, box.width - 2.6 * u, u)
        draw.text(
            (box.left - area.left + 0.8 * u, middle), text, fill=ink, font=font(u), anchor="lm"
        )
        right = box.left - area.left + box.width - 0.8 * u
        draw.text((right, middle), button.key, fill=dim, font=font(u), anchor="rm")
    return sheet


@functools.lru_cache(maxsize=4)
def _knob(size: int) -> Image.Image:
    large = Image.new("RGBA", (size * SMOOTH, size * SMOOTH), (*ACCENT, 0))
    edges = [0, 0, size * SMOOTH - 1, size * SMOOTH - 1]
    ImageDraw.Draw(large).ellipse(edges, fill=FACE, outline=ACCENT, width=2 * SMOOTH)
    return large.reduce(SMOOTH)


def sheet_picture(layout: Layout, texts: Texts) -> Picture:
    """Return the whole window's ground with every text that is not a control."""
    sheet = Image.new("RGB", (layout.width, layout.height), PAPER)
    draw, u = ImageDraw.Draw(sheet), layout.letter
    middle = layout.stage.top / 2
    key = _key_width(texts.stage_key, u)
    draw.text(
        (u, middle),
        _cut(texts.title, layout.stage.width - key, u),
        fill=INK,
        font=font(u),
        anchor="lm",
    )
    for eye, box in zip(("left eye", "right eye"), layout.eyes, strict=True):
        draw.text((box.left, box.top - middle), eye, fill=INK, font=font(u), anchor="lm")
        if texts.overlap:
            _write_key(draw, box, SEEN, u)
    _write_key(draw, layout.stage, texts.stage_key, u)
    _write_numbers(draw, layout, texts)
    foot = layout.foot
    draw.line(
        [(foot.left, foot.top + u // 3), (foot.left + foot.width, foot.top + u // 3)], fill=RULE
    )
    top = foot.top + round(0.7 * u)
    draw.text(
        (u, top),
        _cut(texts.message, foot.width, u),
        fill=ALERT if texts.alert else INK,
        font=font(u),
    )
    for number, line in enumerate(_wrapped(HELP, foot.width, u, "  ·  ")[:2], start=1):
        draw.text((u, top + number * layout.line), line, fill=FAINT, font=font(u))
    return np.asarray(sheet)


def _write_key(draw: ImageDraw.ImageDraw, box: Box, key: Mapping[str, Any], u: int) -> None:
    """Write what colours mean, above a box at its right."""
    right, y = float(box.left + box.width), box.top - 0.95 * u
    for name, colour in reversed(list(key.items())):
        draw.text((right, y), name, fill=INK, font=font(u), anchor="rm")
        right -= font(u).getlength(name) + 0.4 * u
        draw.rectangle([right - u, y - u / 2, right, y + u / 2], fill=colour)
        right -= 2.2 * u


def _key_width(key: Mapping[str, Any], u: int) -> float:
    return sum(font(u).getlength(name) + 2.6 * u for name in key)


def _write_numbers(draw: ImageDraw.ImageDraw, layout: Layout, texts: Texts) -> None:
    area, u = layout.numbers, layout.letter
    ink = ALERT if texts.broken else FAINT
    draw.text((area.left, area.top), _cut(texts.heading, area.width, u), fill=ink, font=font(u))
    lines = [line for text in texts.lines for line in _wrapped(text.split(), area.width, u, " ")]
    if len(lines) > layout.rows:
        lines[layout.rows - 1 :] = [f"… and {len(lines) - layout.rows + 1} lines more"]
    ink = INK if texts.fresh else FAINT
    for number, line in enumerate(lines, start=1):
        draw.text(
            (area.left, area.top + number * layout.line),
            _cut(line, area.width, u),
            fill=ink,
            font=font(u),
        )


def _draw_slider(shapes: ImageDraw.ImageDraw, area: Box, slider: Slider, axis: HeadAxis) -> None:
    """Draw a slider's track and its keys' faces and arrows."""
    track = slider.track
    y, thick = (track.top - area.top + track.height // 2) * SMOOTH, track.height * SMOOTH / 14
    start, end = ((x - area.left) * SMOOTH for x in (track.left, track.left + track.width))
    shapes.rounded_rectangle([start, y - thick, end, y + thick], radius=thick, fill=RULE)
    for box, key in zip((slider.less, slider.more), KEYS[axis.key], strict=True):
        _draw_face(shapes, area, box, FACE)
        if key in _ARROWS:
            x, unit = (box.left - area.left + box.width / 2) * SMOOTH, box.height * SMOOTH / 28
            shapes.polygon(
                [(x + right * unit, y + down * unit) for right, down in _ARROWS[key]], fill=INK
            )


def _write_slider(
    draw: ImageDraw.ImageDraw, area: Box, slider: Slider, axis: HeadAxis, letter: int
) -> None:
    """Write a slider's label and its keys' letters."""
    y = slider.track.top - area.top + slider.track.height / 2
    draw.text(
        (slider.label[0] - area.left, y), axis.label, fill=INK, font=font(letter), anchor="lm"
    )
    for box, key in zip((slider.less, slider.more), KEYS[axis.key], strict=True):
        if key not in _ARROWS:
            middle = (box.left - area.left + box.width / 2, y)
            draw.text(
                middle,
                _CAPS.get(key, key.upper()),
                fill=INK,
                font=font(max(8, letter - 2)),
                anchor="mm",
            )


def _draw_face(
    shapes: ImageDraw.ImageDraw, area: Box, box: Box, fill: tuple[int, int, int]
) -> None:
    """Draw the face of a key or button."""
    left, top = (box.left - area.left) * SMOOTH, (box.top - area.top) * SMOOTH
    edges = [left, top, left + box.width * SMOOTH - 1, top + box.height * SMOOTH - 1]
    shapes.rounded_rectangle(
        edges, radius=box.height * SMOOTH / 6, fill=fill, outline=RULE, width=SMOOTH
    )


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
