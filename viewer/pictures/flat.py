"""Screens drawn flat: which eyes see each place, and what hides the rest, in mm and pixels."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.lettering import font
from seamsight.scene.polygons import raster
from seamsight.viewer.numbers.areas import ImageAreas
from seamsight.viewer.numbers.quantities import hider_words
from seamsight.viewer.numbers.shares import Shares, image_shares
from seamsight.viewer.numbers.units import PERCENT, in_words
from seamsight.viewer.pictures.places import COLOURS, NEITHER, SEEN, codes_of
from seamsight.viewer.sheet import FAINT, INK, PAPER, letter_of, noted

Places = npt.NDArray[np.int64]
Texture = Callable[[Places, Places], npt.NDArray[np.bool_]]

_DARK = (58, 60, 66)
_LIGHT = (176, 178, 184)
_TEXTURES: dict[str, Texture] = {
    "neither: bezel": lambda row, column: (row + column) % 8 < 3,
    "neither: bracket or frame": lambda row, column: (row // 5 + column // 5) % 2 == 0,
    "neither: glare shield or hood": lambda row, column: row % 8 < 3,
    "neither: another part": lambda row, column: (row % 8 < 2) & (column % 8 < 2),
    "neither: past its lens's edge": lambda row, column: np.zeros_like(row, bool),
}
_GROUPS = {"bezel": 0, "bracket": 1, "frame": 1, "lens frame": 1, "hood": 2, "lens": 4}
_OTHER = 3
_IN_ROW = 4  # meanings beside each other in the legend
_MAPS_IN_ROW = 3
_STEPS = [digit * 10**power for power in range(5) for digit in (1, 2, 5)]  # mm, pixels
_MOST_HIDERS = 4  # parts named below each map


class _Scale(NamedTuple):
    """A scale along one side of a map: how long that is, in which unit."""

    length: float
    pixels: int
    unit: str


def flat_maps(assembly: Assembly, areas: dict[str, ImageAreas], width: int) -> Image.Image:
    """Return maps of all screens, three in a row, with the legend below; `width` in pixels."""
    letter = letter_of(width)
    count = max(1, min(_MAPS_IN_ROW, len(areas)))
    panels = [_panel(assembly, of_image, width // count, letter) for of_image in areas.values()]
    rows = [panels[first : first + count] for first in range(0, len(panels), count)]
    heights = [max(panel.height for panel in row) for row in rows]

    whole = Image.new("RGB", (width, sum(heights)), PAPER)
    for number, row in enumerate(rows):
        for column, panel in enumerate(row):
            whole.paste(panel, (column * (width // count), sum(heights[:number])))
    return _with_legend(whole)


def _panel(assembly: Assembly, areas: ImageAreas, width: int, letter: int) -> Image.Image:
    """Return one screen's map with its name above, scales around it, and shares below."""
    screen = areas.screen
    left = 4 * letter
    top = round(3.8 * letter)
    bottom = round(2.4 * letter)
    across = width - 2 * left
    up = max(1, round(across * screen.size[1] / screen.size[0]))
    high = min(up, across)  # a screen on end is not drawn larger than others
    across = round(across * high / up)
    sheet = Image.new("RGB", (width, high + top + bottom), PAPER)
    sheet.paste(Image.fromarray(_map(assembly, areas, across, high)), (left, top))

    # write its name, and scales: mm at the left and below, pixels at the right and above
    draw = ImageDraw.Draw(sheet)
    title = f"{screen.name}, drawn flat"
    draw.text((left, 0.3 * letter), title, fill=INK, font=font(letter))
    (mm_across, mm_up), (px_across, px_up) = screen.size, screen.display.pixels
    foot = top + high
    end = left + across
    for scale, start, way in (
        (_Scale(mm_across, across, "mm"), (left, foot), (0, 1)),
        (_Scale(mm_up, high, "mm"), (left - 1, top), (-1, 0)),
        (_Scale(px_across, across, "px"), (left, top - 1), (0, -1)),
        (_Scale(px_up, high, "px"), (end, top), (1, 0)),
    ):
        _draw_scale(draw, scale, start, way, letter)
    return noted(sheet, _words(screen.name, image_shares(assembly, areas)), letter)


