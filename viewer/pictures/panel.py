"""A panel's screen at its own pixels: the holes in front of it, and a mask for all around them."""

from collections.abc import Iterable, Sequence

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.lettering import font
from seamsight.scene.polygons import Mask, Region, joined, raster, rings_of
from seamsight.viewer.setup.panel import HoleView
from seamsight.viewer.sheet import PAPER

_GROUND, _SEEN = (16, 20, 26), (74, 92, 108)
_WINDOW, _HOLE, _INK = (120, 200, 255), (255, 190, 92), (236, 240, 242)
_NOTE = "orange: hole, square on · grey: seen from the seat · blue: window for the instrument"


def holes_picture(views: Sequence[HoleView]) -> Image.Image:
    """Return what to show on a screen while its plate is drilled, at the screen's own pixels.

    The holes straight in front of it, what of it either eye sees through them from the design eye
    point, and the rectangles for the instruments' windows. All views are of one screen.
    """
    screen = views[0].screen
    across, down = screen.display.pixels
    pixels = np.empty((down, across, 3), np.uint8)
    pixels[:] = np.where(_seen_mask(screen, views)[..., None], _SEEN, _GROUND)
    image = Image.fromarray(pixels)
    draw = ImageDraw.Draw(image)
    line = max(1, min(across, down) // 400)

    for view in views:
        for ring in rings_of(view.square_on):
            corners = _pixels(screen, ring)
            draw.line([*map(tuple, corners), tuple(corners[0])], fill=_HOLE, width=2 * line)
        _draw_window(draw, view, line)
    letters = font(max(9.0, min(across, down) / 45))
    draw.text((across / 2, 2 * line), _NOTE, fill=_INK, font=letters, anchor="ma")
    return image


def mask_picture(views: Sequence[HoleView]) -> Image.Image:
    """Return a screen's background mask: black, and clear where the holes show it.

    Clear is what either eye sees from the design eye point. All views are of one screen.
    """
    screen = views[0].screen
    across, down = screen.display.pixels
    pixels = np.zeros((down, across, 4), np.uint8)
    pixels[..., 3] = np.where(_seen_mask(screen, views), 0, 255)
    return Image.fromarray(pixels)


def all_screens_picture(views: Sequence[HoleView], width: int) -> Image.Image:
    """Return the pictures of all screens side by side, equally high, so wide together."""
    names = dict.fromkeys(view.screen.name for view in views)
    pictures = [
        holes_picture([view for view in views if view.screen.name == name]) for name in names
    ]
    gap = width // 100
    shapes = [picture.width / picture.height for picture in pictures]
    height = min((width - gap * (len(pictures) - 1)) / sum(shapes), width / 3)
    whole = Image.new("RGB", (width, round(height)), PAPER)
    x = 0
    for picture, shape in zip(pictures, shapes, strict=True):
        size = (max(1, round(shape * height)), round(height))
        whole.paste(picture.resize(size, Image.Resampling.LANCZOS), (x, 0))
        x += size[0] + gap
    return whole


def _seen_mask(screen: PlacedScreen, views: Iterable[HoleView]) -> Mask:
    """Return which pixels (rows, columns), top row first, either eye sees from the design head."""
    across, down = screen.display.pixels
    half = np.array(screen.size) / 2
    seen: list[Region] = [
        region for view in views if (region := next(iter(view.sights.values())).either) is not None
    ]
    return raster(joined(seen), -half, half, across, down)[::-1]


def _draw_window(draw: ImageDraw.ImageDraw, view: HoleView, line: int) -> None:
    """Draw a window's rectangle, a cross in the hole's middle, and what to enter."""
    window = view.window
    box = [window.x, window.y, window.right - 1, window.bottom - 1]
    draw.rectangle(box, outline=_WINDOW, width=line)

    low, high = (np.array(corner) for corner in _bounds(view))
    x, y = (low + high) / 2
    arm = min(high - low) / 8
    draw.line([(x - arm, y), (x + arm, y)], fill=_HOLE, width=line)
    draw.line([(x, y - arm), (x, y + arm)], fill=_HOLE, width=line)

    words = [view.hole.name, f"{window.x}, {window.y}", f"{window.width} × {window.height}"]
    widest = max(map(len, words))
    letters = font(max(8.0, min(1.2 * window.width / widest, window.height / 13, 60.0)))
    top = y + arm + 2 * line
    for number, text in enumerate(words):
        place = (x, top + number * 1.25 * letters.size)
        draw.text(place, text, fill=_INK, font=letters, anchor="ma")


def _bounds(view: HoleView) -> tuple[Array, Array]:
    """Return the corners (2,) of a hole, square on, in pixels."""
    corners = np.concatenate([_pixels(view.screen, ring) for ring in rings_of(view.square_on)])
    return corners.min(axis=0), corners.max(axis=0)


def _pixels(screen: PlacedScreen, places: Array) -> Array:
    """Return places (n, 2) of an image, mm from its middle, as columns and rows of its pixels."""
    shares = places / screen.size * (1, -1) + 0.5
    return np.asarray(shares * screen.display.pixels)
