"""Slices through a map of head positions: bands of colour, contour lines, and where they are.

Above, the rig from above and from the right with the contour lines at its own scale; below, three
slices through the head position, larger.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.lettering import font
from seamsight.scene.plan import Stroke, plan_picture
from seamsight.viewer.pictures.contours import contour_lines
from seamsight.viewer.sheet import FAINT, INK, PAPER, noted, stacked
from seamsight.viewer.studies.head_map import HeadMap

BANDS = (
    (0.98, (33, 102, 172), "at least 98 %"),
    (0.95, (103, 169, 207), "95 to 98 %"),
    (0.90, (209, 229, 240), "90 to 95 %"),
    (0.80, (253, 219, 199), "80 to 90 %"),
    (0.0, (178, 58, 72), "less than 80 %"),
)
"""Least share, colour and words; from blue, good, to red, told apart in every kind of sight."""

LEVELS = {0.98: (20, 70, 140), 0.95: (50, 130, 180), 0.90: (200, 110, 40), 0.80: (160, 30, 50)}
"""Share and colour of the contour lines drawn over the rig, dark enough for its pale parts."""

FINER = 2  # pixels drawn for each one shown, each way
_CROSS = 15.0  # mm, half the cross at the head position
_HALO = (255, 255, 255)


@dataclass(frozen=True)
class _Slice:
    """A slice through the middle of a map: its axes, and what the ends of these are called."""

    title: str
    across: int
    along: int
    depth: int
    sides: tuple[str, str]
    ends: tuple[str, str]


_ABOVE = _Slice("seen from above", 0, 1, 2, ("left", "right"), ("back", "forward"))
_BEHIND = _Slice("seen from behind", 0, 2, 1, ("left", "right"), ("down", "up"))
_BESIDE = _Slice("seen from the right", 1, 2, 0, ("back", "forward"), ("down", "up"))


class _Cut:
    """The least shares of a map in the middle of its turns, cut along slices."""

    def __init__(self, found: HeadMap, seen: float) -> None:
        grid = found.grid
        self._least = found.least.reshape(grid.shape)[..., len(grid.turn) // 2]
        self.axes = (grid.right, grid.forward, grid.up)
        self.levels = sorted({*LEVELS, seen})
        self.seen = seen

    def shares(self, cut: _Slice) -> Array:
        """Return the shares of a slice, (across, along)."""
        middle = len(self.axes[cut.depth]) // 2
        return np.asarray(np.take(self._least, middle, axis=cut.depth))

    def lines(self, cut: _Slice) -> Iterator[tuple[float, Array]]:
        """Yield contour lines of a slice: a share, and across and along (n, 2), mm."""
        axes = self.axes[cut.across], self.axes[cut.along]
        for level in self.levels:
            for line in contour_lines(self.shares(cut), *axes, level):
                yield level, line


def slices(
    assembly: Assembly, found: HeadMap, caption: str, width: int, seen: float
) -> Image.Image:
    """Return slices through the middle of a map, with their scales in mm.

    Each place has the colour of the least share that an eye sees of any screen, at the turn in the
    middle of the map's turns. The contour line of the share `seen` is the thick one.
    """
    letter = max(12, width // 75)
    cut = _Cut(found, seen)
    middle = np.array(assembly.rig.pilot.eye_point) + np.array(found.grid.head.offset)
    over = [_strokes(cut, one, middle) for one in (_ABOVE, _BESIDE)]
    plan = plan_picture(assembly, width, *over)
    title = Image.new("RGB", (width, 2 * letter), PAPER)
    draw = ImageDraw.Draw(title)
    draw.text((letter, 0.5 * letter), caption, fill=INK, font=font(letter))
    return stacked([title, plan, _level_key(cut, width, letter), _enlarged(cut, width, letter)])


def _strokes(cut: _Cut, one: _Slice, middle: Array) -> list[Stroke]:
    """Return a slice's edge and contour lines about a head position (3,), and a cross at that."""

    def placed(across: Array, along: Array) -> Array:
        points = np.tile(middle, (len(across), 1))
        points[:, one.across] += across
        points[:, one.along] += along
        return points

    (left, right), (low, high) = (cut.axes[axis][[0, -1]] for axis in (one.across, one.along))
    edge = placed(np.array([left, right, right, left, left]), np.array([low, low, high, high, low]))
    strokes = [Stroke(edge, FAINT, 1.0)]
    for level, line in cut.lines(one):
        points = placed(line[:, 0], line[:, 1])
        thick = 3.0 if level == cut.seen else 1.5
        strokes.append(Stroke(points, _HALO, thick + 2))
        strokes.append(Stroke(points, LEVELS.get(level, INK), thick))
    arm = np.array([-_CROSS, _CROSS])
    none = np.zeros(2)
    return [*strokes, Stroke(placed(arm, none), INK, 1.5), Stroke(placed(none, arm), INK, 1.5)]


