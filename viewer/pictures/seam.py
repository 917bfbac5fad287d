"""A seam close up, for each eye: the dark strip and the lost strips, marked and measured."""

import math

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import PoseError
from seamsight.scene.frames import Array
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
from seamsight.viewer.colour import srgb
from seamsight.viewer.eye import EYES, Eyes
from seamsight.viewer.numbers.margins import SIDES, in_front
from seamsight.viewer.numbers.seams import (
    black_border,
    dark_edges,
    facing_sides,
    lost_strips,
    seam_direction,
)
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import letter_of, noted, with_scale

PANEL = (520, 420)  # pixels
LEAST_FIELD = 8.0  # degrees
_DARK_STRIP, _LOST = (255, 70, 160), {"left": (230, 159, 0), "right": (0, 200, 140)}


def seam_picture(
    assembly: Assembly, first: str, second: str, eyes: Eyes, caption: str
) -> Image.Image:
    """Return the seam between two screens as the left eye, the right eye and the mid-eye see it, with its measures.

    Raises
    ------
    ChoiceError
        When a screen is not there.
    PoseError
        When an eye is not before it.
    """
    screens = _screens(assembly, (first, second), eyes)
    panels, notes = [], []
    for eye in EYES:
        panel, words = _panel(assembly, screens, eyes, eye)
        panels.append(panel)
        notes.append(f"{eye} eye: {words}" if eye != "mid" else f"between the eyes: {words}")
    sides = facing_sides(*screens, eyes.mid)
    for screen, side in zip(screens, sides, strict=True):
        notes.append(_lost_words(screen, side, eyes))
    whole = Image.new("RGB", (sum(panel.width for panel in panels), panels[0].height), "white")
    for number, panel in enumerate(panels):
        whole.paste(panel, (number * panel.width, 0))
    if any(
        max(lost_strips(screen, side, eyes).values()) > 0
        for screen, side in zip(screens, sides, strict=True)
    ):
        notes.append(
            "outlined on the images: what the left eye loses, orange; what the right eye loses, green"
        )
    return noted(whole, [caption, *notes])


def _screens(
    assembly: Assembly, names: tuple[str, str], eyes: Eyes
) -> tuple[PlacedScreen, PlacedScreen]:
    first, second = (assembly.screen(name) for name in names)
    for screen in (first, second):
        if not in_front(screen, eyes.rows).all():
            msg = f'an eye is not in front of screen "{screen.name}"'
            raise PoseError(msg)
    return first, second


def _panel(
    assembly: Assembly, screens: tuple[PlacedScreen, PlacedScreen], eyes: Eyes, eye: str
) -> tuple[Image.Image, str]:
    point = eyes.point(eye)
    strip = dark_edges(assembly, *screens, point)
    middle = seam_direction(*screens, point)
    if strip is not None:
        middle = (strip[1] + strip[2]) / np.linalg.norm(strip[1] + strip[2])
    field = max(LEAST_FIELD, 3 * math.degrees(abs(strip[0]))) if strip else LEAST_FIELD
    azimuth, elevation = (
        math.degrees(math.atan2(middle[0], middle[1])),
        math.degrees(math.asin(middle[2])),
    )
    field = min(field, 60.0)
    projection = Projection("rectilinear", *PANEL, field, azimuth, elevation, samples=2)
    picture = Image.fromarray(srgb(see(assembly, point, projection).light))
    draw = ImageDraw.Draw(picture)
    _mark_lost(draw, screens, eyes, eye, projection)
    if strip is None:
        words = "does not see both images on the line through their middles"
    else:
        _mark_dark(draw, strip, projection)
        words = _dark_words(screens, strip, point)
    name = "between the eyes" if eye == "mid" else f"{eye} eye"
    return with_scale(picture, projection, name), words


