"""Sheets: a picture with a degree scale, caption and notes, and where it is from."""

import io
import math
import textwrap
from collections.abc import Iterator
from importlib.metadata import version

from PIL import Image, ImageDraw, PngImagePlugin

from seamsight.scene.lettering import font
from seamsight.viewer.projection import Projection

PAPER, INK, FAINT = (247, 246, 242), (38, 42, 48), (128, 132, 138)
_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 45.0, 90.0)  # degrees between the scale's figures


def with_scale(picture: Image.Image, projection: Projection, caption: str) -> Image.Image:
    """Return a picture with its caption above and a degree scale along its edges.

    The scale gives azimuths (clockwise, 0 straight ahead) below and elevations (up positive) at the
    left; in a rectilinear picture they hold along its middle lines, and in a tilted one count from
    its middle.
    """
    # leave room around the picture
    letter = letter_of(picture.width)
    lines = _wrapped(caption, picture.width, 0.56 * letter)
    left = round(3.6 * letter)
    top = round((0.7 + 1.3 * len(lines)) * letter)
    bottom = round(2.4 * letter)
    whole = (picture.width + left + 2 * letter, picture.height + top + bottom)
    sheet = Image.new("RGB", whole, PAPER)
    sheet.paste(picture, (left, top))

    # write the caption
    draw = ImageDraw.Draw(sheet)
    letters = font(letter)
    for number, line in enumerate(lines):
        draw.text((left, (0.3 + 1.3 * number) * letter), line, fill=INK, font=letters)

    # draw the scale, with long ticks at its figures
    foot = top + picture.height
    for place, text, long in _azimuth_ticks(projection, letter):
        x = left + place
        end = foot + letter * (0.6 if long else 0.3)
        draw.line([(x, foot), (x, end)], fill=INK if long else FAINT)
        draw.text((x, foot + 0.8 * letter), text, fill=INK, font=letters, anchor="ma")
    for place, text, long in _elevation_ticks(projection, letter):
        y = top + place
        end = left - letter * (0.6 if long else 0.3)
        draw.line([(end, y), (left - 1, y)], fill=INK if long else FAINT)
        draw.text((left - 0.8 * letter, y), text, fill=INK, font=letters, anchor="rm")
    return sheet


def noted(sheet: Image.Image, notes: list[str], letter: int = 0) -> Image.Image:
    """Return a sheet with notes below it, each on lines of its own.

    The lettering is so many pixels high; if not told, as it suits the sheet's width.
    """
    letter = letter or letter_of(sheet.width)
    lines = [line for note in notes for line in _wrapped(note, sheet.width, 0.58 * letter)]
    height = sheet.height + round(1.6 * letter * len(lines) + letter)
    whole = Image.new("RGB", (sheet.width, height), PAPER)
    whole.paste(sheet, (0, 0))

    draw = ImageDraw.Draw(whole)
    letters = font(letter)
    for number, line in enumerate(lines):
        y = sheet.height + 1.6 * letter * number + letter / 2
        draw.text((letter, y), line, fill=INK, font=letters)
    return whole


def stacked(sheets: list[Image.Image]) -> Image.Image:
    """Return pictures one below the other."""
    width = max(sheet.width for sheet in sheets)
    height = sum(sheet.height for sheet in sheets)
    whole = Image.new("RGB", (width, height), PAPER)
    y = 0
    for sheet in sheets:
        whole.paste(sheet, (0, y))
        y += sheet.height
    return whole


def png(image: Image.Image, facts: dict[str, str]) -> bytes:
    """Return a picture as a PNG file that carries facts as text.

    Its own are the program's name and version.
    """
    info = PngImagePlugin.PngInfo()
    for key, text in {"Software": f"seamsight {version('seamsight')}", **facts}.items():
        # a file name may contain bytes that are no text
        info.add_itxt(key, text.encode("utf-8", "replace").decode())
    stream = io.BytesIO()
    image.save(stream, "PNG", pnginfo=info, compress_level=6)
    return stream.getvalue()


def letter_of(width: int) -> int:
    """Return the height of the lettering, in pixels, for a picture of some width."""
    return max(11, round(width / 90))


def _wrapped(text: str, width: int, letter_width: float) -> list[str]:
    """Return a text in lines that fit into a width, all in pixels."""
    return textwrap.wrap(text, max(16, int(width / letter_width)))


Tick = tuple[float, str, bool]


def _azimuth_ticks(projection: Projection, letter: int) -> Iterator[Tick]:
    start = projection.azimuth if _is_tilted(projection) else 0.0
    low, high = (projection.azimuth_at(at - 0.5) - start for at in (0, projection.width))
    for angle, long in _angles(low, high, projection.width / (4.5 * letter)):
        named = (angle + 180) % 360 - 180
        yield projection.column_at(angle + start) + 0.5, _signed(named) if long else "", long


def _elevation_ticks(projection: Projection, letter: int) -> Iterator[Tick]:
    start = projection.elevation if _is_tilted(projection) else 0.0
    low, high = (projection.elevation_at(at - 0.5) - start for at in (projection.height, 0))
    for angle, long in _angles(low, high, projection.height / (2.5 * letter)):
        yield projection.row_at(angle + start) + 0.5, _signed(angle) if long else "", long


def _is_tilted(projection: Projection) -> bool:
    return projection.kind == "rectilinear" and projection.tilt != 0


def _signed(angle: float) -> str:
    return f"{angle:+g}°".replace("-", "−") if angle else "0°"


def _angles(low: float, high: float, most: float) -> Iterator[tuple[float, bool]]:
    """Yield the angles of a scale, and whether each has its figure.

    Five go to each of at most so many figures.
    """
    fine = next((step for step in _STEPS if (high - low) / step <= most), _STEPS[-1]) / 5
    for number in range(math.ceil(low / fine - 1e-9), math.floor(high / fine + 1e-9) + 1):
        yield round(number * fine, 6), number % 5 == 0