def _level_key(cut: _Cut, width: int, letter: int) -> Image.Image:
    """Return what the contour lines and the cross over the rig mean."""
    key = Image.new("RGB", (width, 2 * letter), PAPER)
    draw = ImageDraw.Draw(key)
    x, y = float(letter), 0.6 * letter
    for level in reversed(cut.levels):
        thick = 4 if level == cut.seen else 2
        draw.line([(x, y), (x + 2 * letter, y)], fill=LEVELS.get(level, INK), width=thick)
        x = _written(draw, f"{100 * level:g} %", x + 2.5 * letter, y, letter)
    half = letter / 2
    draw.line([(x, y), (x + letter, y)], fill=INK, width=2)
    draw.line([(x + half, y - half), (x + half, y + half)], fill=INK, width=2)
    x = _written(draw, "head position", x + 1.5 * letter, y, letter)
    draw.rectangle([x, y - half, x + 2 * letter, y + half], outline=FAINT)
    _written(draw, "mapped", x + 2.5 * letter, y, letter)
    return key


def _written(draw: ImageDraw.ImageDraw, words: str, x: float, y: float, letter: int) -> float:
    """Write words of a key, and return where the next ones may begin."""
    draw.text((x, y), words, fill=INK, font=font(letter), anchor="lm")
    return x + draw.textlength(words, font=font(letter)) + 1.5 * letter


def _enlarged(cut: _Cut, width: int, letter: int) -> Image.Image:
    """Return the three slices side by side, as large as the width allows."""
    margin = 5 * letter
    reach = [float(np.ptp(axis)) + _step(axis) for axis in cut.axes]
    shown = (_ABOVE, _BEHIND, _BESIDE)
    scale = (width - 3 * margin - letter) / sum(reach[one.across] for one in shown)

    height = round(max(reach[one.along] for one in shown) * scale) + 6 * letter
    sheet = Image.new("RGB", (width, height), PAPER)
    draw = ImageDraw.Draw(sheet)
    x = 0
    for one in shown:
        x += margin
        size = (round(reach[one.across] * scale), round(reach[one.along] * scale))
        sheet.paste(_slice_picture(cut, one, size, scale), (x, 2 * letter))
        draw.text((x, 0.6 * letter), one.title, fill=INK, font=font(letter))
        _draw_scale(draw, (x, 2 * letter), size, cut, one)
        x += size[0]
    return noted(_with_key(sheet, letter), [], letter)


def _slice_picture(cut: _Cut, one: _Slice, size: tuple[int, int], scale: float) -> Image.Image:
    """Return a slice's bands with its contour lines, the greatest along on top."""
    finer = (size[0] * FINER, size[1] * FINER)
    rows = np.ascontiguousarray(cut.shares(one).T[::-1], np.float32)
    shares = np.asarray(Image.fromarray(rows).resize(finer, Image.Resampling.BILINEAR))
    colours = np.zeros((*shares.shape, 3), np.uint8)
    for share, colour, _ in reversed(BANDS):
        colours[shares >= np.float32(share)] = colour
    picture = Image.fromarray(colours)

    draw = ImageDraw.Draw(picture)
    middle = np.array(finer) / 2
    for level, line in cut.lines(one):
        places = middle + line * [scale * FINER, -scale * FINER]
        thick = 3 if level == cut.seen else 1
        points = [tuple(place) for place in places.tolist()]
        draw.line(points, fill=INK, width=thick * FINER, joint="curve")
    return picture.reduce(FINER)


def _draw_scale(
    draw: ImageDraw.ImageDraw,
    corner: tuple[int, int],
    size: tuple[int, int],
    cut: _Cut,
    one: _Slice,
) -> None:
    """Draw the head position as a dot, and how far the slice reaches each way, mm."""
    letters = font(max(11, size[0] // 22))
    (left, top), (width, height) = corner, size
    x, y = left + width / 2, top + height / 2
    draw.line([(left, y), (left + width, y)], fill=FAINT)
    draw.line([(x, top), (x, top + height)], fill=FAINT)
    draw.ellipse([x - 4, y - 4, x + 4, y + 4], fill=INK, outline=PAPER)

    # how far it reaches, at its corners
    (low, high), (down, up) = one.sides, one.ends
    across, along = (f"{float(cut.axes[axis][-1]):g}" for axis in (one.across, one.along))
    foot = top + height + 4
    draw.text((left, foot), f"{across} mm {low}", fill=INK, font=letters)
    draw.text((left + width, foot), f"{across} mm {high}", fill=INK, font=letters, anchor="ra")
    draw.text(
        (left - 4, top), f"{along} mm\n{up}", fill=INK, font=letters, anchor="ra", align="right"
    )
    place = (left - 4, top + height)
    draw.text(place, f"{along} mm\n{down}", fill=INK, font=letters, anchor="rd", align="right")


def _with_key(sheet: Image.Image, letter: int) -> Image.Image:
    """Return a sheet with what the colours mean below it."""
    whole = Image.new("RGB", (sheet.width, sheet.height + 3 * letter), PAPER)
    whole.paste(sheet, (0, 0))
    draw = ImageDraw.Draw(whole)
    x, y = letter, sheet.height
    words = "share of the least seen screen that the worse eye sees:"
    draw.text((x, y), words, fill=INK, font=font(letter))
    x, y = 2 * letter, y + round(1.4 * letter)
    for _, colour, text in BANDS:
        draw.rectangle([x, y, x + 2 * letter, y + letter], fill=colour, outline=INK)
        x += round(2.5 * letter)
        draw.text((x, y), text, fill=INK, font=font(letter))
        x += round(draw.textlength(text, font=font(letter))) + 2 * letter
    return whole


def _step(axis: Array) -> float:
    return float(axis[1] - axis[0]) if len(axis) > 1 else 1.0