def _mark_dark(
    draw: ImageDraw.ImageDraw, strip: tuple[float, Array, Array], projection: Projection
) -> None:
    """Draw a line along the dark strip, with a bar at each end and its angle."""
    ends = [_pixel(projection, direction) for direction in strip[1:]]
    along = np.subtract(ends[1], ends[0])
    length = float(np.linalg.norm(along))
    normal = (
        np.array([-along[1], along[0]]) / length * 40 if length > 1e-6 else np.array([0.0, 40.0])
    )
    for end in ends:
        draw.line(
            [tuple(np.add(end, normal)), tuple(np.subtract(end, normal))], fill=_DARK_STRIP, width=2
        )
    draw.line([tuple(end) for end in ends], fill=_DARK_STRIP, width=2)
    text = f"dark {math.degrees(strip[0]):.2f}°"
    place = tuple(np.mean(ends, axis=0) + np.array([0, -52]))
    draw.text(
        place,
        text,
        fill=_DARK_STRIP,
        font=font(letter_of(1400)),
        anchor="mm",
        stroke_width=2,
        stroke_fill="black",
    )


def _mark_lost(
    draw: ImageDraw.ImageDraw,
    screens: tuple[PlacedScreen, PlacedScreen],
    eyes: Eyes,
    eye: str,
    projection: Projection,
) -> None:
    """Outline, on the images as this eye sees them, the strips that the left or the right eye loses."""
    for screen, side in zip(screens, facing_sides(*screens, eyes.mid), strict=True):
        for loser, width in lost_strips(screen, side, eyes).items():
            if width > 0 and loser != eye:
                corners = directions_through(
                    screen.lens, eyes.point(eye), image_points(screen, _strip(screen, side, width))
                )
                outline = [
                    _pixel(projection, corner) for corner in corners if np.isfinite(corner).all()
                ]
                if len(outline) == len(corners):
                    draw.line(
                        [tuple(place) for place in (*outline, outline[0])],
                        fill=_LOST[loser],
                        width=3,
                    )


def _strip(screen: PlacedScreen, side: str, width: float) -> Array:
    """Return the corners (4, 2) of a strip of an image along a side."""
    axis, sign = SIDES[side]
    outer, across = sign * screen.size[axis] / 2, screen.size[1 - axis] / 2
    corners = [
        (outer, -across),
        (outer, across),
        (outer - sign * width, across),
        (outer - sign * width, -across),
    ]
    return np.array(corners)[:, [0, 1] if axis == 0 else [1, 0]]


def _dark_words(
    screens: tuple[PlacedScreen, PlacedScreen], strip: tuple[float, Array, Array], eye: Array
) -> str:
    """Return a dark strip's width in degrees, in mm at the first screen's lens or image, and in its pixels."""
    away = -eye_in_aperture_frame(screens[0], eye)[1]
    axis = screens[0].rig_from_screen[:3, 1]
    places = [direction * away / (direction @ axis) for direction in strip[1:]]
    wide = math.copysign(float(np.linalg.norm(places[1] - places[0])), strip[0])
    side = facing_sides(*screens, eye)[0]
    pixels = strip[0] / _pixel_angle(screens[0], side, eye)
    plane = (
        "lens plane"
        if screens[0].lens
        else "plane of the bezel's face"
        if screens[0].display.lip
        else "image surface"
    )
    name, angle = screens[0].name, math.degrees(strip[0])
    return (
        f"dark {angle:.2f}° = {wide:.1f} mm in the {plane} of {name} = {pixels:.0f} of its pixels"
    )


def _lost_words(screen: PlacedScreen, side: str, eyes: Eyes) -> str:
    lost = {eye: width for eye, width in lost_strips(screen, side, eyes).items() if width > 0}
    if not lost:
        return f"{screen.name}, {side}: its opening hides no strip from either eye."
    axis = SIDES[side][0]
    per_mm = screen.display.pixels[axis] / screen.size[axis]
    pixel = math.degrees(_pixel_angle(screen, side, eyes.mid))
    words = [
        f"the {eye} eye loses {width:.1f} mm = {width * per_mm:.0f} px = {width * per_mm * pixel:.2f}°"
        for eye, width in lost.items()
    ]
    border = black_border(screen, side, max(lost.values()))
    return f"{screen.name}, {side}: {', '.join(words)}; keep {border} px black so that both eyes see all."


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
    return (projection.width - 1) / 2 + right / forward * per_tangent, (
        projection.height - 1
    ) / 2 - up / forward * per_tangent
