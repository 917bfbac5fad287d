"""Several rigs, heads or lens choices held against the first: pictures at one scale, and numbers side by side."""

import base64
import html
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFilter

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError
from seamsight.scene.lettering import font
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import View
from seamsight.viewer.colour import srgb
from seamsight.viewer.eye import EYE_WORDS, Eyes
from seamsight.viewer.numbers.changes import ALL, Row, side_by_side, value_words
from seamsight.viewer.numbers.measures import Numbers, measure
from seamsight.viewer.numbers.quantities import MAIN, WEIGHTY
from seamsight.viewer.pictures.framing import framed_on_all, framed_on_screens
from seamsight.viewer.sheet import FAINT, INK, PAPER, letter_of, png, stacked, with_scale

MOST_ITEMS = 12
MOST_ROWS = 48  # of the table on a sheet; what is over is counted, not shown
MOST_BELOW = 3  # single pictures one below the other; more stand in pairs
LEAST_ROWS = 12  # below which a table is not parted into columns of rows
AGAINST = "Better, worse, same: against A. Numbers without such a word have no better, or nothing to be held to."

_MARK = (255, 70, 160)
_HATCH, _HATCH_WEIGHT = (
    12,
    0.55,
)  # pixels from one line to the next; how much of a line is the mark's colour
_SHADE_APART = 24  # of 255: what one part must differ by in a picture to be seen as another
_WORD_COLOURS = {
    "better": (0, 110, 74),
    "worse": (176, 48, 0),
    "other": INK,
    "same": FAINT,
    "": INK,
}

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Seen:
    """One of the things compared: a rig in its place, from a head.

    Attributes
    ----------
    caption : str
        What tells it from the others, as "Harbour floatplane · tall pilot · lenses left out".
    assembly : Assembly
    eyes : Eyes
    """

    caption: str
    assembly: Assembly
    eyes: Eyes


@dataclass(frozen=True, eq=False)
class Comparison:
    """Things seen at one scale, held against the first of them; shows itself in a notebook.

    Attributes
    ----------
    items : tuple of Seen
    looks : tuple of str
        Whose views: "left", "right" or "mid".
    views : tuple of tuple of View
        For each item its view for each look, all with one projection.
    numbers : tuple of Numbers
    rows : list of Row
        The numbers side by side.
    """

    items: tuple[Seen, ...]
    looks: tuple[str, ...]
    views: tuple[tuple[View, ...], ...]
    numbers: tuple[Numbers, ...]
    rows: list[Row]

    def _repr_png_(self) -> bytes:
        return png(comparison_sheet(self), {})

    def _repr_html_(self) -> str:
        pictures = base64.b64encode(png(_pictures(self), {})).decode()
        return f'<img src="data:image/png;base64,{pictures}" style="max-width: 100%">{_html_table(self)}'


def compare(
    items: Sequence[Seen], looks: Sequence[str], width: int, height: int, samples: int = 2
) -> Comparison:
    """Return things compared: drawn so that the screens of all of them fit one frame, and measured.

    Parameters
    ----------
    items : sequence of Seen
        Two to twelve.
    looks : sequence of str
        Whose views to draw: "left", "right", "mid".
    width, height, samples : int
        Of each picture, pixels; rays along each side of a pixel.

    Raises
    ------
    ChoiceError
        When there are too few or too many things.
    PoseError
        When an eye is inside a part.
    """
    if not 2 <= len(items) <= MOST_ITEMS:
        msg = f"two to {MOST_ITEMS} things can be compared (got {len(items)})"
        raise ChoiceError(msg)
    shown = framed_on_all(
        [framed_on_screens(item.assembly, item.eyes, width, height, samples) for item in items]
    )
    views = tuple(
        tuple(see(item.assembly, item.eyes.point(look), shown) for look in looks) for item in items
    )
    numbers = tuple(measure(item.assembly, item.eyes) for item in items)
    rows = side_by_side([one.as_json() for one in numbers])
    return Comparison(tuple(items), tuple(looks), views, numbers, rows)


def item_letter(number: int) -> str:
    """Return what an item is called for short: "A" for the first."""
    return chr(ord("A") + number)


def changed(first: View, other: View) -> tuple[Mask, str]:
    """Return where another thing is seen in one view than in the first (h, w), and what "another" means there.

    Things are told apart by their parts' names; only if these are the same everywhere by colours, as when two rigs
    differ in nothing but what their screens show.
    """
    mask = _named_ids(first, other) != _named_ids(other, first)
    if mask.any():
        return mask, "another part"
    shades = [srgb(view.light).astype(np.int16) for view in (first, other)]
    return np.abs(shades[0] - shades[1]).max(axis=2) > _SHADE_APART, "another colour"