def _map(assembly: Assembly, areas: ImageAreas, columns: int, rows: int) -> Picture:
    """Return a screen's map (rows, columns, 3), top row first."""
    screen = areas.screen
    codes = codes_of(screen, areas.left.seen, areas.right.seen, columns, rows)
    neither = codes == NEITHER

    # what hides a place from both eyes may be two parts; the left eye's is drawn over the right's
    groups = np.full(codes.shape, _OTHER)
    half = np.array(screen.size) / 2
    for eye in (areas.right, areas.left):
        for part, region in eye.hidden.items():
            hit = neither & raster(region, -half, half, columns, rows)
            groups[hit] = _GROUPS.get(assembly.parts[part].role, _OTHER)
    picture = np.where(neither[:, :, None], _textured(groups), COLOURS[codes])
    return np.asarray(picture[::-1], np.uint8)


def _textured(groups: Places) -> Picture:
    rows, columns = (np.asarray(index, np.int64) for index in np.indices(groups.shape))
    picture = np.empty((*groups.shape, 3), np.uint8)
    picture[:] = _DARK
    for number, texture in enumerate(_TEXTURES.values()):
        picture[(groups == number) & texture(rows, columns)] = _LIGHT
    return picture


def _draw_scale(
    draw: ImageDraw.ImageDraw,
    scale: _Scale,
    start: tuple[int, int],
    way: tuple[int, int],
    letter: int,
) -> None:
    """Draw ticks with figures from a map's corner on along a side; they point out of the map.

    `start` is the first pixel outside the map, `way` points away from it.
    """
    out = np.array(way)
    along = np.abs(out[::-1])
    least = 5 * letter * scale.length / scale.pixels
    step = next((step for step in _STEPS if step >= least), _STEPS[-1])
    anchor = {(0, 1): "ma", (0, -1): "md", (1, 0): "lm", (-1, 0): "rm"}[way]
    for value in range(0, int(scale.length) + 1, step):
        place = np.array(start) + along * value * scale.pixels / scale.length
        draw.line([*place, *(place + 0.4 * letter * out)], fill=FAINT)
        text = f"{value} {scale.unit}" if value == 0 else f"{value}"
        draw.text(tuple(place + 0.6 * letter * out), text, INK, font(letter), anchor)


def _words(screen: str, shares: Shares) -> list[str]:
    """Return how much who sees of a screen, and what hides how much."""
    whose = {
        "both eyes": shares.both,
        "left eye only": shares.left - shares.both,
        "right eye only": shares.right - shares.both,
        "neither": 1 - shares.either,
    }
    lines = [", ".join(f"{eye} {_percent(share)}" for eye, share in whose.items())]
    hidden = list(shares.hidden_by.items())[:_MOST_HIDERS]
    if hidden:
        parts = ", ".join(
            f"{hider_words(screen, part)} {_percent(share)}" for part, share in hidden
        )
        lines.append(f"hidden by (mean of both eyes): {parts}")
    return lines


def _percent(share: float) -> str:
    return in_words(100 * max(0.0, share), PERCENT)


def _with_legend(sheet: Image.Image) -> Image.Image:
    """Return a sheet with the meaning of its colours and textures below."""
    # paint a sample of each
    letter = letter_of(sheet.width)
    size = (letter, 2 * letter)
    samples = [np.full((*size, 3), colour, np.uint8) for colour in SEEN.values()]
    samples += [_textured(np.full(size, number)) for number in range(len(_TEXTURES))]
    names = [*SEEN, *_TEXTURES]

    # put them in rows, each with its meaning
    rows = -(-len(names) // _IN_ROW)
    whole = Image.new("RGB", (sheet.width, sheet.height + round((1.7 * rows + 1) * letter)), PAPER)
    whole.paste(sheet, (0, 0))
    draw = ImageDraw.Draw(whole)
    letters = font(letter)
    for number, (name, sample) in enumerate(zip(names, samples, strict=True)):
        row, column = divmod(number, _IN_ROW)
        x = letter + column * (sheet.width - 2 * letter) // _IN_ROW
        y = sheet.height + round((0.4 + 1.7 * row) * letter)
        whole.paste(Image.fromarray(sample), (x, y))
        draw.rectangle([x, y, x + 2 * letter, y + letter], outline=INK)
        draw.text((x + 2.5 * letter, y + letter / 2), name, fill=INK, font=letters, anchor="lm")
    return whole
