"""A seam close up, for each eye: the dark strip and the lost strips, marked and measured."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import PoseError
from seamsight.scene.frames import Array, azimuth_and_elevation
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.lettering import font
from seamsight.viewer.casting.sightlines import (
    angle_between,
    directions_through,
    directions_to_image,
    eye_in_aperture_frame,
    image_points,
)
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import picture_of
from seamsight.viewer.eye import EYES, Eyes
from seamsight.viewer.numbers.margins import SIDES, in_front
from seamsight.viewer.numbers.seams import (
    black_border,
    facing_sides,
    lost_strips,
    seam_direction,
)
from seamsight.viewer.numbers.strips import Gaze, Strip, dark_strips
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import letter_of, noted, with_scale

PANEL = (520, 420)  # pixels
LEAST_FIELD = 8.0  # degrees
WIDEST_FIELD = 60.0

_DARK_STRIP = (255, 70, 160)
_BAR = 40.0  # pixels from the line along a dark strip to the ends of its bars
_HATCH = 12  # pixels from one line of a lost strip to the next
_LEAN = {"left": 1, "right": -1}  # which way the lines lean, by the eye that loses the strip
_LOST_WORDS = "hatched: a strip that the edge of its lens or bezel hides from one eye"

Screens = tuple[PlacedScreen, PlacedScreen]


class _Edge(NamedTuple):
    """The side of an image that faces the seam, and how wide a strip each eye loses there, mm."""

    screen: PlacedScreen
    side: str
    lost: dict[str, float]


def seam_picture(
    assembly: Assembly, first: str, second: str, eyes: Eyes, caption: str
) -> Image.Image:
    """Return the seam between two screens with its measures, for each eye and from between them.

    Raises
    ------
    ChoiceError
        When a screen is not there.
    PoseError
        When an eye is beside or behind it.
    """
    screens = _screens(assembly, (first, second), eyes)
    sides = facing_sides(*screens, eyes.mid)
    edges = [
        _Edge(screen, side, lost_strips(screen, side, eyes))
        for screen, side in zip(screens, sides, strict=True)
    ]

    # Draw what each eye sees, and say what it means
    panels = []
    notes = [caption]
    strips = dark_strips(assembly, [Gaze(*screens, eyes.point(eye)) for eye in EYES])
    for eye, strip in zip(EYES, strips, strict=True):
        whose = "between the eyes" if eye == "mid" else f"{eye} eye"
        picture, projection = _panel(assembly, screens, edges, strip, eyes, eye)
        panels.append(with_scale(picture, projection, whose))
        notes.append(f"{whose}: {_dark_words(screens, strip, eyes.point(eye))}")
    notes += [_lost_words(edge, eyes) for edge in edges]
    if any(max(edge.lost.values()) > 0 for edge in edges):
        notes.append(_LOST_WORDS)

    # Put the panels side by side, and the words below
    whole = Image.new("RGB", (sum(panel.width for panel in panels), panels[0].height), "white")
    for number, panel in enumerate(panels):
        whole.paste(panel, (number * panel.width, 0))
    return noted(whole, notes)


def _screens(assembly: Assembly, names: tuple[str, str], eyes: Eyes) -> Screens:
    first, second = (assembly.screen(name) for name in names)
    for screen in (first, second):
        if not in_front(screen, eyes.rows).all():
            msg = f'an eye is not in front of screen "{screen.name}"'
            raise PoseError(msg)
    return first, second


def _panel(
    assembly: Assembly,
    screens: Screens,
    edges: Sequence[_Edge],
    strip: Strip | None,
    eyes: Eyes,
    eye: str,
) -> tuple[Image.Image, Projection]:
    """Return what an eye sees of the seam, marked, and in which directions."""
    # Aim at the dark strip's middle, and show three times as much as it covers
    point = eyes.point(eye)
    middle = seam_direction(*screens, point)
    field = LEAST_FIELD
    if strip is not None:
        middle = (strip.start + strip.stop) / np.linalg.norm(strip.start + strip.stop)
        field = min(max(LEAST_FIELD, 3 * math.degrees(abs(strip.angle))), WIDEST_FIELD)
    azimuth, elevation = map(math.degrees, azimuth_and_elevation(middle))
    projection = Projection("rectilinear", *PANEL, field, azimuth, elevation, samples=2)

    # Draw it, and the marks over it
    picture = Image.fromarray(picture_of(see(assembly, point, projection)))
    for edge in edges:
        for loser, width in edge.lost.items():
            if width > 0 and loser != eye:
                _mark_lost(picture, projection, edge, loser, point)
    if strip is not None:
        _mark_dark(ImageDraw.Draw(picture), projection, strip)
    return picture, projection


def _mark_dark(draw: ImageDraw.ImageDraw, projection: Projection, strip: Strip) -> None:
    """Draw a line along the dark strip, with a bar at each end and its angle."""
    angle = strip.angle
    edges = strip.start, strip.stop
    start, stop = (_pixel(projection, direction) for direction in edges)

    # Draw the bars across, upright where the strip is too narrow to tell
    along = np.subtract(stop, start)
    length = float(np.linalg.norm(along))
    normal = np.array([0.0, _BAR])
    if length > 1e-6:
        normal = np.array([-along[1], along[0]]) / length * _BAR
    for end in (start, stop):
        bar = [tuple(np.add(end, normal)), tuple(np.subtract(end, normal))]
        draw.line(bar, fill=_DARK_STRIP, width=2)
    draw.line([start, stop], fill=_DARK_STRIP, width=2)

    # Write the angle above, on a dark rim that keeps it legible
    x, y = np.mean([start, stop], axis=0)
    draw.text(
        (x, y - 52),
        f"dark {math.degrees(angle):.2f}°",
        fill=_DARK_STRIP,
        font=font(letter_of(1400)),
        anchor="mm",
        stroke_width=2,
        stroke_fill="black",
    )


def _mark_lost(
    picture: Image.Image, projection: Projection, edge: _Edge, loser: str, eye: Array
) -> None:
    """Hatch and label, on an image as an eye (3,) sees it, the strip that another eye loses."""
    places = image_points(edge.screen, _strip(edge, edge.lost[loser]))
    corners = directions_through(edge.screen.lens, eye, places)
    if not np.isfinite(corners).all():
        return

    # Colours are for what an eye sees: white and black lines show on every picture
    mask = Image.new("L", picture.size)
    outline = [_pixel(projection, corner) for corner in corners]
    ImageDraw.Draw(mask).polygon(outline, fill=255)
    strip = np.asarray(mask) > 0
    if not strip.any():
        return
    rows, columns = np.indices(strip.shape)
    along = (rows + _LEAN[loser] * columns) % _HATCH
    pixels = np.array(picture)
    pixels[strip & (along < 2)] = 255
    pixels[strip & (along >= 2) & (along < 4)] = 0
    picture.paste(Image.fromarray(pixels))
    _label(picture, strip, f"hidden from the {loser} eye", upright=SIDES[edge.side][0] == 0)


def _label(
    picture: Image.Image, strip: npt.NDArray[np.bool_], words: str, *, upright: bool
) -> None:
    """Write words along a strip (h, w) of a picture, near its lower or right end."""
    letters = font(letter_of(1200))
    left, top, right, bottom = letters.getbbox(words, stroke_width=2)
    label = Image.new("RGB", (round(right - left) + 8, round(bottom - top) + 4), "black")
    draw = ImageDraw.Draw(label)
    draw.text((4 - left, 2 - top), words, fill="white", font=letters)
    if upright:
        label = label.transpose(Image.Transpose.ROTATE_90)

    # Keep it within the picture, and clear of the dark strip's measure in its middle
    rows, columns = np.nonzero(strip)
    x = round(columns.mean()) - label.width // 2 if upright else columns.max() - label.width - 8
    y = rows.max() - label.height - 8 if upright else round(rows.mean()) - label.height // 2
    x = min(max(int(x), 0), picture.width - label.width)
    y = min(max(int(y), 0), picture.height - label.height)
    picture.paste(label, (x, y))


def _strip(edge: _Edge, width: float) -> Array:
    """Return the corners (4, 2) of a strip of an image along a side."""
    axis, sign = SIDES[edge.side]
    outer = sign * edge.screen.size[axis] / 2
    inner = outer - sign * width
    across = edge.screen.size[1 - axis] / 2
    corners = np.array([(outer, -across), (outer, across), (inner, across), (inner, -across)])
    return corners[:, [0, 1] if axis == 0 else [1, 0]]


def _dark_words(screens: Screens, strip: Strip | None, eye: Array) -> str:
    """Return a dark strip's width in degrees, in mm at the first screen, and in its pixels."""
    if strip is None:
        return "does not see both images on the line between their centres"
    screen = screens[0]
    angle = strip.angle
    edges = strip.start, strip.stop

    # Follow both edges to the plane of the lens, or of what else the image is seen through
    away = -eye_in_aperture_frame(screen, eye)[1]
    axis = screen.rig_from_screen[:3, 1]
    start, stop = (direction * away / (direction @ axis) for direction in edges)
    wide = math.copysign(float(np.linalg.norm(stop - start)), angle)
    plane = "bezel's front" if screen.display.lip else "screen surface"
    if screen.lens:
        plane = "lens"

    pixels = angle / _pixel_angle(screen, facing_sides(*screens, eye)[0], eye)
    where = f"{wide:.1f} mm wide at the {plane} of {screen.name}"
    strip_words = f"dark strip {math.degrees(angle):.2f}°: {where}"
    return f"{strip_words}, as wide as {pixels:.0f} of its pixels"