def comparison_sheet(comparison: Comparison) -> Image.Image:
    """Return the pictures, with what changed against the first marked, and below them the numbers side by side."""
    pictures = _pictures(comparison)
    return stacked([pictures, _table_picture(comparison, pictures.width)])


def rows_to_show(rows: Sequence[Row], most: int = MOST_ROWS) -> tuple[list[Row], str]:
    """Return the rows worth a place in a table, and a sentence on those left out.

    Those that differ and the main ones; of what not all items have the main ones alone.
    """
    partial = [
        row for row in rows if None in row.values and row.quantity not in MAIN and row.where != ALL
    ]
    worth = [
        row
        for row in rows
        if (row.differs and None not in row.values) or row.quantity in MAIN or row.where == ALL
    ]
    chosen = set(map(id, sorted(worth, key=_weight)[:most]))
    shown = [row for row in worth if id(row) in chosen]
    counts = {
        "that differ": len(worth) - len(shown),
        "of what not all have": len(partial),
        "that are the same in all": len(rows) - len(worth) - len(partial),
    }
    words = [f"{count} {what}" for what, count in counts.items() if count > 0]
    return shown, f"Rows left out: {', '.join(words)}." if words else ""


def _weight(row: Row) -> tuple[bool, bool, int]:
    place = WEIGHTY.index(row.quantity) if row.quantity in WEIGHTY else len(WEIGHTY)
    return row.where != ALL, None in row.values, place


def cell_words(row: Row, index: int) -> tuple[str, str]:
    """Return a value of a row as text, and its verdict as a word where it has one worth a word."""
    verdict = row.verdicts[index]
    return value_words(row, index), verdict if verdict in ("better", "worse", "same") else ""


def _named_ids(view: View, other: View) -> npt.NDArray[np.int64]:
    """Return for each pixel (h, w) a number for the name of what it shows, the same in both views."""
    names = sorted({part.name for one in (view, other) for part in one.assembly.parts})
    known = {name: number for number, name in enumerate(names)}
    of_part = np.array(
        [known[part.name] for part in view.assembly.parts] + [-1]
    )  # the last: nothing there
    return np.asarray(of_part[np.where(view.parts < 0, len(of_part) - 1, view.parts)], np.int64)


def _pictures(comparison: Comparison) -> Image.Image:
    """Return all pictures with their key: a row for each item where two eyes are drawn, else a row or half a row."""
    sheets, meanings = [], set()
    for number, (item, views) in enumerate(zip(comparison.items, comparison.views, strict=True)):
        for look, view, first in zip(comparison.looks, views, comparison.views[0], strict=True):
            picture = Image.fromarray(srgb(view.light))
            caption = f"{item_letter(number)} · {item.caption} · {EYE_WORDS[look]}"
            if number:
                mask, meaning = changed(first, view)
                picture = marked_picture(picture, mask)
                caption += f" · {meaning} than in A in {share_words(mask)} of the picture"
                meanings.add(meaning)
            sheets.append(with_scale(picture, view.projection, caption))
    across = len(comparison.looks) if len(sheets) <= MOST_BELOW or len(comparison.looks) > 1 else 2
    rows = [beside(sheets[start : start + across]) for start in range(0, len(sheets), across)]
    return with_key(
        stacked(rows),
        f"{' or '.join(sorted(meanings))} is seen there than in A",
        _letter(comparison),
    )


def _letter(comparison: Comparison) -> int:
    """Return the height of the lettering below the pictures."""
    return max(13, letter_of(comparison.views[0][0].projection.width))


def share_words(mask: Mask) -> str:
    """Return how much of a picture a mask covers, as text."""
    share = 100 * float(mask.mean())
    return f"{share:.1f} %" if share >= 0.05 or share == 0 else "less than 0.1 %"


def beside(sheets: Sequence[Image.Image]) -> Image.Image:
    """Return pictures one beside the other, their feet on one line."""
    whole = Image.new(
        "RGB", (sum(sheet.width for sheet in sheets), max(sheet.height for sheet in sheets)), PAPER
    )
    x = 0
    for sheet in sheets:
        whole.paste(sheet, (x, whole.height - sheet.height))
        x += sheet.width
    return whole


