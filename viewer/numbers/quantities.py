"""Each number once: its place in the JSON, words, unit, digits, which way is better.

Whatever shows numbers reads them from here: `check`, comparisons, the build log, the live views. So
a new number touches this file, the one that computes it, and `meanings.py`. Values are read from
what `Numbers.as_json` gives, or from what an older version stored of it, which may lack some.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from seamsight.scene.parts import own_part_name
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.units import (
    ARCMIN,
    DEGREES,
    DIOPTRES,
    MM,
    PERCENT,
    TIMES,
    YES_OR_NO,
    Unit,
    in_words,
)

Better = Literal["more", "less", "nearer 0", ""]


@dataclass(frozen=True)
class Quantity:
    """One number of a screen, a seam, a mark or a whole rig.

    Attributes
    ----------
    source : tuple of str or function
        The path of keys to it in the JSON, or what works it out of that JSON, in its unit.
    words : str
        What comparisons and the build log call it; "{}" is replaced by a name.
    unit : Unit
    better : str
        Which way is better: "more", "less", "nearer 0", or "" where neither is.
    heading : str
        What `check` calls it above a column, if not by its words.
    digits : int or None
        Decimals in `check`, if not those of its unit.
    """

    source: tuple[str, ...] | Callable[[Any], float | None]
    words: str
    unit: Unit
    better: Better
    heading: str = ""
    digits: int | None = None

    def value(self, tree: Any) -> float | None:
        """Return it in its unit, from the JSON that it is a number of; None where there is none."""
        if callable(self.source):
            return self.source(tree)
        found = number_at(tree, *self.source)
        return None if found is None else found * self.unit.scale

    def told(self, tree: Any) -> str:
        """Return it as `check` prints it, such as "98.3 %"; a dash where there is none."""
        return in_words(self.value(tree), self.unit, self.digits)


def number_at(tree: Any, *path: str) -> float | None:
    """Return the number at a path of keys, None where there is none."""
    for key in path:
        tree = tree.get(key) if isinstance(tree, Mapping) else None
    return float(tree) if isinstance(tree, int | float) and math.isfinite(tree) else None


def table_at(tree: Any, key: str) -> Mapping[str, Any]:
    """Return the table of a key, an empty one where there is none."""
    found = tree.get(key) if isinstance(tree, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def names_at(tree: Mapping[str, Any], key: str) -> list[str]:
    """Return the list of names of a key, an empty one where there is none."""
    found = tree.get(key)
    return [str(value) for value in found] if isinstance(found, list | tuple) else []


def scene_seams(numbers: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the seams that one scene runs across, each with the numbers of its two `screens`."""
    found = numbers.get("seams")
    seams = found if isinstance(found, list) else []
    screens = table_at(numbers, "screens")
    return [
        {**seam, "screens": [screens.get(name) for name in names_at(seam, "between")]}
        for seam in seams
        if isinstance(seam, Mapping) and seam.get("in_scene", True)
    ]


def hider_words(screen: str, part: str) -> str:
    """Return what to call a part, by its name, that hides some of a screen."""
    return "the edge of its own lens" if part == own_part_name(screen, "lens") else part


# ---- what is worked out of several numbers -------------------------------------------------------


def _viewing_distance(screen: Any) -> float | None:
    """Return how far the point between the eyes is from the image's centre, mm."""
    focus = number_at(screen, "image_dioptres")
    return 1000 / focus if focus else None


def _of_lens(ideal: float, unit: Unit, *path: str) -> Callable[[Any], float | None]:
    """Return what gives a number of a lens: an ideal one's, which the JSON leaves out, as well."""

    def value(screen: Any) -> float | None:
        seen_through = None not in (
            number_at(screen, "f_number"),
            number_at(screen, "image_dioptres"),
        )
        if seen_through and path[0] not in screen:
            return ideal
        found = number_at(screen, *path)
        return None if found is None else found * unit.scale

    return value


def _lost_at(side: str) -> Callable[[Any], float | None]:
    def lost(screen: Any) -> float | None:
        margins = _known(number_at(screen, "margin", side, eye) for eye in ("left", "right"))
        return sum(max(0.0, -margin) for margin in margins) if margins else None

    return lost


def _missing_at(screen: Any, side: str) -> float | None:
    """Return by how much the margin at a side is below what both eyes need, mm."""
    needed = number_at(screen, "gap_needed", side)
    present = number_at(screen, "margin", side, "mid")
    return None if needed is None or present is None else max(0.0, needed - present)


