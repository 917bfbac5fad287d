"""Timings of a mode by five standards: pixel clock and blanking, in closed formulas or from a list.

A mode is a number of pixels across and down and a refresh rate. Between its lines and pictures a
signal rests (blanking), so that more pixels a second go through a cable than a screen shows; how
many more is what the standards differ in.
"""

import functools
import math
from dataclasses import dataclass

from seamsight.viewer.setup import listed_modes

CVT, CVT_RB, CVT_RB2, DMT, CTA = "CVT", "CVT-RB", "CVT-RB2", "DMT", "CTA-861"
STANDARDS = {
    DMT: "VESA Display Monitor Timings 1.0 revision 13, 2013: modes one by one",
    CTA: "CTA-861-H, 2021: modes of television sets, one by one",
    CVT: "VESA Coordinated Video Timings 1.1, 2003: full blanking, for cathode ray tubes too",
    CVT_RB: "the same with reduced blanking, for flat screens",
    CVT_RB2: "VESA Coordinated Video Timings 1.2, 2013: reduced blanking, version 2",
}
"""What each standard is, in the order in which its timings are told. Dates are from memory."""

Pixels = tuple[int, int]

NAMED_WITHIN = 0.0015  # share of a rate, by which it may differ from a listed one

_CELL = 8  # pixels, in which CVT counts
_FRONT_PORCH = 3  # lines, of CVT and its first reduced blanking
_BACK_PORCH = 6  # lines, at least
_SYNC_LINES = {(4, 3): 4, (16, 9): 5, (16, 10): 6, (5, 4): 7, (15, 9): 7}  # by CVT, by aspect
_OTHER_SYNC_LINES = 10
_CLOCK_STEP = 250  # kHz


@dataclass(frozen=True)
class Timing:
    """A mode's timing by one standard.

    Attributes
    ----------
    standard : str
    clock : int
        Pixels a second, with blanking; kHz.
    total : (int, int)
        Pixels of a line and lines of a picture, with blanking.
    code : str
        The standard's own number for it, where it has one.
    """

    standard: str
    clock: int
    total: Pixels
    code: str = ""

    @property
    def rate(self) -> float:
        """The refresh rate that comes out, Hz."""
        return 1000 * self.clock / (self.total[0] * self.total[1])


def timings(pixels: Pixels, refresh: float) -> tuple[Timing, ...]:
    """Return a mode's timing by each standard that has one; the lists may have several."""
    formulas = (cvt, cvt_rb, cvt_rb2)
    return (*listed(pixels, refresh), *(formula(pixels, refresh) for formula in formulas))


def cvt(pixels: Pixels, refresh: float) -> Timing:
    """Return the timing by VESA CVT 1.1 (2003), with full blanking.

    Its blanking takes the share `30 - 300 h / 1000` of a line, h its time in ms x 1000, and at
    least 20 percent; sync and back porch last 550 us or longer. Widths are rounded up to 8 pixels,
    as the program `cvt` of xcvt 0.1.2 does: a screen needs all that it has.
    """
    width, height = _in_cells(pixels[0]), pixels[1]
    line = (1e6 / refresh - 550) / (height + _FRONT_PORCH)  # us
    sync = _sync_lines(pixels)
    back = max(math.floor(550 / line) + 1, sync + _BACK_PORCH)

    share = max(20.0, 30 - 300 * line / 1000)  # percent
    blank = math.floor(width * share / (100 - share) / (2 * _CELL)) * 2 * _CELL
    total = (width + blank, height + back + _FRONT_PORCH)
    return Timing(CVT, _stepped(total[0] / line * 1000, _CLOCK_STEP), total)


def cvt_rb(pixels: Pixels, refresh: float) -> Timing:
    """Return the timing by VESA CVT 1.1 (2003), reduced blanking.

    160 pixels of each line are blank, and 460 us or more of each picture.
    """
    least = _FRONT_PORCH + _sync_lines(pixels) + _BACK_PORCH
    total = (_in_cells(pixels[0]) + 160, pixels[1] + _reduced_lines(pixels[1], refresh, least))
    return Timing(CVT_RB, _stepped(refresh * total[0] * total[1] / 1000, _CLOCK_STEP), total)


def cvt_rb2(pixels: Pixels, refresh: float) -> Timing:
    """Return the timing by VESA CVT 1.2 (2013), reduced blanking version 2.

    80 pixels of each line are blank, and 460 us or more of each picture, at least 15 lines.
    """
    total = (pixels[0] + 80, pixels[1] + _reduced_lines(pixels[1], refresh, 15))
    return Timing(CVT_RB2, _stepped(refresh * total[0] * total[1] / 1000, 1), total)


def listed(pixels: Pixels, refresh: float) -> tuple[Timing, ...]:
    """Return the timings that DMT and CTA-861 list for a mode.

    They are listed by whole Hz; a rate lower by 1 in 1001, as of colour television, counts too.
    """
    named = round(refresh)
    if abs(refresh - named) > NAMED_WITHIN * named:
        return ()
    return _listed().get((*pixels, named), ())


def _in_cells(width: int) -> int:
    return math.ceil(width / _CELL) * _CELL


def _stepped(clock: float, step: int) -> int:
    """Return a clock, kHz, rounded down to whole steps."""
    return math.floor(clock / step + 1e-9) * step


def _reduced_lines(height: int, refresh: float, least: int) -> int:
    """Return the blank lines of a picture: 460 us or more, and so many lines at least."""
    line = (1e6 / refresh - 460) / height  # us
    return max(math.floor(460 / line) + 1, least)


def _sync_lines(pixels: Pixels) -> int:
    """Return how many lines CVT's vertical sync lasts, which tells receivers the aspect."""
    width, height = pixels
    for (across, down), lines in _SYNC_LINES.items():
        if width * down == height * across:
            return lines
    return _OTHER_SYNC_LINES


@functools.cache
def _listed() -> dict[tuple[int, int, int], tuple[Timing, ...]]:
    """Return the listed timings by pixels across, down, and whole Hz."""
    found: dict[tuple[int, int, int], tuple[Timing, ...]] = {}
    tables = ((DMT, listed_modes.DMT, "DMT"), (CTA, listed_modes.CTA, "VIC"))
    for standard, table, numbered in tables:
        for row in table.strip().splitlines():
            pixels, refresh, clock, total, code = row.split()
            key = (*_sides(pixels), int(refresh))
            timing = Timing(standard, int(clock), _sides(total), f"{numbered} {code}")
            found[key] = (*found.get(key, ()), timing)
    return found


def _sides(text: str) -> Pixels:
    across, _, down = text.partition("x")
    return int(across), int(down)
