"""How a comparison looks: pictures with what differs marked, and a table, on paper or as HTML."""

import html
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFilter

from seamsight.scene.lettering import font
from seamsight.viewer.casting.view import View, picture_of
from seamsight.viewer.sheet import FAINT, INK, PAPER, letter_of, stacked, with_scale

MOST_BELOW = 3  # single pictures one below the other; more are put in pairs
LEAST_ROWS = 12  # below which a table is not parted into columns of rows

Mask = npt.NDArray[np.bool_]

_MARK = (255, 70, 160)
_HATCH = 12  # pixels from one line to the next
_HATCH_WEIGHT = 0.55  # how much of a line is the mark's colour
_WORD_COLOURS = {
    "better": (0, 110, 74),
    "worse": (176, 48, 0),
    "other": INK,
    "same": FAINT,
    "": INK,
}


@dataclass(frozen=True, eq=False)
class Panel:
    """One picture of a sheet: what is seen, its caption, and which places (h, w) are marked."""

    view: View
    caption: str
    mask: Mask | None = None


@dataclass(frozen=True)
class Cell:
    """A text of a table, and the verdict that it is coloured by; see `Row`."""

    text: str
    verdict: str = ""


@dataclass(frozen=True)
class Table:
    """Numbers side by side as texts: headings of the columns, rows of cells, sentences below."""

    headings: list[str]
    rows: list[list[Cell]]
    notes: list[str]


def comparison_sheet(
    panels: Sequence[Panel], looks: int, key: str, table: Table | None = None
) -> Image.Image:
    """Return pictures with the meaning of their marks below, and below that a table.

    Parameters
    ----------
    panels : sequence of Panel
        All pictures of the first thing compared, then those of the next, all of one size.
    looks : int
        How many there are of each thing.
    key : str
        What the marks mean.
    table : Table, optional
    """
    letter = max(13, letter_of(panels[0].view.projection.width))
    sheets = [_panel_picture(panel) for panel in panels]

    # Give each thing a row of its own, or half a row where one picture of many is all there is
    across = looks if len(sheets) <= MOST_BELOW or looks > 1 else 2
    rows = [_beside(sheets[start : start + across]) for start in range(0, len(sheets), across)]
    pictures = _with_key(stacked(rows), key, letter)
    if table is None:
        return pictures
    return stacked([pictures, _table_picture(table, pictures.width, letter)])


def html_table(table: Table) -> str:
    """Return a table as HTML, its notes below."""
    heads = "".join(f"<th>{heading}</th>" for heading in table.headings)
    lines = [f"<tr>{''.join(map(_html_cell, row))}</tr>" for row in table.rows]
    return f"<table><tr>{heads}</tr>{''.join(lines)}</table><p>{' '.join(table.notes)}</p>"


def marked_picture(picture: Image.Image, mask: Mask) -> Image.Image:
    """Return a picture with the places of a mask (h, w) outlined, and thinly hatched."""
    pixels = np.array(picture)

    # Hatch the places
    rows, columns = np.indices(mask.shape)
    hatch = mask & ((rows + columns) % _HATCH == 0)
    hatched = _HATCH_WEIGHT * np.array(_MARK) + (1 - _HATCH_WEIGHT) * pixels[hatch]
    pixels[hatch] = hatched.astype(np.uint8)

    # Draw a line around them
    grown = Image.fromarray(mask.astype(np.uint8) * 255).filter(ImageFilter.MaxFilter(5))
    pixels[(np.asarray(grown) > 0) & ~mask] = _MARK
    return Image.fromarray(pixels)


def _panel_picture(panel: Panel) -> Image.Image:
    picture = Image.fromarray(picture_of(panel.view))
    if panel.mask is not None:
        picture = marked_picture(picture, panel.mask)
    return with_scale(picture, panel.view.projection, panel.caption)


def _beside(sheets: Sequence[Image.Image]) -> Image.Image:
    """Return pictures one beside the other, their feet on one line."""
    width = sum(sheet.width for sheet in sheets)
    height = max(sheet.height for sheet in sheets)
    whole = Image.new("RGB", (width, height), PAPER)
    x = 0
    for sheet in sheets:
        whole.paste(sheet, (x, height - sheet.height))
        x += sheet.width
    return whole


def _with_key(sheet: Image.Image, meaning: str, letter: int) -> Image.Image:
    """Return a sheet with the meaning of its marks below."""
    # Mark a small grey field
    mask = np.zeros((2 * letter, 4 * letter), bool)
    mask[4:-4, 4:-4] = True
    sample = marked_picture(Image.new("RGB", mask.shape[::-1], (150, 150, 150)), mask)

    # Put it below the sheet, with words
    whole = Image.new("RGB", (sheet.width, sheet.height + 3 * letter), PAPER)
    whole.paste(sheet, (0, 0))
    whole.paste(sample, (letter, sheet.height + letter // 2))
    place = (6 * letter, sheet.height + 1.5 * letter)
    words = f"outlined and hatched: {meaning}"
    ImageDraw.Draw(whole).text(place, words, fill=INK, font=font(letter), anchor="lm")
    return whole


def _table_picture(table: Table, width: int, letter: int) -> Image.Image:
    """Return a table as a picture, in as many columns of rows as fit a width."""
    letters = font(letter)
    line = round(1.6 * letter)
    heading = [Cell(text) for text in table.headings]

    # Find where each column starts, and how many blocks of rows fit beside each other
    columns = zip(heading, *table.rows, strict=True)
    widest = [max(letters.getlength(cell.text) for cell in column) for column in columns]
    starts = letter + np.cumsum([0.0, *(one + 2 * letter for one in widest)])
    blocks = max(1, min(int(width / starts[-1]), -(-len(table.rows) // LEAST_ROWS)))
    high = -(-len(table.rows) // blocks)

    # Write the blocks, each below the headings, and the notes below all
    size = (max(width, round(starts[-1] * blocks)), line * (high + len(table.notes) + 2))
    picture = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(picture)
    for block in range(blocks):
        rows = [heading, *table.rows[block * high : (block + 1) * high]]
        _write_rows(draw, rows, starts + starts[-1] * block, letter)
    for number, text in enumerate(table.notes, start=high + 2):
        draw.text((letter, line * number), text, fill=INK, font=letters, anchor="lm")
    return picture


def _write_rows(
    draw: ImageDraw.ImageDraw,
    rows: Sequence[Sequence[Cell]],
    starts: npt.NDArray[np.float64],
    letter: int,
) -> None:
    """Write rows one below the other; the columns' places end with that of the next block."""
    letters = font(letter)
    line = round(1.6 * letter)
    for number, row in enumerate(rows):
        y = line * number
        if number and row[0].text:  # a new place begins
            draw.line([(starts[0], y), (starts[-1] - letter, y)], fill=FAINT)
        for x, cell in zip(starts, row, strict=False):
            colour = _WORD_COLOURS[cell.verdict]
            draw.text((x, y + line / 2), cell.text, fill=colour, font=letters, anchor="lm")


def _html_cell(cell: Cell) -> str:
    colour = _WORD_COLOURS[cell.verdict]
    # plain text keeps the page's own colour, light or dark
    style = f' style="color: rgb{colour}"' if colour not in (INK, FAINT) else ""
    return f"<td{style}>{html.escape(cell.text)}</td>"
