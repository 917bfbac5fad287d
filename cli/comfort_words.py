"""What a real lens asks of two eyes, in plain words, compared with published limits."""

from seamsight.viewer.numbers.comfort import ASIDE, Comfort
from seamsight.viewer.numbers.units import ARCMIN, DIOPTRES, in_words, number_words

# at the eye, between the barrels of binoculars: a handbook of binocular astronomy, table 2.1,
# as quoted at astronomyclub.xyz; stereo projection allows 17′ up and down (Three-Dimensional
# Photography: Principles of Stereoscopy, p. 82), and takes half of that as its working limit
UP_DOWN, EASY_UP_DOWN = 15.0, 8.6  # arcmin
INWARDS, OUTWARDS = 45.0, 20.0  # arcmin

# depth of field of an eye with a 3 mm pupil, at best about ±0.3 D (Campbell, thesis, Glasgow)
DEPTH_OF_FOCUS = 0.3  # dioptres

# patents on rear projection aim at ratios of N + 0.35 to 0.45 or N + 0.55 to 0.65 (from memory)
FAR_FROM_WHOLE = 0.35


def comfort_words(found: Comfort, pixel: float | None) -> list[str]:
    """Return what a grooved lens asks of two eyes, a sentence each.

    Parameters
    ----------
    found : Comfort
        Of a screen with a grooved lens.
    pixel : float or None
        How large one of its pixels looks, arcmin, if that can be told.
    """
    return [
        *_height_words(found),
        *_vergence_words(found),
        *_focus_words(found),
        *_swim_words(found),
        *_groove_words(found, pixel),
        *_moire_words(found),
    ]


def _height_words(found: Comfort) -> list[str]:
    if found.binocular is None:
        return ["both eyes see no common point of it through the grooved lens."]
    vertical = found.binocular["vertical"]
    verdict = f"more than the {UP_DOWN:.0f}′ allowed in binoculars: expect tired eyes"
    if vertical <= EASY_UP_DOWN:
        verdict = f"well within the {UP_DOWN:.0f}′ allowed in binoculars"
    elif vertical <= UP_DOWN:
        verdict = f"near the {UP_DOWN:.0f}′ allowed in binoculars: it may tire the eyes"
    apart = in_words(vertical, ARCMIN, 1)
    return [f"one eye sees a point up to {apart} higher than the other does, {verdict}."]


def _vergence_words(found: Comfort) -> list[str]:
    if found.binocular is None:
        return []
    ways = [
        (found.binocular["converge"], INWARDS, "in"),
        (found.binocular["diverge"], OUTWARDS, "out"),
    ]
    turned, most, way = max(ways, key=lambda each: each[0] / each[1])
    verdict = f"within the {most:.0f}′ allowed in binoculars"
    if turned > most:
        verdict = f"more than the {most:.0f}′ allowed in binoculars: expect tired eyes"
    turn = in_words(turned, ARCMIN, 1)
    return [f"the eyes must turn {way} by up to {turn} more than for a flat image, {verdict}."]


def _focus_words(found: Comfort) -> list[str]:
    focus = found.focus or {}
    centre, tangential, sagittal = map(focus.get, ("centre", "tangential", "sagittal"))
    if centre is None or tangential is None or sagittal is None:
        return []
    corner = sorted((tangential, sagittal))
    low, high = (number_words(value, DIOPTRES.digits) for value in corner)
    asked = f"the eyes must focus to {number_words(centre, DIOPTRES.digits)} dioptres at its centre"
    verdict = f"both look sharp at once (an eye tolerates about {DEPTH_OF_FOCUS:g})"
    if max(*corner, centre) - min(*corner, centre) > DEPTH_OF_FOCUS:
        verdict = (
            f"an eye tolerates about {DEPTH_OF_FOCUS:g} apart, so never both look sharp at once"
        )
    return [f"{asked} and {low} to {high} in a corner: {verdict}."]


def _swim_words(found: Comfort) -> list[str]:
    if found.swim is None:
        return []
    drift = in_words(found.swim, ARCMIN, 1)
    moved = f"when the head moves {ASIDE:.0f} mm sideways"
    return [f"the image swims: {moved}, its points drift by up to {drift}."]


def _groove_words(found: Comfort, pixel: float | None) -> list[str]:
    if found.diffraction is None or pixel is None or found.diffraction <= pixel:
        return []
    spread = in_words(found.diffraction, ARCMIN, 1)
    return [
        f"diffraction at the grooves spreads a point by {spread}, more than a pixel: coarser "
        "grooves blur less."
    ]


def _moire_words(found: Comfort) -> list[str]:
    if found.moire is None or found.moire["ratio"] is None:
        return []
    ratio, period = found.moire["ratio"], found.moire["period"]
    whole = round(ratio)
    if abs(ratio - whole) >= FAR_FROM_WHOLE:
        return []
    wide = "endlessly wide" if period is None else f"{in_words(period, ARCMIN, 0)} wide"
    better = " or ".join(number_words(whole + off, 1) for off in (-0.4, 0.4) if whole + off > 1)
    return [
        f"pixels and grooves are {number_words(ratio, 2)} to 1, near a whole number, and may show "
        f"bands {wide} (moiré): a groove pitch or distance that makes it {better} to 1 avoids them "
        "(from memory)."
    ]