def marked_picture(picture: Image.Image, mask: Mask) -> Image.Image:
    """Return a picture with the places of a mask (h, w) outlined, and hatched thinly so that they stay visible."""
    pixels = np.array(picture)
    rows, columns = np.indices(mask.shape)
    hatch = mask & ((rows + columns) % _HATCH == 0)
    pixels[hatch] = (_HATCH_WEIGHT * np.array(_MARK) + (1 - _HATCH_WEIGHT) * pixels[hatch]).astype(
        np.uint8
    )
    outside = Image.fromarray(mask.astype(np.uint8) * 255).filter(ImageFilter.MaxFilter(5))
    pixels[(np.asarray(outside) > 0) & ~mask] = _MARK
    return Image.fromarray(pixels)


def with_key(sheet: Image.Image, meaning: str, letter: int) -> Image.Image:
    """Return a sheet with the meaning of its marks below."""
    mask = np.zeros((2 * letter, 4 * letter), bool)
    mask[4:-4, 4:-4] = True
    sample = marked_picture(Image.new("RGB", mask.shape[::-1], (150, 150, 150)), mask)
    whole = Image.new("RGB", (sheet.width, sheet.height + 3 * letter), PAPER)
    whole.paste(sheet, (0, 0))
    whole.paste(sample, (letter, sheet.height + letter // 2))
    place = (6 * letter, sheet.height + 1.5 * letter)
    ImageDraw.Draw(whole).text(
        place, f"outlined and hatched: {meaning}", fill=INK, font=font(letter), anchor="lm"
    )
    return whole


def _table_picture(comparison: Comparison, width: int) -> Image.Image:
    """Return the table of numbers as a picture, in as many columns of rows as fit a width."""
    rows, left_out = rows_to_show(comparison.rows)
    letter = _letter(comparison)
    letters, line = font(letter), round(1.6 * letter)
    heading = [(text, INK) for text in headings(comparison)]
    written = [heading, *_cells(rows)]
    widest = [
        max(letters.getlength(of_row[column][0]) for of_row in written)
        for column in range(len(heading))
    ]
    starts = letter + np.cumsum([0.0, *(one + 2 * letter for one in widest)])
    blocks = max(1, min(int(width / starts[-1]), -(-len(rows) // LEAST_ROWS)))
    high = -(-len(rows) // blocks)
    notes = [text for text in (AGAINST, left_out) if text]
    size = (max(width, round(starts[-1] * blocks)), line * (high + len(notes) + 2))
    table = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(table)
    for block in range(blocks):
        for number, texts in enumerate([heading, *_cells(rows[block * high : (block + 1) * high])]):
            y, left = line * number, starts[-1] * block
            if number and texts[0][0]:  # a new place begins
                draw.line([(left + letter, y), (left + starts[-1] - letter, y)], fill=FAINT)
            for x, (text, colour) in zip(starts, texts, strict=False):
                draw.text((left + x, y + line / 2), text, fill=colour, font=letters, anchor="lm")
    for number, text in enumerate(notes):
        draw.text((letter, line * (high + 2 + number)), text, fill=INK, font=letters, anchor="lm")
    return table


def headings(comparison: Comparison) -> list[str]:
    """Return what stands above the columns of a table: place, number, and each item's letter."""
    return ["where", "number", *(item_letter(number) for number in range(len(comparison.items)))]


def _cells(rows: Sequence[Row]) -> list[list[tuple[str, tuple[int, int, int]]]]:
    """Return the texts of a table with their colours; a place is named in its first row only."""
    cells, before = [], ""
    for row in rows:
        texts = [(row.where if row.where != before else "", INK), (row.what, INK)]
        for index, verdict in enumerate(row.verdicts):
            texts.append((" ".join(filter(None, cell_words(row, index))), _WORD_COLOURS[verdict]))
        cells.append(texts)
        before = row.where
    return cells


def _html_table(comparison: Comparison) -> str:
    rows, left_out = rows_to_show(comparison.rows)
    heads = "".join(f"<th>{text}</th>" for text in headings(comparison))
    lines = []
    for row in _cells(rows):
        # plain text keeps the page's own colour, light or dark
        styles = (
            f' style="color: rgb{colour}"' if colour not in (INK, FAINT) else ""
            for _, colour in row
        )
        cells = [
            f"<td{style}>{html.escape(text)}</td>"
            for (text, _), style in zip(row, styles, strict=True)
        ]
        lines.append(f"<tr>{''.join(cells)}</tr>")
    return f"<table><tr>{heads}</tr>{''.join(lines)}</table><p>{AGAINST} {left_out}</p>"
