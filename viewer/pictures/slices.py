"""Three slices through a map of head positions: what both eyes see, in bands of colour."""

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.frames import Array
from seamsight.scene.lettering import font
from seamsight.viewer.sheet import FAINT, INK, PAPER, noted
from seamsight.viewer.studies.head_map import HeadMap

BANDS = (
    (0.98, (33, 102, 172), "at least 98 %"),
    (0.95, (103, 169, 207), "95 to 98 %"),
    (0.90, (209, 229, 240), "90 to 95 %"),
    (0.80, (253, 219, 199), "80 to 90 %"),
    (0.0, (178, 58, 72), "less than 80 %"),
)
"""Least share, colour and words; from blue, good, to red, told apart in every kind of sight."""

_SLICES = (
    ("seen from above", 0, 1, 2, ("left", "right"), ("back", "forward")),
    ("seen from behind", 0, 2, 1, ("left", "right"), ("down", "up")),
    ("seen from the right", 1, 2, 0, ("back", "forward"), ("down", "up")),
)


def slices(found: HeadMap, caption: str, width: int) -> Image.Image:
    """Return three slices through the middle of a map, side by side, with their scales in mm.

    Each place has the colour of the least share that an eye sees of any screen, at the turn in the
    middle of the map's turns.
    """
    grid = found.grid
    least = found.least.reshape(grid.shape)[..., len(grid.turn) // 2]
    axes = (grid.right, grid.forward, grid.up)
    letter = max(12, width // 75)
    margin = 5 * letter
    reach = [float(np.ptp(axis)) + _step(axis) for axis in axes]
    scale = (width - 3 * margin - letter) / sum(reach[across] for _, across, *_ in _SLICES)

    height = round(max(reach[along] for _, _, along, *_ in _SLICES) * scale) + 8 * letter
    sheet = Image.new("RGB", (width, height), PAPER)
    draw = ImageDraw.Draw(sheet)
    draw.text((letter, 0.5 * letter), caption, fill=INK, font=font(letter))
    x = 0
    for title, across, along, depth, sides, ends in _SLICES:
        x += margin
        middle = np.take(least, len(axes[depth]) // 2, axis=depth)
        size = (round(reach[across] * scale), round(reach[along] * scale))
        sheet.paste(_coloured(middle, size), (x, 4 * letter))
        draw.text((x, 2.6 * letter), title, fill=INK, font=font(letter))
        _draw_scale(draw, (x, 4 * letter), size, (axes[across], axes[along]), (sides, ends))
        x += size[0]
    return noted(_with_key(sheet, letter), [], letter)


def _coloured(least: Array, size: tuple[int, int]) -> Image.Image:
    """Return a slice (across, along) as a picture, the greatest along on top."""
    colours = np.zeros((*least.shape, 3), np.uint8)
    for share, colour, _ in reversed(BANDS):
        colours[least >= share] = colour
    rows = np.ascontiguousarray(colours.transpose(1, 0, 2)[::-1])
    return Image.fromarray(rows).resize(size, Image.Resampling.NEAREST)


def _draw_scale(
    draw: ImageDraw.ImageDraw,
    corner: tuple[int, int],
    size: tuple[int, int],
    axes: tuple[Array, Array],
    words: tuple[tuple[str, str], tuple[str, str]],
) -> None:
    """Draw the head position as a dot, and how far the slice reaches each way, mm."""
    letters = font(max(11, size[0] // 22))
    (left, top), (width, height) = corner, size
    x, y = left + width / 2, top + height / 2
    draw.line([(left, y), (left + width, y)], fill=FAINT)
    draw.line([(x, top), (x, top + height)], fill=FAINT)
    draw.ellipse([x - 4, y - 4, x + 4, y + 4], fill=INK, outline=PAPER)

    # how far it reaches, at its corners
    (low, high), (down, up) = words
    across, along = (f"{float(axis[-1]):g}" for axis in axes)
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
