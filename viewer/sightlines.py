"""Which way an eye must look to see a given point of an image, in closed form and double precision.

Points of an image are (x, z) on its surface, from its middle: right and up as the pilot sees them, mm.
"""

from typing import NamedTuple

import numpy as np

from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens, PlacedScreen


class Opening(NamedTuple):
    """What an image is seen through: its own lens, or the opening of its own bezel's lip.

    Attributes
    ----------
    near : (3,) float64
        From the image's middle to the opening's middle, screen's frame; near[1] is minus the distance.
    half : (2,) float64
        Half its width and height.
    focal_length : float
        Infinite without a lens.
    """

    near: Array
    half: Array
    focal_length: float


def opening_of(screen: PlacedScreen) -> Opening:
    """Return what a screen's image is seen through."""
    if screen.lens:
        optic = screen.lens.optic
        near = np.array([optic.offset[0], -optic.separation, optic.offset[1]])
        return Opening(near, np.array([optic.width, optic.height]) / 2, optic.focal_length)
    return Opening(np.array([0.0, -screen.display.lip, 0.0]), np.array(screen.size) / 2, np.inf)


def crossing(eye: Array, points: Array, focal_length: float) -> Array:
    """Return where the ray from an eye that reaches each point crosses a thin lens.

    From slope' = slope - p / f on each axis: p (1 + s/e - s/f) = q + s x / e, with the eye e before the lens
    plane at x and the point s behind it at q.

    Parameters
    ----------
    eye : (3,) or (n, 3) float64, lens frame
    points : (n, 3) float64, lens frame

    Returns
    -------
    (n, 3) float64, lens frame
        Not a number where eye and point are on the same side, or no ray joins them.
    """
    before, behind = -eye[..., 1], points[:, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = behind / before
        share = 1 + ratio - np.abs(behind) / focal_length
        place = (points + ratio[:, None] * eye) / share[:, None]
        place[:, 1] = 0.0
        place[~(ratio > 0) | (share == 0)] = np.nan
    return np.asarray(place)


def directions_through(lens: PlacedLens | None, eye: Array, points: Array, *, within: bool = False) -> Array:
    """Return unit directions (n, 3) from an eye, (3,) or (n, 3), to points (n, 3) through a lens, or straight.

    All in the rig frame. Not a number where no ray does it; with `within` also where the ray would pass beside
    the aperture. What else is in its way is for a cast to say.
    """
    targets = points
    if lens is not None:
        lens_from_rig = inverse(lens.rig_from_lens)
        places = crossing(move(lens_from_rig, eye), move(lens_from_rig, points), lens.optic.focal_length)
        if within:
            half = np.array([lens.optic.width, lens.optic.height]) / 2
            places[(np.abs(places[:, [0, 2]]) > half).any(axis=1)] = np.nan
        targets = move(lens.rig_from_lens, places)
    away = targets - eye
    return np.asarray(away / np.linalg.norm(away, axis=1, keepdims=True))


def image_points(screen: PlacedScreen, places: Array) -> Array:
    """Return points of an image, (n, 2) from its middle, in the rig frame (n, 3)."""
    flat = np.stack([places[:, 0], np.zeros(len(places)), places[:, 1]], axis=1)
    return move(screen.rig_from_screen, flat)


def angle_between(first: Array, second: Array) -> float:
    """Return the angle between two directions (3,), radians; exact for small ones too."""
    return float(np.arctan2(np.linalg.norm(np.cross(first, second)), first @ second))