def _lost_words(edge: _Edge, eyes: Eyes) -> str:
    """Return what each eye loses at a side of an image, and the border that helps."""
    screen, side, _ = edge
    lost = {eye: width for eye, width in edge.lost.items() if width > 0}
    if not lost:
        aperture = "lens" if screen.lens else "bezel"
        return f"{screen.name}, {side}: the edge of its {aperture} hides no strip from either eye."

    axis = SIDES[side][0]
    per_mm = screen.display.pixels[axis] / screen.size[axis]
    pixel = math.degrees(_pixel_angle(screen, side, eyes.mid))
    words = [
        f"the {eye} eye loses {width:.1f} mm ({width * per_mm:.0f} px, "
        f"{width * per_mm * pixel:.2f}°)"
        for eye, width in lost.items()
    ]
    border = black_border(screen, side, max(lost.values()))
    keep = f"to lose nothing, keep {border} px black"
    return f"{screen.name}, {side}: {', '.join(words)}; {keep}."


def _pixel_angle(screen: PlacedScreen, side: str, eye: Array) -> float:
    """Return how large a pixel looks at the middle of a side, radians."""
    axis, sign = SIDES[side]
    places = np.zeros((2, 2))
    places[:, axis] = sign * screen.size[axis] / 2
    places[1, axis] -= sign * screen.size[axis] / screen.display.pixels[axis]
    return angle_between(*directions_to_image(screen, eye, places))


def _pixel(projection: Projection, direction: Array) -> tuple[float, float]:
    """Return the column and row of a rectilinear picture where a direction (3,) falls."""
    right, forward, up = projection.axes.T @ direction
    per_tangent = projection.width / 2 / math.tan(math.radians(projection.field / 2))
    forward = max(forward, 1e-6)
    column = (projection.width - 1) / 2 + right / forward * per_tangent
    row = (projection.height - 1) / 2 - up / forward * per_tangent
    return column, row