def _refocus(screen: Any) -> float | None:
    """Return by how much the focus in the corner farthest off departs from the middle's."""
    centre = number_at(screen, "focus", "centre")
    corner = _known(number_at(screen, "focus", way) for way in ("tangential", "sagittal"))
    return None if centre is None else max((abs(value - centre) for value in corner), default=None)


def _missing_at_worst(screen: Any) -> float | None:
    return max(_known(_missing_at(screen, side) for side in SIDES), default=None)


def _lost_at_seam(seam: Any) -> float | None:
    """Return the widest strip that an eye loses of an image at a seam, mm."""
    lost = table_at(seam, "lost")
    by_eye = [lost.get("left"), lost.get("right")]
    strips = [strip for of_eye in by_eye if isinstance(of_eye, list | tuple) for strip in of_eye]
    return max(_known(number_at(strip, "width") for strip in strips), default=None)


def _missing_along(seam: Any) -> float | None:
    # each side for itself: what one has to spare does not help the other
    sides = zip(seam["screens"], names_at(seam, "sides"), strict=False)
    missing = _known(_missing_at(screen, side) for screen, side in sides)
    return sum(missing) if missing else None


def _mean_seen(numbers: Any) -> float | None:
    seen = _of_outside_screens(numbers, lambda screen: number_at(screen, "seen", "both"))
    return 100 * sum(seen) / len(seen) if seen else None


def _widest_strip(numbers: Any) -> float | None:
    strips = (DARK_LEFT, DARK_RIGHT)
    widths = _known(strip.value(seam) for seam in scene_seams(numbers) for strip in strips)
    return max(widths, key=abs, default=None)


def _over_screens(
    quantity: Quantity, fold: Callable[[list[float]], float]
) -> Callable[[Any], float | None]:
    """Return what folds a number of a rig's outside screens into one."""

    def folded(numbers: Any) -> float | None:
        values = _of_outside_screens(numbers, quantity.value)
        return fold(values) if values else None

    return folded


def _of_outside_screens(numbers: Any, value: Callable[[Any], float | None]) -> list[float]:
    """Return a number of every outside screen; of every screen where a rig has no outside ones.

    None at all where one lacks it: some screens' alone may look better than all.
    """
    screens = table_at(numbers, "screens").values()
    outside = [screen for screen in screens if number_at(screen, "outside")]
    every = [value(screen) for screen in outside or screens]
    return [] if None in every else _known(every)


def _known(values: Iterable[float | None]) -> list[float]:
    return [value for value in values if value is not None]


# ---- of a screen ---------------------------------------------------------------------------------

SEEN_LEFT = Quantity(("seen", "left"), "seen by left eye", PERCENT, "more", "left sees")
SEEN_RIGHT = Quantity(("seen", "right"), "seen by right eye", PERCENT, "more", "right sees")
SEEN_BOTH = Quantity(("seen", "both"), "seen by both eyes", PERCENT, "more", "both see")
ACROSS = Quantity(
    ("visible", "both", "h"), "visible field, width", DEGREES, "more", "visible wide", digits=1
)
UP = Quantity(("visible", "both", "v"), "visible field, height", DEGREES, "more", "high", digits=1)
PIXEL = Quantity(("arcmin_per_px", "h"), "pixel size", ARCMIN, "less")
ENLARGED = Quantity(("magnification",), "magnification", TIMES, "", "magni-fication")
DISTANCE = Quantity(_viewing_distance, "viewing distance", MM, "", digits=0)
# common practice: the farther the eyes focus, the more they rest
FOCUS = Quantity(("image_dioptres",), "focus", DIOPTRES, "less")
LOST = tuple(
    Quantity(_lost_at(side), f"lost at the {side}, left + right eye", MM, "less") for side in SIDES
)
MISSING_WORST = Quantity(_missing_at_worst, "margin too small by, worst side", MM, "less")
DISTORTION = Quantity(
    _of_lens(0.0, DEGREES, "distortion"), "distortion at the image's edge", DEGREES, "less"
)
COLOUR = Quantity(_of_lens(0.0, ARCMIN, "colour"), "colour fringes, red to blue", ARCMIN, "less")
LIGHT = Quantity(
    _of_lens(100.0, PERCENT, "light", "corner"), "light in the corners", PERCENT, "more"
)
SHARP = Quantity(_of_lens(0.0, ARCMIN, "sharp", "corner"), "blur in the corners", ARCMIN, "less")
HEIGHT = Quantity(("binocular", "vertical"), "height difference between eyes", ARCMIN, "less")
VERGENCE = Quantity(("binocular", "vergence"), "extra turn of the eyes, in or out", ARCMIN, "less")
REFOCUS = Quantity(_refocus, "focus difference, corner to centre", DIOPTRES, "less")
SWIM = Quantity(("swim",), "image drift, head 30 mm sideways", ARCMIN, "less")
SPREAD = Quantity(("diffraction",), "blur by diffraction at the grooves", ARCMIN, "less")
BANDS = Quantity(("moire", "period"), "moiré bands, width", ARCMIN, "less")
LARGER = Quantity(("angular", "h"), "angular magnification", TIMES, "more")
HIDDEN = Quantity((), "hidden by {}", PERCENT, "less")

