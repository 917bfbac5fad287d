"""Slices through the room around a rig: what no eye sees, and the parts as they are cut."""

from typing import NamedTuple

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.lettering import font
from seamsight.scene.plan import EYE, IMAGE, LENS
from seamsight.viewer.sheet import INK, PAPER
from seamsight.viewer.studies.hidden_room import HiddenRoom

HIDDEN, MARGIN = (238, 190, 120), (248, 230, 202)
CUTS = (0.25, 0.5, 0.75)  # of the parts' extent
_KEY = (
    (HIDDEN, "hidden from all heads"),
    (MARGIN, "not seen, but kept as a margin"),
    (PAPER, "seen"),
    (INK, "part"),
    (IMAGE, "screen"),
    (LENS, "lens"),
    (EYE, "where the eyes may be"),
)


class _Side(NamedTuple):
    """A side that slices are seen from: axes of the rig frame across, up and towards us."""

    title: str
    across: int
    along: int
    depth: int


_SIDES = (
    _Side("seen from above", 0, 1, 2),
    _Side("seen from behind", 0, 2, 1),
    _Side("seen from the right", 1, 2, 0),
)


def room_slices(assembly: Assembly, room: HiddenRoom, caption: str, width: int) -> Image.Image:
    """Return three slices from each of three sides, evenly spread over the parts, to one scale.

    Parameters
    ----------
    assembly : Assembly
    room : HiddenRoom
    caption : str
    width : int
        Of the whole picture, pixels.
    """
    letter = max(12, width // 90)
    reach = room.cells.high - room.cells.low
    scale = (width - 4 * letter) / (3 * max(reach[side.across] for side in _SIDES))
    rows = [[_slice(assembly, room, side, cut, scale) for cut in CUTS] for side in _SIDES]

    # put them together, a row for each side
    height = round(5 * letter + sum(row[0][1].height + 2.5 * letter for row in rows))
    sheet = Image.new("RGB", (width, height), PAPER)
    draw = ImageDraw.Draw(sheet)
    letters = font(letter)
    draw.text((letter, letter / 2), caption, fill=INK, font=letters)
    y = 2.2 * letter
    for row in rows:
        for number, (title, picture) in enumerate(row):
            x = letter + number * (width - letter) // 3
            draw.text((x, y), title, fill=INK, font=letters)
            sheet.paste(picture, (x, round(y + 1.5 * letter)))
        y += row[0][1].height + 2.5 * letter
    _draw_key(draw, y, letter)
    return sheet


def _slice(
    assembly: Assembly, room: HiddenRoom, side: _Side, share: float, scale: float
) -> tuple[str, Image.Image]:
    """Return a slice's title and picture."""
    ends = assembly.triangles[..., side.depth]
    cut = float(ends.min() + share * np.ptp(ends))
    title = f"{side.title}, cut at {'xyz'[side.depth]} = {cut:.0f} mm"
    cells = room.cells
    layer = int((cut - cells.low[side.depth]) / cells.step)

    # colour the cubes
    unseen, hidden = (np.take(cubes, layer, axis=side.depth) for cubes in (~room.seen, room.hidden))
    colours = np.full((*unseen.shape, 3), PAPER, np.uint8)
    colours[unseen], colours[hidden] = MARGIN, HIDDEN
    size = tuple(max(1, round(count * cells.step * scale)) for count in unseen.shape)
    rows = np.ascontiguousarray(colours.transpose(1, 0, 2)[::-1])
    picture = Image.fromarray(rows).resize(size, Image.Resampling.NEAREST)

    # draw the parts and the eyes over them
    def placed(points: Array) -> Array:
        x = points[..., side.across] - cells.low[side.across]
        y = cells.high[side.along] - points[..., side.along]
        return np.asarray(np.stack([x, y], axis=-1) * scale)

    draw = ImageDraw.Draw(picture)
    draw.rectangle([0, 0, size[0] - 1, size[1] - 1], outline=MARGIN)
    for part in assembly.parts:
        colour = {Kind.IMAGE: IMAGE, Kind.LENS: LENS}.get(part.kind, INK)
        for line in placed(_section(part.triangles, side.depth, cut)):
            draw.line([tuple(end) for end in line.tolist()], fill=colour, width=2)
    eyes = placed(room.lookers.rows)
    low, high = eyes.min(axis=0) - 2, eyes.max(axis=0) + 2
    draw.rectangle([*low.tolist(), *high.tolist()], outline=EYE, width=2)
    return title, picture


def _section(triangles: Array, axis: int, at: float) -> Array:
    """Return the lines (n, 2, 3) in which triangles cross a plane square on an axis."""
    beyond = triangles[..., axis] > at
    count = beyond.sum(axis=1)
    cut = triangles[(count == 1) | (count == 2)]
    beyond = beyond[(count == 1) | (count == 2)]

    # the corner that is alone on its side, and the two ways to the others
    alone = np.where(beyond.sum(axis=1) == 1, beyond.argmax(axis=1), beyond.argmin(axis=1))
    row = np.arange(len(cut))
    start = cut[row, alone][:, None]
    ends = np.stack([cut[row, (alone + 1) % 3], cut[row, (alone + 2) % 3]], axis=1)
    share = (at - start[..., axis]) / (ends[..., axis] - start[..., axis])
    return np.asarray(start + share[..., None] * (ends - start))


def _draw_key(draw: ImageDraw.ImageDraw, y: float, letter: int) -> None:
    """Draw what the colours mean."""
    letters = font(letter)
    x = float(letter)
    for colour, text in _KEY:
        draw.rectangle([x, y, x + 1.5 * letter, y + letter], fill=colour, outline=INK)
        x += 2 * letter
        draw.text((x, y - 0.2 * letter), text, fill=INK, font=letters)
        x += draw.textlength(text, font=letters) + 1.5 * letter
