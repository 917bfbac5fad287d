"""The desktop drawn to scale: which output and which screen has which pixels."""

from collections.abc import Iterator

from PIL import Image, ImageDraw

from seamsight.scene.lettering import font
from seamsight.viewer.setup.desktop import Rectangle, around
from seamsight.viewer.setup.signal_advice import advice, size_words
from seamsight.viewer.setup.signals import Signal, Signals
from seamsight.viewer.sheet import FAINT, INK, PAPER, noted

FITS, FITS_NOT = (33, 102, 172), (178, 58, 72)  # blue and red, as in maps of head positions
SHADES = ((226, 235, 242), (212, 225, 235))  # of neighbouring screens

SMALLEST = 8  # pixels, of lettering

Box = tuple[float, float, float, float]


def desktop_picture(found: Signals, title: str, width: int) -> Image.Image:
    """Return the desktop to scale, so many pixels wide, with notes on what does not fit."""
    return noted(desktop_drawing(found, title, width), list(_notes(found)), _letter(width))


def desktop_drawing(found: Signals, title: str, width: int) -> Image.Image:
    """Return the desktop to scale, so many pixels wide."""
    letter = _letter(width)
    margin = 4 * letter
    whole = around([*found.desktop.outputs.values()])
    scale = min((width - 2 * margin) / whole.width, 1.2 * width / whole.height)
    height = round(whole.height * scale) + round(6.5 * letter)
    sheet = Image.new("RGB", (width, height), PAPER)
    draw = ImageDraw.Draw(sheet)
    caption = f"{title}: the desktop, {size_words((whole.width, whole.height))} pixels"
    draw.text((margin, 0.7 * letter), caption, fill=INK, font=font(letter))

    on_sheet = _Scale(whole, scale, (margin, 3 * letter))
    for signal in found.signals:
        _draw_screens(draw, found, signal, on_sheet, letter)
    for signal in found.signals:
        _draw_output(draw, found, signal, on_sheet, letter)
    _draw_edges(draw, found, on_sheet, letter)
    return sheet


def _letter(width: int) -> int:
    """Return the height of the lettering for a width, both in pixels."""
    return max(13, width // 80)


class _Scale:
    """From desktop pixels to a sheet's."""

    def __init__(self, whole: Rectangle, scale: float, corner: tuple[int, int]) -> None:
        self._whole = whole
        self._scale = scale
        self._corner = corner

    def box(self, place: Rectangle) -> Box:
        """Return where a rectangle's left, top, right and bottom edges are drawn."""
        left, top = self.at(place.x, place.y)
        right, bottom = self.at(place.right, place.bottom)
        return left, top, right, bottom

    def at(self, x: int, y: int) -> tuple[float, float]:
        """Return where a pixel's upper left corner is drawn."""
        left, top = self._corner
        return left + (x - self._whole.x) * self._scale, top + (y - self._whole.y) * self._scale


def _draw_screens(
    draw: ImageDraw.ImageDraw, found: Signals, signal: Signal, scale: _Scale, letter: int
) -> None:
    """Draw an output's screens, each with its name and pixels."""
    for number, name in enumerate(signal.output.screens):
        place = found.desktop.screens[name]
        box = scale.box(place)
        draw.rectangle(box, fill=SHADES[number % 2], outline=FAINT)
        own = next(screen.display.pixels for screen in signal.screens if screen.name == name)
        lines = [name, size_words((place.width, place.height)), f"at {place.x}, {place.y}"]
        if own not in ((place.width, place.height), (place.height, place.width)):
            lines.append(f"scaled to {size_words(own)}")
        left, top, right, bottom = box
        below_name = min(top + 1.4 * letter, bottom)
        _write_in(draw, (left, below_name, right, bottom), lines, letter)


def _draw_output(
    draw: ImageDraw.ImageDraw, found: Signals, signal: Signal, scale: _Scale, letter: int
) -> None:
    """Draw a frame around an output's screens, with its name in the corner."""
    output = signal.output
    colour = FITS if signal.fits else FITS_NOT
    box = scale.box(found.desktop.outputs[output.name])
    draw.rectangle(box, outline=colour, width=3)
    words = f"{output.name}, {output.refresh:g} Hz"
    words = words if signal.fits else f"{words}: does not fit"
    size = _fitting(draw, [words], (box[2] - box[0] - 12, 2 * letter), letter) or SMALLEST
    draw.text((box[0] + 6, box[1] + 4), words, fill=colour, font=font(size), anchor="la")


def _write_in(draw: ImageDraw.ImageDraw, box: Box, lines: list[str], letter: int) -> None:
    """Write lines in the middle of a box, as small as they must be to stay inside."""
    left, top, right, bottom = box
    size = _fitting(draw, lines, (right - left - 8, bottom - top - 8), letter)
    if size:
        middle = ((left + right) / 2, (top + bottom) / 2)
        text = "\n".join(lines)
        draw.multiline_text(middle, text, fill=INK, font=font(size), anchor="mm", align="center")


def _fitting(
    draw: ImageDraw.ImageDraw, lines: list[str], room: tuple[float, float], letter: int
) -> int:
    """Return the largest lettering, pixels, with which lines fit into a room; 0 if none does."""
    for size in range(letter, SMALLEST - 1, -1):
        wide = max(draw.textlength(line, font=font(size)) for line in lines)
        if wide <= room[0] and 1.4 * size * len(lines) <= room[1]:
            return size
    return 0


def _draw_edges(draw: ImageDraw.ImageDraw, found: Signals, scale: _Scale, letter: int) -> None:
    """Write below the desktop at which columns its outputs begin and end."""
    whole = found.desktop.whole
    letters = font(max(11, round(0.8 * letter)))
    written = -float("inf")
    edges = {edge for place in found.desktop.outputs.values() for edge in (place.x, place.right)}
    for edge in sorted(edges):
        x, y = scale.at(edge, whole.bottom)
        draw.line([(x, y + 2), (x, y + 0.7 * letter)], fill=FAINT)
        half = draw.textlength(str(edge), font=letters) / 2
        if x - half > written:
            draw.text((x, y + 0.9 * letter), str(edge), fill=INK, font=letters, anchor="ma")
            written = x + half + 4


def _notes(found: Signals) -> Iterator[str]:
    yield "Pixels from the desktop's left and top. Links are judged as an upper bound."
    for line in advice(found):
        yield f"{line.output}: {line.text}" if line.output else line.text