OF_SCREEN = (
    SEEN_LEFT,
    SEEN_RIGHT,
    SEEN_BOTH,
    ACROSS,
    UP,
    PIXEL,
    ENLARGED,
    DISTANCE,
    FOCUS,
    *LOST,
    MISSING_WORST,
    DISTORTION,
    COLOUR,
    LIGHT,
    SHARP,
    HEIGHT,
    VERGENCE,
    REFOCUS,
    SWIM,
    SPREAD,
    BANDS,
    LARGER,
)
COLUMNS = (
    (ENLARGED,),
    (DISTANCE,),
    (ACROSS, UP),
    (PIXEL,),
    (SEEN_LEFT,),
    (SEEN_RIGHT,),
    (SEEN_BOTH,),
)
"""What the table of screens of `check` shows; a pair shares one column, with "×" between."""

# ---- of a seam -----------------------------------------------------------------------------------

DARK_LEFT = Quantity(("dark", "left"), "dark strip, left eye", DEGREES, "nearer 0")
DARK_RIGHT = Quantity(("dark", "right"), "dark strip, right eye", DEGREES, "nearer 0")
DARK_MID = Quantity(("dark", "mid"), "dark strip, between the eyes", DEGREES, "nearer 0")
BOTH_WHOLE = Quantity(("both_whole",), "no strip lost to either eye", YES_OR_NO, "more")
MISSING_ALONG = Quantity(_missing_along, "margin too small by, both sides", MM, "less")

LOST_ALONG = Quantity(_lost_at_seam, "lost strip, widest", MM, "less")

OF_SEAM = (DARK_LEFT, DARK_RIGHT, DARK_MID, BOTH_WHOLE, LOST_ALONG, MISSING_ALONG)

# ---- of one of the lenses that could be in front of a screen -------------------------------------

VISIBLE_ACROSS = Quantity(("field", "h"), "visible wide", DEGREES, "more", digits=1)
VISIBLE_UP = Quantity(("field", "v"), "high", DEGREES, "more", digits=1)
STRIP = Quantity(("lost",), "lost strip", MM, "less")
CORNER_LIGHT = Quantity(("light", "corner"), "corner light", PERCENT, "more", digits=0)
SHIFT = Quantity(("distortion",), "distortion", DEGREES, "less")
BLUR = Quantity(("blur", "corner"), "corner blur", ARCMIN, "less", digits=1)

LENS_COLUMNS = ((VISIBLE_ACROSS, VISIBLE_UP), (STRIP,), (CORNER_LIGHT,), (SHIFT,), (BLUR,))
"""What the table of lens models of `check` shows."""

# ---- of a mark, of a whole rig -------------------------------------------------------------------

OFF = Quantity(("off",), "{}, off by", MM, "less")

MEAN_SEEN = Quantity(_mean_seen, "seen by both eyes, mean", PERCENT, "more")
WIDEST_STRIP = Quantity(_widest_strip, "dark strip, widest", DEGREES, "nearer 0")

OF_RIG = (
    MEAN_SEEN,
    Quantity(_over_screens(ACROSS, sum), "visible field, widths added up", DEGREES, "more"),
    Quantity(_over_screens(PIXEL, max), "pixel size, largest", ARCMIN, "less"),
    Quantity(_over_screens(FOCUS, max), "focus, nearest", DIOPTRES, "less"),
    WIDEST_STRIP,
    Quantity(_over_screens(MISSING_WORST, max), "margin too small by, worst side", MM, "less"),
)

STRIPS = (DARK_LEFT, DARK_RIGHT, DARK_MID, WIDEST_STRIP)
"""Dark strips: no gain where the quantity at the same place in `LOSSES` gets worse."""

LOSSES = (LOST_ALONG, BOTH_WHOLE, MEAN_SEEN)

MAIN = (SEEN_BOTH, DARK_MID)
"""What comparisons show even where nothing differs or not all have it."""

WEIGHTY = (*MAIN, MISSING_ALONG, ACROSS, PIXEL, FOCUS, BOTH_WHOLE)
"""What comes first where there is no room for all."""
