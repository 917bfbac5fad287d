"""The outside scene, painted at each screen's native pixels through that screen's own view."""

import functools
import math
from collections.abc import Hashable

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from seamsight.scene.content import native_key, native_picture, shown_pixels
from seamsight.scene.display import Wide
from seamsight.scene.files import Picture
from seamsight.scene.frames import rotation
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.lettering import font
from seamsight.scene.recent import Recent
from seamsight.scene.rig import Rig, World
from seamsight.viewer.casting.frustum import FlatView, drawn_view_of, part_of_wide
from seamsight.viewer.casting.world_kernel import paint_rows
from seamsight.viewer.colour import CODES
from seamsight.viewer.threads import each_on_threads

LABEL_PIXELS = (24, 64)  # rows, columns of a label's picture
ROWS_AT_ONCE = 64
MOST_PAINTED = 256 << 20  # bytes


def picture_on(
    screen: PlacedScreen, rig: Rig, coarse: int = 1, view: FlatView | None = None
) -> Picture:
    """Return what a screen shows as (h, w, 3) uint8 sRGB, top row first, at its native pixels.

    With `coarse` above 1 so many of them, each way, are one; see `coarseness`. With a view it
    shows the outside in that view, whatever its own content.

    Raises
    ------
    FileError
        When a picture file cannot be used.
    """
    if view is None and not _shows_world(screen):
        return native_picture(screen, rig, coarse)
    width, height = shown_pixels(screen, coarse)
    view = view or drawn_view(screen, rig, coarse)
    if view is None:
        return np.zeros((height, width, 3), np.uint8)
    return _painted(view, width, height, rig.world)


def picture_key(screen: PlacedScreen, rig: Rig, coarse: int = 1) -> Hashable:
    """Return what decides a screen's picture: those of equal keys are the same.

    Raises
    ------
    FileError
        When a picture file cannot be used.
    """
    if _shows_world(screen):
        return drawn_view(screen, rig, coarse), shown_pixels(screen, coarse), rig.world
    return native_key(screen, rig, coarse)


def is_painted(screen: PlacedScreen) -> bool:
    """Return whether a screen's picture is painted anew when the screen is moved."""
    return screen.shows == "world"


def _shows_world(screen: PlacedScreen) -> bool:
    shows = screen.shows
    return shows == "world" or (isinstance(shows, Wide) and shows.wide == "world")


def drawn_view(screen: PlacedScreen, rig: Rig, coarse: int = 1) -> FlatView | None:
    """Return the flat view that a screen shows of the outside; None where nothing is drawn."""
    if isinstance(screen.shows, Wide):
        shows = screen.shows
        half = math.tan(math.radians(shows.field / 2))
        return part_of_wide(half, shows.part, shows.of, shown_pixels(screen, coarse))
    return drawn_view_of(screen, np.array(rig.pilot.eye_point))


def paint(view: FlatView, width: int, height: int, world: World) -> Picture:
    """Return the outside scene in a flat view, (height, width, 3) uint8."""
    picture = np.empty((height, width, 3), np.uint8)
    edges = np.array(view[:4])
    axes = rotation(view.yaw, view.pitch, view.roll)
    turned = (math.radians(angle) for angle in (world.heading, world.pitch, world.bank))
    attitude = rotation(*turned)
    place = np.array([world.eye_height / 1000, world.ahead / 1000])
    labels = _labels() if world.grid else np.zeros((1, 1, 1), np.uint8)

    def some(first: int) -> None:
        last = min(first + ROWS_AT_ONCE, height)
        paint_rows(picture, first, last, edges, axes, attitude, place, labels, CODES)

    each_on_threads(some, range(0, height, ROWS_AT_ONCE))
    picture.flags.writeable = False
    return picture


def warm_up() -> None:
    """Compile the painting, or load it where an earlier run left it."""
    paint(FlatView(-1.0, 1.0, -1.0, 1.0, 0.0, 0.0, 0.0), 2, 2, World())


_kept = Recent[Picture](MOST_PAINTED, lambda picture: picture.nbytes)


def _painted(view: FlatView, width: int, height: int, world: World) -> Picture:
    """Return the outside scene in a flat view, kept for all rigs.

    One that is read again after a change elsewhere, or looked at in 3D too, is not painted anew.
    """
    return _kept.get((view, width, height, world), lambda: paint(view, width, height, world))


@functools.cache
def _labels() -> npt.NDArray[np.uint8]:
    """Return pictures of the grid's figures: azimuths -180 … 170, then elevations -90 … 90."""
    texts = [f"{azimuth}°" for azimuth in range(-180, 180, 10)] + [
        f"{angle:+d}°" for angle in range(-90, 91, 10)
    ]
    pictures = []
    for text in texts:
        image = Image.new("L", LABEL_PIXELS[::-1], 0)
        ImageDraw.Draw(image).text((1, LABEL_PIXELS[0] / 2), text, 255, font(20), anchor="lm")
        pictures.append(np.asarray(image))
    return np.stack(pictures)
