"""Where everything is in the window, and which keys move the head which way."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from seamsight.scene.lettering import font
from seamsight.scene.rig import Rig
from seamsight.viewer.live.preview import HEIGHT, WIDTH
from seamsight.viewer.live.state import HEAD_AXES, HeadAxis

# pixels of a window in which pictures have their natural size, and its lettering
NATURAL_WIDTH, NATURAL_HEIGHT = 1360, 850
NATURAL_LETTER = 14
ABOUT = 1.06  # times as large as it is, a picture is not enlarged at all
COLUMNS = 2  # of sliders
# letters of width that sliders and a row of all buttons need
CONTROLS_WIDTH, BUTTONS_WIDTH = 45, 55
SHRINKING = 0.6  # power of a small window's share with which its lettering shrinks
SPACING = 1.45  # from line to line, in letters
KEYS = {  # for less and for more along an axis, as the window system names them
    "x": ("left", "right"),
    "y": ("down", "up"),
    "z": ("next", "prior"),
    "turn": ("a", "d"),
    "nod": ("s", "w"),
    "tilt": ("z", "c"),
}


class Box(NamedTuple):
    """A part of the window, pixels from its upper left corner."""

    left: int
    top: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """The first column beyond it."""
        return self.left + self.width

    @property
    def bottom(self) -> int:
        """The first row below it."""
        return self.top + self.height

    def holds(self, x: float, y: float) -> bool:
        """Return whether a point of the window is in it."""
        return self.left <= x < self.right and self.top <= y < self.bottom

    def grown(self, by: int) -> "Box":
        """Return the box with so many pixels more at its left and its right."""
        return self._replace(left=self.left - by, width=self.width + 2 * by)


@dataclass(frozen=True)
class Button:
    """A button: its name, its text, the key that does the same, and whether it is on."""

    name: str
    text: str
    key: str
    on: bool = False


class Slider(NamedTuple):
    """Where a slider's label, its key for less, its track, its key for more, and its value are."""

    label: tuple[int, int]
    less: Box
    track: Box
    more: Box
    value: tuple[int, int]

    def value_at(self, axis: HeadAxis, x: float) -> float:
        """Return the whole number at a place along the track."""
        share = min(1.0, max(0.0, (x - self.track.left) / self.track.width))
        return float(round(axis.low + share * (axis.high - axis.low)))

    def place_of(self, axis: HeadAxis, value: float) -> float:
        """Return where along the track a value is; beyond its ends, at the end."""
        share = min(1.0, max(0.0, (value - axis.low) / (axis.high - axis.low)))
        return self.track.left + share * self.track.width

    def knob_at(self, axis: HeadAxis, value: float) -> Box:
        """Return where the knob is, a square about the place of a value."""
        size = self.track.height * 3 // 4
        top = self.track.top + self.track.height // 2 - size // 2
        return Box(round(self.place_of(axis, value)) - size // 2, top, size, size)


@dataclass(frozen=True)
class WindowLayout:
    """Where everything is in a window of some pixels, with room for so many lines of numbers.

    Sizes are in letters, so that everything grows with the lettering.
    """

    width: int
    height: int
    rows: int

    @property
    def letter(self) -> int:
        """Height of the lettering, pixels."""
        share = min(self.width / NATURAL_WIDTH, self.height / NATURAL_HEIGHT)
        return max(8, round(NATURAL_LETTER * (share**SHRINKING if share < 1 else share)))

    @property
    def line(self) -> int:
        """Height of a line of text."""
        return round(SPACING * self.letter)

    @property
    def foot(self) -> Box:
        """Message and keys, along the lower edge."""
        height = 3 * self.line + self.letter
        return Box(self.letter, self.height - height, self.width - 2 * self.letter, height)

    @property
    def eyes(self) -> tuple[Box, Box]:
        """What the left and the right eye see, one above the other, each below a line of text."""
        label = round(1.9 * self.letter)

        # Fill the room, or leave the pictures pixel for pixel where that is nearly as large.
        room = (self.foot.top - 2 * label) / 2
        beside_controls = max(0.45 * self.width, self.width - CONTROLS_WIDTH * self.letter)
        most = min(self.width / 2 - 1.5 * self.letter, beside_controls)
        width = max(16, int(min(most, room * WIDTH / HEIGHT)))
        if WIDTH <= width < ABOUT * WIDTH:
            width = WIDTH
        height = max(9, int(width * HEIGHT / WIDTH))

        left = self.width - self.letter - width
        return Box(left, label, width, height), Box(left, 2 * label + height, width, height)

    @property
    def stage(self) -> Box:
        """The rig in 3D."""
        top = self.eyes[0].top
        height = max(16, self.controls.top - top - self.letter // 2)
        return Box(self.letter, top, self._column, height)

    @property
    def controls(self) -> Box:
        """Sliders and buttons."""
        rows = -(-len(HEAD_AXES) // COLUMNS)
        height = round((2.3 * rows + 2.6 + 2.4 * (self._button_rows - 1)) * self.letter)
        top = self.numbers.top - height - self.letter // 2
        return Box(self.letter, top, self._column, height)

    @property
    def numbers(self) -> Box:
        """The numbers."""
        height = (self.rows + 1) * self.line
        return Box(self.letter, self.foot.top - height, self._column, height)

    @property
    def _column(self) -> int:
        return max(16, self.eyes[0].left - 2 * self.letter)

    @property
    def _button_rows(self) -> int:
        return 1 if self._column >= BUTTONS_WIDTH * self.letter else 2

    @property
    def knob_room(self) -> int:
        """Width beside a slider's track, for half a knob."""
        return round(0.7 * self.letter)

    def slider(self, index: int) -> Slider:
        """Return where the parts of a slider are, by its place in HEAD_AXES."""
        letter = self.letter
        area = self.controls
        width = area.width // COLUMNS
        left = area.left + index % COLUMNS * width
        top = area.top + round(2.3 * letter * (index // COLUMNS))
        height = round(1.7 * letter)
        key = round(2.5 * letter)

        # The track takes what label, keys and value leave.
        less = left + round(4.9 * letter)
        value = left + width - round(5.5 * letter)
        more = value - key - letter // 3
        gap = self.knob_room
        track = Box(less + key + gap, top, max(8, more - less - key - 2 * gap), height)
        return Slider(
            label=(left, top),
            less=Box(less, top, key, height),
            track=track,
            more=Box(more, top, key, height),
            value=(value, top),
        )

    def buttons(self, buttons: Sequence[Button]) -> list[Box]:
        """Return where the buttons are, below the sliders: side by side, or in two rows."""
        rows = self._button_rows
        in_row = -(-len(buttons) // rows)
        boxes = []
        for row in range(-(-len(buttons) // in_row)):
            top = self.controls.bottom - round((2.1 + 2.4 * (rows - 1 - row)) * self.letter)
            boxes += self._button_row(buttons[row * in_row : (row + 1) * in_row], top)
        return boxes

    def _button_row(self, buttons: Sequence[Button], top: int) -> list[Box]:
        letter = self.letter
        area = self.controls
        gap = letter // 2

        # The longest gives way where room is short.
        texts = [f"{button.text}  {button.key}" for button in buttons]
        widths = [int(font(letter).getlength(text) + 2 * letter) for text in texts]
        longest = widths.index(max(widths))
        free = area.width - sum(widths) - gap * (len(widths) - 1)
        widths[longest] = max(2 * letter, widths[longest] + min(0, free))

        height = round(2.0 * letter)
        lefts = [area.left + sum(widths[:n]) + gap * n for n in range(len(widths))]
        return [Box(left, top, width, height) for left, width in zip(lefts, widths, strict=True)]


def laid_out(width: int, height: int, rig: Rig) -> WindowLayout:
    """Return the layout of a window on a rig, with room for its screens' and most seams' lines."""
    screens = len(rig.screen) + sum(bank.count for bank in rig.bank)
    return WindowLayout(width, height, min(11, max(4, 2 * screens)))
