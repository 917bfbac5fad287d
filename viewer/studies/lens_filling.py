"""How far from its screen an image just fills a lens, and why that may be nowhere."""

import math
from dataclasses import dataclass

import numpy as np

from seamsight.scene.frames import inverse, move
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.starting import LEAST_DISTANCE, filling_distance


@dataclass(frozen=True)
class Lens:
    """A lens to try; mm.

    Attributes
    ----------
    size : tuple of float
        Width and height of its aperture.
    focal_length : float
    """

    size: tuple[float, float]
    focal_length: float


def filling(
    screen: PlacedScreen, eye_point: tuple[float, float, float], lens: Lens
) -> tuple[float | None, str | None]:
    """Return at what distance an image just fills a lens, and why it cannot be there, or None.

    Seen from the design eye point: in one direction it fills the lens, in the other at least.

    Parameters
    ----------
    screen : PlacedScreen
        With a lens of its own: of a bank's unit the lens keeps its place, else the screen does.
    eye_point : tuple of float
    lens : Lens
        What takes that one's place.
    """
    assert screen.lens is not None
    eye = np.array(eye_point)
    needed = max(side / image for side, image in zip(lens.size, screen.size, strict=True))
    focal_length = lens.focal_length
    if screen.bank:
        away = -float(move(inverse(screen.lens.rig_from_lens), eye)[1])
        distance = filling_distance(focal_length, away, needed)
    else:
        away = -float(move(inverse(screen.rig_from_screen), eye)[1])
        distance = _before_screen(focal_length, away, needed)

    # refuse what cannot be built or used
    if distance is None or distance <= 0:
        return None, _why_never(screen, needed, away)
    if distance >= focal_length:
        return distance, (
            f"the image would fill the lens only {distance:.0f} mm from the screen, and the focal "
            f"length, {focal_length:g} mm, is below that distance"
        )
    if distance < LEAST_DISTANCE:
        return distance, (
            f"the image would fill the lens {distance:.1f} mm from the screen: less than "
            f"{LEAST_DISTANCE:g} mm is too near"
        )
    return distance, None


def _before_screen(focal_length: float, away: float, filling: float) -> float | None:
    """Return how far before a screen that stays in its place a lens is filled, None for nowhere.

    From `filling_distance`'s g with R = E - d, for a screen E from the eye: g = f (E - d) /
    (E f - E d + d d), so g d d + (f - g E) d + E f (g - 1) = 0; the smaller root above 0.
    """
    across = focal_length - filling * away
    square = across**2 - 4 * filling * away * focal_length * (filling - 1)
    if square < 0:
        return None
    roots = [(-across + sign * math.sqrt(square)) / (2 * filling) for sign in (-1, 1)]
    return min((root for root in roots if 0 < root < away), default=None)


def _why_never(screen: PlacedScreen, filling: float, away: float) -> str:
    """Return why no distance makes an image just fill a lens."""
    if filling > 1 and screen.bank:
        return (
            f"no distance makes the image fill the lens: the focal length must be below "
            f"{away:.0f} mm, the distance from the eyes to the lens"
        )
    if filling > 1:
        return (
            "no distance makes the image fill the lens: the focal length is too long, or the lens "
            "too large for the screen"
        )
    width, height = (f"{side:.0f}" for side in screen.size)
    return (
        f"the lens is not larger than the image area, {width} × {height} mm, which more than "
        "fills it at every distance: take a larger lens, or --distance keep"
    )
