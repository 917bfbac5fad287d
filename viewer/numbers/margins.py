"""How far past its edges an image's plane is seen through its lens, or past its bezel's lip."""

import numpy as np

from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.optics import thin_slope
from seamsight.viewer.casting.sightlines import aperture_of, eye_in_aperture_frame
from seamsight.viewer.eye import EYES, Eyes
from seamsight.viewer.numbers import grooved

SIDES = {
    "left": (0, -1),
    "right": (0, 1),
    "bottom": (1, -1),
    "top": (1, 1),
}  # axis (across, up) and direction


def margin(screen: PlacedScreen, eye: Array, side: str) -> float:
    """Return how far past a side of the image its plane is seen through the aperture from an eye (3,), mm.

    Closed form of a thin lens, right side: a + d ((a - x) / e - a / f) - w / 2, for an aperture of half-width a at
    distance d from the image, and an eye x right of its axis, e before it: the thin lens law at the aperture's edge.
    """
    (axis, sign), aperture, place = (
        SIDES[side],
        aperture_of(screen),
        eye_in_aperture_frame(screen, eye),
    )
    edge = sign * aperture.half[axis]
    if screen.lens and screen.lens.optic.model == "grooved":
        landing = grooved.edge_landing(screen.lens, place, axis, edge)
    else:
        slope = (edge - place[2 * axis]) / -place[1]
        landing = edge + _distance(screen, side) * thin_slope(slope, edge, aperture.focal_length)
    past = sign * (landing + aperture.near[2 * axis]) - screen.size[axis] / 2
    return -screen.size[axis] if np.isnan(past) else float(past)  # nothing seen at all: all is lost


def _distance(screen: PlacedScreen, side: str) -> float:
    """Return from the image to what bounds the view on a side: its lens, or its bezel's lip if it has one there."""
    if screen.lens is None and getattr(screen.display.bezel, side) == 0:
        return 0.0
    return float(-aperture_of(screen).near[1])


def in_front(screen: PlacedScreen, eyes: Eyes) -> bool:
    """Return whether all eyes are before a screen's lens plane, or before its bezel's face where it has no lens."""
    return all(eye_in_aperture_frame(screen, eyes.point(eye))[1] < 0 for eye in EYES)
