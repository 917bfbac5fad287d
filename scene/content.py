"""What a screen shows, at its own native pixels; all but the outside view, which needs an eye."""

import functools
import math
from collections.abc import Hashable, Sequence

import numpy as np
from PIL import Image, ImageDraw, ImageOps

from seamsight.scene import files
from seamsight.scene.display import Wide
from seamsight.scene.files import Picture
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.lettering import font
from seamsight.scene.rig import Rig

MOST_PIXELS = 50_000_000  # of a rig's screens together; painting as many takes some 8 s

_INK = (226, 232, 236)
_DIM = (96, 108, 118)
_ACCENT = (255, 190, 92)
_GROUND = (34, 46, 58)


def coarseness(screens: Sequence[PlacedScreen]) -> int:
    """Return how many pixels each way to show as one, so that a rig's screens fit into memory.

    It is 1 for nearly all rigs: six screens of 3840 x 2160 pixels fit, or thirteen of 2560 x 1440.
    """
    across_down = (screen.display.pixels for screen in screens)
    pixels = sum(across * down for across, down in across_down)
    return math.ceil(math.sqrt(pixels / MOST_PIXELS)) or 1


def shown_pixels(screen: PlacedScreen, coarse: int) -> tuple[int, int]:
    """Return how many pixels across and down a screen shows where so many, each way, are one."""
    across, down = screen.display.pixels
    return max(1, across // coarse), max(1, down // coarse)


def native_picture(screen: PlacedScreen, rig: Rig, coarse: int = 1) -> Picture:
    """Return what a screen shows as (h, w, 3) uint8 sRGB, top row first, at its native pixels.

    With `coarse` above 1 so many of them, each way, are one.

    Raises
    ------
    FileError
        When a picture file cannot be read.
    """
    width, height = shown_pixels(screen, coarse)
    shows = screen.shows
    if isinstance(shows, Wide):
        picture = Image.fromarray(files.read_picture(files.beside(rig.file, shows.wide)))
        left, right = (picture.width * part / shows.of for part in (shows.part - 1, shows.part))
        return np.asarray(picture.resize((width, height), box=(left, 0, right, picture.height)))

    if shows == "black":
        return np.zeros((height, width, 3), np.uint8)
    if shows == "card":
        return test_card(screen.name, width, height, coarse)

    picture = Image.fromarray(files.read_picture(files.beside(rig.file, shows)))
    return np.asarray(ImageOps.pad(picture, (width, height), color="black"))


def native_key(screen: PlacedScreen, rig: Rig, coarse: int = 1) -> Hashable:
    """Return what decides `native_picture`: those of equal keys are the same.

    Raises
    ------
    FileError
        When a picture file cannot be opened.
    """
    pixels = shown_pixels(screen, coarse)
    shows = screen.shows
    if shows in ("black", "card"):
        return shows, screen.name, pixels, coarse
    path = files.beside(rig.file, shows.wide if isinstance(shows, Wide) else shows)
    return shows, path, files.saved_at(path), pixels


# A card of 1920 x 1080 pixels takes 60 ms and 6 MB, and each size that a screen is drawn in asks
# for it anew. 32 are those of a rig with more screens than any so far.
@functools.lru_cache(maxsize=32)
def test_card(name: str, width: int, height: int, coarse: int = 1) -> Picture:
    """Return a test card (h, w, 3): border, rulers in pixels, cross, circles, names of corners.

    The rulers count the screen's own pixels, of which so many, each way, are one of the card's.
    """
    image = Image.new("RGB", (width, height), _GROUND)
    draw = ImageDraw.Draw(image)
    line = max(1, min(width, height) // 350)

    _rulers(draw, width, height, line, coarse)
    _circles(draw, width, height, line)
    draw.line([(0, height / 2), (width, height / 2)], fill=_INK, width=line)
    draw.line([(width / 2, 0), (width / 2, height)], fill=_INK, width=line)
    _names(draw, name, width, height)
    draw.rectangle([0, 0, width - 1, height - 1], outline=_ACCENT, width=2 * line)

    card = np.array(image)
    card.flags.writeable = False
    return card


def _rulers(draw: ImageDraw.ImageDraw, width: int, height: int, line: int, coarse: int) -> None:
    """Draw a grid each 100 pixels, ticks each 10 and 50 on the middle lines, figures each 200."""
    letters = font(max(8.0, min(width, height) / 45))
    for across, length, other in ((True, width, height), (False, height, width)):
        for at in range(10, length, 10):
            # a line goes from side to side, a tick a little way about the middle
            is_line = at % 100 == 0
            reach = other / 2 if is_line else other / (60 if at % 50 == 0 else 120)
            start, stop = (other / 2 + way * reach for way in (-1, 1))
            ends = [(at, start), (at, stop)] if across else [(start, at), (stop, at)]
            draw.line(ends, fill=_DIM if is_line else _INK, width=line if is_line else 1)

            if at % 200 == 0:
                place = (at, other / 2 + other / 50) if across else (other / 2 + other / 80, at)
                draw.text(
                    place,
                    str(at * coarse),
                    fill=_INK,
                    font=letters,
                    anchor="ma" if across else "lm",
                )


def _circles(draw: ImageDraw.ImageDraw, width: int, height: int, line: int) -> None:
    short = min(width, height)
    for share in (0.2, 0.4):
        radius = short * share
        box = [width / 2 - radius, height / 2 - radius, width / 2 + radius, height / 2 + radius]
        draw.ellipse(box, outline=_ACCENT, width=line)
    radius = short * 0.09
    for x in (radius * 1.3, width - radius * 1.3):
        for y in (radius * 1.3, height - radius * 1.3):
            draw.ellipse([x - radius, y - radius, x + radius, y + radius], outline=_INK, width=line)


def _names(draw: ImageDraw.ImageDraw, name: str, width: int, height: int) -> None:
    short = min(width, height)
    inset = short * 0.23

    letters = font(max(8.0, short / 28))
    for x, sideways in ((inset, "left"), (width - inset, "right")):
        anchor = "lm" if x == inset else "rm"
        for y, upright in ((inset * 0.5, "top"), (height - inset * 0.5, "bottom")):
            corner = f"{upright} {sideways}"
            draw.text((x, y), corner, fill=_ACCENT, font=letters, anchor=anchor)

    letters = font(max(10.0, short / 14))
    draw.text((width / 2, height * 0.27), name, fill=_INK, font=letters, anchor="mm")
