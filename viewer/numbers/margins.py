"""How far beyond its edges an image's plane is seen through its lens, or over its bezel's lip."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.optics import thin_slope
from seamsight.viewer.casting.sightlines import aperture_of, eye_in_aperture_frame
from seamsight.viewer.numbers.landing import outermost

SIDES = {
    "left": (0, -1),
    "right": (0, 1),
    "bottom": (1, -1),
    "top": (1, 1),
}
"""Axis (across, up) of each side of an image, and the direction along it."""


def margin(screen: PlacedScreen, eyes: Array, side: str) -> Array:
    """Return how far beyond a side of the image its plane is seen through the aperture, mm.

    Closed form of a thin lens, right side: a + d ((a - x) / e - a / f) - w / 2, for an aperture of
    half-width a at distance d from the image, and an eye x right of its axis, e before it: the thin
    lens law at the aperture's edge.

    Parameters
    ----------
    screen : PlacedScreen
    eyes : (n, 3) float64, rig frame
        In front of the screen: see `in_front`.
    side : str
        A key of `SIDES`.

    Returns
    -------
    (n,) float64
        One for each eye.
    """
    axis, sign = SIDES[side]
    aperture = aperture_of(screen)
    places = _in_aperture_frame(screen, eyes)
    edge = sign * aperture.half[axis]

    # the outermost ray to pass, and where it lands
    if screen.lens and screen.lens.optic.model == "grooved":
        landing = outermost(screen.lens, places, axis, edge).landing
    else:
        slope = (edge - places[:, 2 * axis]) / -places[:, 1]
        landing = edge + _distance(screen, side) * thin_slope(slope, edge, aperture.focal_length)

    past = sign * (landing + aperture.near[2 * axis]) - screen.size[axis] / 2
    return np.where(np.isnan(past), -screen.size[axis], past)  # nothing seen at all: all is lost


def seen_ends(screen: PlacedScreen, eyes: Array, sides: Sequence[str]) -> Array:
    """Return where what all eyes see of an image's middle row or column ends on some sides.

    At the image's own edge, or where its aperture cuts it off; what else stands in the way is not
    looked at. Two opposite ends meet, or have changed places, where nothing is left between them.

    Parameters
    ----------
    screen : PlacedScreen
    eyes : (n, 3) float64, rig frame
        In front of the screen: see `in_front`.
    sides : sequence of str
        s keys of `SIDES`.

    Returns
    -------
    (s, 2) float64
        Across and up, mm, from the image's middle.
    """
    ends = np.zeros((len(sides), 2))
    for end, side in zip(ends, sides, strict=True):
        axis, sign = SIDES[side]
        past = float(margin(screen, eyes, side).min())
        end[axis] = sign * (screen.size[axis] / 2 + min(past, 0.0))
    return ends


def _distance(screen: PlacedScreen, side: str) -> float:
    """Return from the image to what bounds the view on a side.

    That is its lens; or its bezel's lip, if it has a bezel there.
    """
    if screen.lens is None and getattr(screen.display.bezel, side) == 0:
        return 0.0
    return float(-aperture_of(screen).near[1])


def in_front(screen: PlacedScreen, eyes: Array) -> npt.NDArray[np.bool_]:
    """Return which eyes (n, 3) are in front of a screen's lens plane, (n,).

    Where it has no lens: in front of its bezel.
    """
    return np.asarray(_in_aperture_frame(screen, eyes)[:, 1] < 0)


def _in_aperture_frame(screen: PlacedScreen, eyes: Array) -> Array:
    """Return eyes (n, 3) in the frame of the screen's aperture, each as if it were alone.

    The product of all of them at once may round otherwise in the last digit.
    """
    return eye_in_aperture_frame(screen, eyes[:, None])[:, 0]
