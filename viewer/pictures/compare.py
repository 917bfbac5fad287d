"""Rigs, heads or lens choices compared with the first: what is seen, what differs, which numbers.

All are drawn at one scale, so that their pictures can be laid over each other.
"""

import base64
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import View
from seamsight.viewer.colour import srgb
from seamsight.viewer.eye import EYE_WORDS, Eyes
from seamsight.viewer.numbers.changes import ALL, Row, side_by_side, value_words
from seamsight.viewer.numbers.measures import Numbers, measure
from seamsight.viewer.numbers.quantities import HIDDEN, MAIN, WEIGHTY
from seamsight.viewer.pictures.comparison_sheet import (
    Cell,
    Mask,
    Panel,
    Table,
    comparison_sheet,
    html_table,
)
from seamsight.viewer.pictures.framing import framed_on_all, framed_on_screens
from seamsight.viewer.sheet import png

MOST_ITEMS = 12
MOST_ROWS = 48  # of the table on a sheet; what is over is counted, not shown
AGAINST = (
    '"better", "worse" and "same" compare with A. '
    "A value without such a word has no better direction, or no counterpart in A."
)
HIDES_MUCH = 5.0  # percent of a screen
ROLES_THAT_MATTER = {"image", "bezel", "bracket", "frame", "lens frame"}
_SHADE_APART = 24  # of 255: what one part must differ by in a picture to be seen as another


@dataclass(frozen=True, eq=False)
class Seen:
    """One of the things compared: a rig in its place, from a head.

    Attributes
    ----------
    caption : str
        What it is, in words, as "Harbour floatplane · tall pilot · lenses left out".
    assembly : Assembly
    eyes : Eyes
    """

    caption: str
    assembly: Assembly
    eyes: Eyes


@dataclass(frozen=True, eq=False)
class Comparison:
    """Things seen at one scale, compared with the first of them; shows itself in a notebook.

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

    def sheet(self, *, table: bool = True) -> Image.Image:
        """Return the pictures, marked where another thing is seen, and the numbers below."""
        panels: list[Panel] = []
        meanings: set[str] = set()
        for number, (item, views) in enumerate(zip(self.items, self.views, strict=True)):
            for look, view, first in zip(self.looks, views, self.views[0], strict=True):
                caption = f"{item_letter(number)} · {item.caption} · {EYE_WORDS[look]}"
                mask = None
                if number:
                    mask, meaning = changed(first, view)
                    caption += f" · {meaning} from A in {share_words(mask)} of the picture"
                    meanings.add(meaning)
                panels.append(Panel(view, caption, mask))

        key = f"{' or '.join(sorted(meanings))} from A is seen here"
        return comparison_sheet(panels, len(self.looks), key, self.table() if table else None)

    def table(self, most: int = MOST_ROWS) -> Table:
        """Return the numbers worth a place side by side, at most so many rows of them."""
        rows, left_out = rows_to_show(self.rows, most)
        letters = [item_letter(number) for number in range(len(self.items))]
        notes = [text for text in (AGAINST, left_out) if text]
        return Table(["where", "number", *letters], _cells(rows), notes)

    def _repr_png_(self) -> bytes:
        return png(self.sheet(), {})

    def _repr_html_(self) -> str:
        pictures = base64.b64encode(png(self.sheet(table=False), {})).decode()
        image = f'<img src="data:image/png;base64,{pictures}" style="max-width: 100%">'
        return image + html_table(self.table())


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
    frames = [framed_on_screens(one.assembly, one.eyes, width, height, samples) for one in items]
    projection = framed_on_all(frames)
    views = tuple(
        tuple(see(item.assembly, item.eyes.point(look), projection) for look in looks)
        for item in items
    )
    numbers = tuple(measure(item.assembly, item.eyes) for item in items)
    rows = side_by_side([one.as_json() for one in numbers])
    return Comparison(tuple(items), tuple(looks), views, numbers, rows)


def item_letter(number: int) -> str:
    """Return what an item is called for short: "A" for the first."""
    return chr(ord("A") + number)


def changed(first: View, other: View) -> tuple[Mask, str]:
    """Return where one view shows another thing than the first (h, w), and what "another" means.

    Things are told apart by their parts' names; only if these are the same everywhere by colours,
    as when two rigs differ in nothing but what their screens show. From another place everything
    has moved a little: then only screens count, and what is between them.
    """
    mask = _named_ids(first, other) != _named_ids(other, first)
    if mask.any():
        if (first.eye != other.eye).any():
            mask &= _matters(first) | _matters(other)
        return mask, "a different part"
    shades = [srgb(view.light).astype(np.int16) for view in (first, other)]
    return np.abs(shades[0] - shades[1]).max(axis=2) > _SHADE_APART, "a different colour"


def _matters(view: View) -> Mask:
    """Return where a view (h, w) shows screens, or what is between their images."""
    roles = np.array([*(part.role in ROLES_THAT_MATTER for part in view.assembly.parts), False])
    return np.asarray(roles[np.where(view.parts < 0, len(roles) - 1, view.parts)])


def share_words(mask: Mask) -> str:
    """Return how much of a picture a mask covers, as text."""
    share = 100 * float(mask.mean())
    return f"{share:.1f} %" if share >= 0.05 or share == 0 else "less than 0.1 %"


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

    # Keep the weightiest, in their order
    chosen = set(map(id, sorted(worth, key=_weight)[:most]))
    shown = [row for row in worth if id(row) in chosen]

    counts = {
        "that differ": len(worth) - len(shown),
        "that not all have": len(partial),
        "with equal values": len(rows) - len(worth) - len(partial),
    }
    words = [f"{count} {what}" for what, count in counts.items() if count > 0]
    return shown, f"Rows not shown: {', '.join(words)}." if words else ""


def _weight(row: Row) -> tuple[bool, bool, int, float]:
    """Return what rows are ranked by, the weightiest lowest."""
    most = max((abs(value) for value in row.values if value is not None), default=0.0)
    place = WEIGHTY.index(row.quantity) if row.quantity in WEIGHTY else len(WEIGHTY)
    if row.quantity is HIDDEN:
        # no part that hides much is left out; of the others those that hide most come first
        return row.where != ALL, None in row.values, 0 if most >= HIDES_MUCH else place, -most
    return row.where != ALL, None in row.values, place, 0.0


def cell_words(row: Row, index: int) -> tuple[str, str]:
    """Return a value of a row as text, and its verdict as a word where it has one worth a word."""
    verdict = row.verdicts[index]
    return value_words(row, index), verdict if verdict in ("better", "worse", "same") else ""


def _cells(rows: Sequence[Row]) -> list[list[Cell]]:
    """Return the texts of a table; a place is named in its first row only."""
    cells = []
    before = ""
    for row in rows:
        texts = [Cell(row.where if row.where != before else ""), Cell(row.what)]
        for index, verdict in enumerate(row.verdicts):
            value, word = cell_words(row, index)
            texts.append(Cell(f"{value} ({word})" if word else value, verdict))
        cells.append(texts)
        before = row.where
    return cells


def _named_ids(view: View, other: View) -> npt.NDArray[np.int64]:
    """Return for each pixel (h, w) a number for its part's name, the same in both views."""
    names = sorted({part.name for one in (view, other) for part in one.assembly.parts})
    known = {name: number for number, name in enumerate(names)}
    # the last is for where nothing is
    of_part = np.array([*(known[part.name] for part in view.assembly.parts), -1])
    return np.asarray(of_part[np.where(view.parts < 0, len(of_part) - 1, view.parts)], np.int64)
