"""A plan and a side elevation of a rig, to scale, and both as HTML. No optics."""

import base64
import html
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.lettering import font
from seamsight.scene.rig import Rig

PAPER = (247, 246, 242)
INK = (38, 42, 48)
IMAGE = (112, 60, 160)
LENS = (91, 155, 200)  # as in the live views' 3D
EYE = (200, 40, 40)
FINER = 2  # pixels drawn for each one shown, each way
AROUND = 200.0  # mm shown around screens, lenses and eye
_BARS = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000)  # mm


@dataclass(frozen=True)
class _Side:
    """A side that a rig is seen from: axes of the rig frame that run right, up and towards us."""

    title: str
    across: int
    along: int
    depth: int
    right: str
    up: str


_SIDES = (
    _Side("seen from above", 0, 1, 2, "right", "forward"),
    _Side("seen from the right", 1, 2, 0, "forward", "up"),
)


@dataclass(frozen=True, eq=False)
class Stroke:
    """A line drawn over a rig: its points (n, 3) in rig axes, mm, its colour and width, pixels."""

    points: Array
    colour: tuple[int, int, int]
    width: float


def plan_picture(
    assembly: Assembly,
    width: int,
    above: Sequence[Stroke] = (),
    beside: Sequence[Stroke] = (),
) -> Image.Image:
    """Return a rig seen from above and from the right, side by side and to one scale.

    Screens are violet lines, lenses blue ones, whatever is in front of them; the design eye point
    is a red dot. What reaches far beyond is cut off, and what is wholly between the onlooker and
    all of these, such as a roof, left out.

    Parameters
    ----------
    assembly : Assembly
    width : int
        Of the whole picture, pixels; at least 300.
    above, beside : sequence of Stroke
        Lines to draw over what is seen from above, and from the right.
    """
    low, high = _extent(assembly, [*above, *beside])
    reach = high - low
    letter = max(10, width // 70)
    scale = (width - 5 * letter) / (reach[0] + reach[1])  # pixels per mm
    sizes = [
        (round(reach[side.across] * scale), round(reach[side.along] * scale)) for side in _SIDES
    ]
    height = max(high for _, high in sizes) + round(5.5 * letter)
    sheet = Image.new("RGB", (width, height), PAPER)

    x = letter
    for side, size, strokes in zip(_SIDES, sizes, (above, beside), strict=True):
        sheet.paste(_side_picture(assembly, side, low, high, size, strokes), (x, 2 * letter))
        _draw_words(sheet, side, x, size, letter)
        x += size[0] + 3 * letter

    _draw_scale_bar(sheet, scale, letter)
    return sheet


def rig_html(rig: Rig) -> str:
    """Return a rig as a piece of HTML: name, note, plan and elevation, and a table of its screens.

    Raises
    ------
    FileError
        When a file that the rig names cannot be read.
    """
    assembly = build(rig)
    stream = io.BytesIO()
    plan_picture(assembly, 800).save(stream, "PNG", optimize=True)
    picture = base64.b64encode(stream.getvalue()).decode()

    heading = "<tr><th>screen</th><th>size, mm</th><th>pixels</th><th>lens</th></tr>"
    rows = "".join(
        f"<tr>{''.join(map(_cell, _screen_words(screen)))}</tr>" for screen in assembly.screens
    )
    table = f"<table>{heading}{rows}</table>" if rows else "<p>This rig has no screens.</p>"

    source = f"data:image/png;base64,{picture}"
    image = f'<img alt="plan and side elevation" style="max-width: 100%" src="{source}">'
    head = f"<h3>{html.escape(rig.name)}</h3><p>{html.escape(rig.note.strip())}</p>"
    return f"<div>{head}{image}{table}</div>"


def _cell(words: str) -> str:
    return f'<td style="text-align: left">{html.escape(words)}</td>'


def _screen_words(screen: PlacedScreen) -> tuple[str, str, str, str]:
    optic = screen.lens.optic if screen.lens else None
    lens = "none"
    if optic:
        kind = "ideal" if optic.model == "thin" else "traced grooves"
        place = f"{optic.separation:.0f} mm from the screen"
        lens = f"focal length {optic.focal_length:g} mm, {place}, {kind}"
    width, height = screen.size
    across, down = screen.display.pixels
    return screen.name, f"{width:.0f} × {height:.0f}", f"{across} × {down}", lens


def _extent(assembly: Assembly, strokes: Sequence[Stroke]) -> tuple[Array, Array]:
    """Return the lowest and highest corner of what is shown: screens, lenses, eye, some around."""
    corners = [
        part.triangles.reshape(-1, 3) for part in assembly.parts if part.kind is not Kind.OPAQUE
    ]
    if not corners:
        corners = [assembly.triangles.reshape(-1, 3)]
    drawn = [stroke.points for stroke in strokes]
    points = np.concatenate([*corners, *drawn, np.array([assembly.rig.pilot.eye_point])])
    return points.min(axis=0) - AROUND, points.max(axis=0) + AROUND


def _side_picture(
    assembly: Assembly,
    side: _Side,
    low: Array,
    high: Array,
    size: tuple[int, int],
    strokes: Sequence[Stroke],
) -> Image.Image:
    """Return a rig from one side, without its words."""
    finer = (size[0] * FINER, size[1] * FINER)
    scale = finer[0] / (high[side.across] - low[side.across])

    def placed(points: Array) -> Array:
        x = points[..., side.across] - low[side.across]
        y = high[side.along] - points[..., side.along]
        return np.asarray(np.stack([x, y], axis=-1) * scale)

    faces = _nearest_faces(assembly, placed(assembly.triangles), side.depth, finer)
    picture = Image.fromarray(_coloured(assembly, faces, side.depth))

    # draw screens, lenses and the eye over everything
    draw = ImageDraw.Draw(picture)
    for part in assembly.parts:
        if part.kind is not Kind.OPAQUE:
            colour = IMAGE if part.kind is Kind.IMAGE else LENS
            outline = [tuple(point) for point in placed(_rim(part.triangles)).tolist()]
            draw.line([*outline, outline[0]], fill=colour, width=3 * FINER, joint="curve")
    for stroke in strokes:
        line = [tuple(point) for point in placed(stroke.points).tolist()]
        draw.line(line, fill=stroke.colour, width=round(stroke.width * FINER), joint="curve")
    x, y = placed(np.array(assembly.rig.pilot.eye_point)).tolist()
    half = 5 * FINER
    box = [x - half, y - half, x + half, y + half]
    draw.ellipse(box, fill=EYE, outline=PAPER, width=FINER)
    return picture.reduce(FINER)


def _nearest_faces(
    assembly: Assembly, corners: Array, depth: int, size: tuple[int, int]
) -> npt.NDArray[np.int32]:
    """Return which triangle is nearest at each pixel, -1 for none."""
    # leave out what shows its back, lies beside the picture or stands before everything
    edge = corners[:, 1] - corners[:, 0]
    other = corners[:, 2] - corners[:, 0]
    shown = edge[:, 0] * other[:, 1] < edge[:, 1] * other[:, 0]  # rows run down
    shown &= ((corners.max(axis=1) >= 0) & (corners.min(axis=1) <= size)).all(axis=1)
    shown &= ~_before_all(assembly, depth)[assembly.part_of_face]

    # paint the farthest first
    canvas = Image.new("I", size, -1)
    draw = ImageDraw.Draw(canvas)
    depths = assembly.triangles[:, :, depth].mean(axis=1)
    for face in np.argsort(depths, kind="stable"):
        if shown[face]:
            draw.polygon([tuple(point) for point in corners[face].tolist()], fill=int(face))
    return np.asarray(canvas, np.int32)


def _before_all(assembly: Assembly, depth: int) -> npt.NDArray[np.bool_]:
    """Return which parts lie wholly before the eye point and every screen and lens."""
    nearest = assembly.rig.pilot.eye_point[depth]
    for part in assembly.parts:
        if part.kind is not Kind.OPAQUE:
            nearest = max(nearest, float(part.triangles[:, :, depth].max()))
    before = [bool(part.triangles[:, :, depth].min() > nearest) for part in assembly.parts]
    return np.array(before, bool)


def _coloured(
    assembly: Assembly, faces: npt.NDArray[np.int32], depth: int
) -> npt.NDArray[np.uint8]:
    """Return faces (h, w) in their parts' colours, lighter where they face us, lines between."""
    # colour each triangle, and the paper behind them
    facing = np.abs(assembly.face_normals[:, depth])
    colours = np.array([part.colour for part in assembly.parts]).reshape(-1, 3)
    colours = colours[assembly.part_of_face] ** (1 / 2.2)
    pale = 1 - 0.55 * (1 - colours) * (1.25 - 0.25 * facing[:, None])
    table = np.concatenate([np.round(pale * 255), [PAPER]]).clip(0, 255).astype(np.uint8)
    picture = table[faces]

    # darken the lines along which parts meet
    parts = np.concatenate([assembly.part_of_face, [-1]])[faces]
    edge = np.zeros(faces.shape, bool)
    edge[1:] |= parts[1:] != parts[:-1]
    edge[:, 1:] |= parts[:, 1:] != parts[:, :-1]
    picture[edge] = picture[edge] * 0.55
    return picture


def _rim(triangles: Array) -> Array:
    """Return the four corners, in order, of a rectangle made of two triangles (2, 3, 3)."""
    return np.concatenate([triangles[0], triangles[1, 2:]])


def _draw_words(
    sheet: Image.Image, side: _Side, x: int, size: tuple[int, int], letter: int
) -> None:
    """Draw what stands above and below a side's picture: its title, and which way its axes run."""
    draw = ImageDraw.Draw(sheet)
    letters = font(letter)
    draw.text((x, letter), side.title, fill=INK, font=letters, anchor="lm")

    width, height = size
    foot = 2 * letter + height + 0.9 * letter
    _draw_arrow(draw, (x + width - 1.5 * letter, foot), (1, 0), letter)
    draw.text((x + width - 2 * letter, foot), side.right, fill=INK, font=letters, anchor="rm")
    _draw_arrow(draw, (x + letter / 2, foot + letter / 2), (0, -1), letter)
    draw.text((x + 1.2 * letter, foot), side.up, fill=INK, font=letters, anchor="lm")


def _draw_arrow(
    draw: ImageDraw.ImageDraw, start: tuple[float, float], way: tuple[int, int], letter: int
) -> None:
    x, y = start[0] + way[0] * letter, start[1] + way[1] * letter
    draw.line([start, (x, y)], fill=INK, width=max(1, letter // 8))
    back = 0.4 * letter
    half = 0.25 * letter
    sides = [
        (x - way[0] * back + way[1] * turn, y - way[1] * back + way[0] * turn)
        for turn in (-half, half)
    ]
    draw.polygon([(x, y), *sides], fill=INK)


def _draw_scale_bar(sheet: Image.Image, scale: float, letter: int) -> None:
    """Draw how long some mm are, and behind that the key of the colours."""
    draw = ImageDraw.Draw(sheet)
    letters = font(letter)
    y = sheet.height - letter

    # draw the longest bar that takes no more than a quarter of the width
    length = max((bar for bar in _BARS if bar * scale <= sheet.width / 4), default=_BARS[0])
    end = letter + length * scale
    draw.line([(letter, y), (end, y)], fill=INK, width=2)
    for x in (letter, end):
        draw.line([(x, y - letter / 3), (x, y + letter / 3)], fill=INK, width=2)
    text = f"{length} mm"
    draw.text((end + letter / 2, y), text, fill=INK, font=letters, anchor="lm")

    # a short line stands for screens and lenses, a dot for the eye point
    x = end + letter / 2 + math.ceil(draw.textlength(text, font=letters)) + 2 * letter
    for label, colour in (("screen", IMAGE), ("lens", LENS), ("design eye point", EYE)):
        half = letter / 3 if colour is EYE else 2
        start = x + (letter if colour is EYE else 0)
        draw.rounded_rectangle([start, y - half, x + 1.5 * letter, y + half], half, colour)
        draw.text((x + 2 * letter, y), label, fill=INK, font=letters, anchor="lm")
        x += 3.5 * letter + draw.textlength(label, font=letters)
