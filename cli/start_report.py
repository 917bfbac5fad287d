"""What `start` says of a rig from measures: what was chosen, why, and what to run next."""

import math
import shlex
from pathlib import Path

from seamsight.scene.starting import (
    GOOD_F_NUMBER,
    STEP,
    USUAL_RADIUS,
    WIDEST_FIELD,
    Choice,
    Measures,
    at_radius,
    nearest_radius,
)
from seamsight.scene.units import MM_PER_UNIT

FITTING = 1.0005  # overfill up to which an image just fills its lens
WHOLE = 1e-4  # share of an image that is lost to rounding only
ARCMIN = math.radians(1 / 60)


def chosen(measures: Measures, choice: Choice) -> list[str]:
    """Return what was chosen and why, a line each."""
    width, height = measures.unit
    up = 2 * math.degrees(math.atan2(height / 2, choice.radius))
    field = f"{choice.toe * measures.count:.0f}° across and {up:.0f}° up"
    if measures.lens is None:
        lines = [f"The screens are {choice.radius:.0f} mm from your eyes and cover {field}."]
        if measures.count > 1:
            bezels = 2 * math.degrees(math.atan2(width / 2, choice.radius))
            bezels -= 2 * math.degrees(math.atan2(measures.image[0] / 2, choice.radius))
            lines += [
                f"Between neighbours are {choice.toe:.1f}°: their bezels touch.",
                f"The bezels leave a dark strip {bezels:.1f}° wide at each seam; only lenses hide "
                "it.",
            ]
        return lines

    lines = [
        f"The lenses are {choice.radius:.0f} mm from your eyes and cover {field}."
        f"{_why_so_far(measures, choice)}"
    ]
    lines += _distance_lines(measures, choice)
    inches = measures.diagonal / MM_PER_UNIT["in"]
    pixel = measures.image[0] * choice.magnification / measures.pixels[0] / choice.image_distance
    lines += [
        f"Each screen looks like one of {inches * choice.magnification:.0f} inches, "
        f"{choice.image_distance:.0f} mm away ({1000 / choice.image_distance:.2f} dioptres); "
        f"a pixel looks {math.atan(pixel) / ARCMIN:.1f}′ wide.",
    ]
    if measures.f_number < GOOD_F_NUMBER:
        long = 10 * math.ceil(GOOD_F_NUMBER * math.hypot(*measures.lens) / 10)
        lines.append(
            f"A real lens of f/{measures.f_number:.2f} has dark, blurred corners; better is a "
            f"focal length of {long} mm or more."
        )
    if measures.count > 1:
        lines += [
            f"Between neighbours are {choice.toe:.1f}°: their lenses touch, and seen from between "
            "the eyes no bezel shows.",
            "Each eye, a little to one side of that, still sees a dark strip at each seam: `check` "
            "tells how wide.",
        ]
    return lines


def _why_so_far(measures: Measures, choice: Choice) -> str:
    """Return why lenses are not as far from the eyes as is usual, nothing if they are."""
    if choice.radius == USUAL_RADIUS:
        return ""
    if choice.radius < USUAL_RADIUS:
        return " Farther away, more of each image would be lost."
    if choice.radius - STEP < nearest_radius(measures):
        return f" Nearer, the row would reach more than {WIDEST_FIELD:.0f}° round you."
    nearer = at_radius(measures, choice.radius - STEP)
    if nearer:
        return f" Nearer, the magnification would be {nearer.magnification:.1f} or more."
    return " Nearer, the image could not fill the lens."


def _distance_lines(measures: Measures, choice: Choice) -> list[str]:
    """Return why the lenses are where they are, and what of the image is lost by it."""
    assert measures.lens
    across, up = choice.kept
    where = (
        f"Each lens is {choice.distance:.0f} mm in front of its screen: magnification "
        f"{choice.magnification:.2f}"
    )
    if choice.overfill > FITTING:
        where += ". Closer together, neighbouring screens would cut into each other."
    elif min(across, up) > 1 - WHOLE:
        where += "; the image then just fills the lens."
    else:
        tighter = "width" if across > up else "height"
        size = measures.lens[0 if across > up else 1]
        where += f"; the image then just fills the {size:.0f} mm {tighter} of the lens."

    lost = [
        f"{(1 - kept) / 2 * side:.0f} mm of the image at {edges}"
        for kept, side, edges in (
            (across, measures.image[0], "the left and right edge"),
            (up, measures.image[1], "the top and bottom edge"),
        )
        if (1 - kept) / 2 * side > 0.5
    ]
    if not lost:
        return [where]
    why = "" if choice.overfill > FITTING else ": the lens is not of the screen's shape"
    return [where, f"It hides {' and '.join(lost)}{why}."]


def next_steps(out: Path, bare: bool) -> list[str]:
    """Return what to run next."""
    rig = shlex.quote(str(out))
    picture = shlex.quote(str(out.with_suffix(".png")))
    lines = [f"seamsight check {rig}", f"seamsight picture {rig} {picture}"]
    if not bare:
        seam = out.with_name(f"{out.stem}_without.png")
        lines.append(f"seamsight picture {rig} {shlex.quote(str(seam))} --without-lenses")
    return ["Next:", *(f"  {line}" for line in lines)]
