"""Which way an eye must look to see a given point of an image.

Places of an image are (x, z) on its surface, from its middle: right and up as the pilot sees them.
Wherever an eye is asked for, one for all points (3,) or one for each (n, 3) will do.
"""

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.scene.optics import magnification
from seamsight.viewer.casting.lens_kernel import DESIGN, Optics, aim, land

ARCMIN = 60 * 180 / np.pi  # in a radian
NEWTON_STARTS = (1.0, 0.85, 0.7, 0.5, 1.15)  # shares of the thin lens's place


class Aperture(NamedTuple):
    """What an image is seen through: its own lens, or the aperture of its own bezel's lip.

    Attributes
    ----------
    near : (3,) float64
        From the image's middle to the aperture's middle, screen's frame; near[1] is minus the
        distance.
    half : (2,) float64
        Half its width and height.
    focal_length : float
        Infinite without a lens.
    """

    near: Array
    half: Array
    focal_length: float


def aperture_of(screen: PlacedScreen) -> Aperture:
    """Return what a screen's image is seen through."""
    if screen.lens:
        optic = screen.lens.optic
        near = np.array([optic.offset[0], -optic.separation, optic.offset[1]])
        return Aperture(near, np.array([optic.width, optic.height]) / 2, optic.focal_length)
    return Aperture(np.array([0.0, -screen.display.lip, 0.0]), np.array(screen.size) / 2, np.inf)


def eye_in_aperture_frame(screen: PlacedScreen, eye: Array) -> Array:
    """Return an eye, (3,) or (n, 3), of the rig frame in the frame of the screen's aperture."""
    return move(inverse(screen.rig_from_screen), eye) - aperture_of(screen).near


def thin_lens_intercepts(eye: Array, points: Array, focal_length: float | Array) -> Array:
    """Return where the ray from an eye that reaches each point crosses a thin lens.

    From slope' = slope - p / f on each axis: p (1 + s/e - s/f) = q + s x / e, with the eye e before
    the lens plane at x and the point s behind it at q.

    Parameters
    ----------
    eye : (3,) or (n, 3) float64, lens frame
    points : (n, 3) float64, lens frame
    focal_length : float or (n,) float64

    Returns
    -------
    (n, 3) float64, lens frame
        Not a number where eye and point are on the same side, or no ray joins them.
    """
    before = -eye[..., 1]
    behind = points[:, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = behind / before
        share = 1 + ratio - np.abs(behind) / focal_length
        place = (points + ratio[:, None] * eye) / share[:, None]
        place[:, 1] = 0.0
        place[~(ratio > 0) | (share == 0)] = np.nan
    return np.asarray(place)


def optics_of(lens: PlacedLens) -> Optics:
    """Return what a lens does, for the kernel."""
    optic = lens.optic
    to_pilot = optic.grooves == "pilot"

    # cut the facets so that the screen is imaged where the thin lens has its image
    screen_side = 1 / optic.separation
    pilot_side = screen_side / -magnification(optic.focal_length, optic.separation)
    flat, grooved = (screen_side, pilot_side) if to_pilot else (pilot_side, screen_side)
    if optic.conjugates == "infinity":
        flat = 1 / optic.focal_length
        grooved = 0.0

    return Optics(
        focal_length=optic.focal_length,
        grooved=optic.model == "grooved",
        grooves_to_pilot=to_pilot,
        flat_vergence=flat,
        groove_vergence=grooved,
        thickness=optic.thickness,
        draft=math.tan(math.radians(optic.draft)),
    )


def image_intercepts(
    lens: PlacedLens, eye: Array, places: Array, depth: Array, channel: int = DESIGN
) -> Array:
    """Return where rays from an eye through places (n, 2) of a lens land, and what passes.

    All in the lens frame.

    Returns
    -------
    (n, 4) float64
        x and z on planes at depths (n,) behind the lens; the share of light that passed, and that
        past the grooves' walls alone. Not a number where nothing passes.
    """
    out = np.empty((len(places), 4))
    eyes = np.ascontiguousarray(np.broadcast_to(eye, (len(places), 3)))
    optics = np.array(optics_of(lens), np.float64)
    land(eyes, np.ascontiguousarray(places), depth, optics, channel, out)
    return out


def as_thin(lens: PlacedLens) -> PlacedLens:
    """Return the ideal thin lens in the place of a lens."""
    return PlacedLens(lens.rig_from_lens, lens.optic.model_copy(update={"model": "thin"}))


def lens_intercepts(
    lens: PlacedLens,
    eye: Array,
    points: Array,
    channel: int = DESIGN,
    near: Array | None = None,
) -> Array:
    """Return where the ray from an eye that reaches each point crosses a lens of any model.

    See `thin_lens_intercepts`. Through a grooved lens Newton's method finds it, from where the thin
    lens would have it, or only from places (n, 2) known to be near.
    """
    places = thin_lens_intercepts(eye, points, lens.optic.focal_length)
    if lens.optic.model == "thin":
        return places
    found = np.full((len(points), 2), np.nan)
    if near is not None:
        known = np.flatnonzero(np.isfinite(near).all(axis=1))
        found[known] = _newton(lens, eye, points, near, known, channel)
        places[:, [0, 2]] = found
        return places

    # start from farther in where the thin lens's place leads nowhere
    for share in NEWTON_STARTS:
        starts = places[:, [0, 2]] * share
        open_ones = np.flatnonzero(~np.isfinite(found).all(axis=1))
        if len(open_ones):
            found[open_ones] = _newton(lens, eye, points, starts, open_ones, channel)
    places[:, [0, 2]] = found
    return places


def _newton(
    lens: PlacedLens,
    eye: Array,
    points: Array,
    starts: Array,
    chosen: npt.NDArray[np.int64],
    channel: int,
) -> Array:
    """Return where rays to the chosen points cross a lens (m, 2).

    Not a number where none is found from the starts.
    """
    eyes = np.broadcast_to(eye, points.shape)[chosen]
    at = np.array(starts[chosen], order="C")
    aim(eyes, points[chosen], np.array(optics_of(lens), np.float64), channel, at)
    return at


def directions_through(
    lens: PlacedLens | None,
    eye: Array,
    points: Array,
    *,
    within: bool = False,
    channel: int = DESIGN,
) -> Array:
    """Return unit directions (n, 3) from an eye to points (n, 3) through a lens, or straight.

    All in the rig frame. Not a number where no ray does it; with `within` also where the ray would
    pass beside the aperture. What else is in its way is for a cast to say.
    """
    targets = points
    if lens is not None:
        lens_from_rig = inverse(lens.rig_from_lens)
        here = move(lens_from_rig, eye)
        there = move(lens_from_rig, points)
        places = lens_intercepts(lens, here, there, channel)
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


def project_onto_image(screen: PlacedScreen, eye: Array, points: Array) -> Array:
    """Return which places of an image points hide from an eye.

    Parameters
    ----------
    screen : PlacedScreen
    eye : (3,) or (n, 3) float64, rig frame
    points : (n, 3) float64, rig frame

    Returns
    -------
    (n, 2) float64
        From the image's middle, seen through the screen's own lens, taken as thin; not a number for
        points that are not between eye and image.
    """
    aperture = aperture_of(screen)
    depth = -aperture.near[1]
    here = eye_in_aperture_frame(screen, eye)
    there = move(inverse(screen.rig_from_screen), points) - aperture.near
    before = here[..., 1:2]

    # leave out what does not stand between
    between = (before < there[:, 1:2]) & (there[:, 1:2] < depth) & (before < 0)
    there = np.where(between, there, np.nan)

    # find where the way from eye to point, prolonged or bent back, crosses the aperture's plane
    straight = here + (there - here) * (-before / (there[:, 1:2] - before))
    behind = (there[:, 1:2] > 0) & np.isfinite(aperture.focal_length)
    bent = thin_lens_intercepts(here, there, aperture.focal_length)
    places = np.where(behind, bent, straight)[:, [0, 2]]

    # and go on from there to the image
    slopes = (places - here[..., [0, 2]]) / -before - places / aperture.focal_length
    return np.asarray(places + depth * slopes + aperture.near[[0, 2]])


def directions_to_image(screen: PlacedScreen, eye: Array, places: Array) -> Array:
    """Return in which directions an eye sees places of an image through its own lens.

    Where a grooved lens lets nothing of a place through, the thin lens in its stead stands for it:
    good for pointing there, while numbers are told from `directions_through` alone.

    Parameters
    ----------
    screen : PlacedScreen
    eye : (3,) or (n, 3) float64, rig frame
    places : (n, 2) float64
        From the image's middle.

    Returns
    -------
    (n, 3) float64, rig frame
        Unit length.
    """
    points = image_points(screen, places)
    seen = directions_through(screen.lens, eye, points)
    if screen.lens and not np.isfinite(seen).all():
        seen = np.where(
            np.isfinite(seen), seen, directions_through(as_thin(screen.lens), eye, points)
        )
    return seen


def border(screen: PlacedScreen, steps: int) -> Array:
    """Return places along an image's border, so many steps to each side: (4 steps, 2).

    Corners are among them.
    """
    corners = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]) * screen.size
    return quadrilateral_border(corners, steps)


def quadrilateral_border(corners: Array, steps: int) -> Array:
    """Return points from each of four corners (4, 2) towards the next: (4 steps, 2)."""
    share = np.arange(steps)[:, None] / steps
    return np.concatenate(
        [a + (b - a) * share for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    )


def edge_middles(screen: PlacedScreen) -> Array:
    """Return the middles of an image's left, right, bottom and top edge, (4, 2) from its middle."""
    width, height = screen.size
    return np.array([(-width / 2, 0.0), (width / 2, 0.0), (0.0, -height / 2), (0.0, height / 2)])


def ideal_image(screen: PlacedScreen, places: Array) -> Array:
    """Return where an ideal lens shows places (n, 2) of an image: (n, 3), aperture's frame.

    Without a lens, where they are.
    """
    enlarged = 1.0
    if screen.lens:
        enlarged = magnification(screen.lens.optic.focal_length, screen.lens.optic.separation)
    flat = np.stack([places[:, 0], np.zeros(len(places)), places[:, 1]], axis=1)
    return np.asarray((flat - aperture_of(screen).near) * enlarged)


def angles_between(first: Array, second: Array) -> Array:
    """Return the angles between directions (n, 3), of any length, radians (n,)."""
    across = np.linalg.norm(np.cross(first, second), axis=1)
    return np.asarray(np.arctan2(across, np.sum(first * second, axis=1)))


def angle_between(first: Array, second: Array) -> float:
    """Return the angle between two directions (3,), radians; exact for small ones too."""
    return float(np.arctan2(np.linalg.norm(np.cross(first, second)), first @ second))
