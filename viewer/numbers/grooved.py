"""What a grooved lens does that an ideal one does not: distortion, colour, loss of light, blur."""

import dataclasses
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.viewer.casting.lens_kernel import BLUE, RED
from seamsight.viewer.casting.sightlines import (
    ARCMIN,
    angles_between,
    as_thin,
    directions_through,
    image_intercepts,
    image_points,
    lens_intercepts,
)
from seamsight.viewer.numbers.landing import shown_part

PUPIL = 4.0  # mm; diameter, of an eye in a dim room
RINGS = 3  # of points over the pupil
BORDER_STEPS = 16  # points along each side of what is shown


@dataclass(frozen=True)
class GroovedNumbers:
    """What the aperture of a grooved lens shows of an image, from the point between the eyes.

    Border and corners are those of the part that it shows: the image's own where that is all of it.

    Attributes
    ----------
    distortion : float or None
        Greatest angle along the border to where the thin lens would show it, degrees; None where
        nothing of the border passes.
    colour : float or None
        Greatest angle along the border between red and blue, arcmin.
    light : dict
        "centre" (the image's, or the middle of what is shown without that), "corner" (the worst):
        share of the light that passes.
    blocked : dict
        "centre", "corner" (the worst): share that groove walls block; None where nothing comes
        through the facets.
    blur : dict
        "centre", "corner" (the worst): angle across all rays of one point over a 4 mm pupil, at
        best focus, arcmin; None where none passes.
    """

    distortion: float | None
    colour: float | None
    light: dict[str, float]
    blocked: dict[str, float | None]
    blur: dict[str, float | None]

    def as_json(self) -> dict[str, Any]:
        """Return them as JSON has them, where the blur is called "sharp"."""
        found = dataclasses.asdict(self)
        found["sharp"] = found.pop("blur")
        return found


NOTHING_SHOWN = GroovedNumbers(
    distortion=None,
    colour=None,
    light={"centre": 0.0, "corner": 0.0},
    blocked={"centre": None, "corner": None},
    blur={"centre": None, "corner": None},
)


def numbers(screen: PlacedScreen, eye: Array) -> GroovedNumbers | None:
    """Return the numbers of a screen with a grooved lens from an eye (3,), rig frame.

    None for a screen with another lens, or with none.
    """
    lens = screen.lens
    if lens is None or lens.optic.model != "grooved":
        return None
    shown = shown_part(screen, eye, BORDER_STEPS)
    if shown is None:
        return NOTHING_SHOWN

    # along the border: against the ideal lens, and red against blue
    edge = image_points(screen, shown.border)
    ideal, real = (directions_through(of, eye, edge) for of in (as_thin(lens), lens))
    red, blue = (directions_through(lens, eye, edge, channel=channel) for channel in (RED, BLUE))

    # in the middle and the four corners: light and blur
    spots = image_points(screen, np.vstack([shown.middle, shown.border[::BORDER_STEPS]]))
    passed, clear = _passed(lens, eye, spots)
    centre, *corners = (_blur(lens, eye, spot) for spot in spots)
    return GroovedNumbers(
        distortion=_scaled(_greatest_angle(ideal, real), math.degrees(1)),
        colour=_scaled(_greatest_angle(red, blue), ARCMIN),
        light={
            "centre": float(np.nan_to_num(passed[0])),
            "corner": float(np.nan_to_num(passed[1:]).min()),
        },
        blocked={"centre": _blocked(clear[:1]), "corner": _blocked(clear[1:])},
        blur={
            "centre": centre,
            "corner": max((value for value in corners if value is not None), default=None),
        },
    )


def worst_corner(screen: PlacedScreen, eye: Array) -> tuple[float, float | None] | None:
    """Return light and blur of the worst corner of what is shown, as `numbers` has them.

    None for a screen with another lens, or with none.
    """
    lens = screen.lens
    if lens is None or lens.optic.model != "grooved":
        return None
    shown = shown_part(screen, eye, 1)
    if shown is None:
        return 0.0, None
    corners = image_points(screen, shown.border)
    passed, _ = _passed(lens, eye, corners)
    blurs = [_blur(lens, eye, corner) for corner in corners]
    known = [blur for blur in blurs if blur is not None]
    return float(np.nan_to_num(passed).min()), max(known, default=None)


def _passed(lens: PlacedLens, eye: Array, points: Array) -> tuple[Array, Array]:
    """Return the share of light (n,) from points (n, 3) that reaches an eye.

    And the share that passes the groove walls alone.
    """
    lens_from_rig = inverse(lens.rig_from_lens)
    here = move(lens_from_rig, eye)
    there = move(lens_from_rig, points)
    places = lens_intercepts(lens, here, there)
    landed = image_intercepts(lens, here, places[:, [0, 2]], there[:, 1])
    return landed[:, 2], landed[:, 3]


def _blocked(clear: Array) -> float | None:
    return float(1 - np.nanmin(clear)) if np.isfinite(clear).any() else None


def _scaled(angle: float | None, factor: float) -> float | None:
    return None if angle is None else angle * factor


def _blur(lens: PlacedLens, eye: Array, point: Array) -> float | None:
    """Return the angle, arcmin, across a point's rays over the pupil at best focus.

    Rays from a point at vergence V, 1 / distance, slope by -V p at a place p of the pupil. The eye
    focuses on that V which leaves least of their slopes, by least squares; also below 0, where the
    lens shows the point behind the eye.
    """
    chief = directions_through(lens, eye, point[None])[0]
    side = np.cross(chief, lens.rig_from_lens[:3, 2])
    side /= np.linalg.norm(side)
    across = np.stack([side, np.cross(side, chief)])
    disc = _disc()
    pupil = eye + disc @ across
    rays = directions_through(lens, pupil, np.broadcast_to(point, pupil.shape))
    if not np.isfinite(rays).all():
        return None

    slopes = rays @ across.T / (rays @ chief)[:, None]
    slopes -= slopes.mean(axis=0)
    vergence = -np.sum(slopes * disc) / np.sum(disc * disc)
    left = np.linalg.norm(slopes + vergence * disc, axis=1)
    return float(2 * ARCMIN * left.max())


def _disc() -> Array:
    """Return points over the pupil, (n, 2), mm: its middle and rings of 6, 12, 18 points."""
    rings = [np.zeros((1, 2))]
    for ring in range(1, RINGS + 1):
        angle = np.arange(6 * ring) * 2 * np.pi / (6 * ring)
        rings.append(PUPIL / 2 * ring / RINGS * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    return np.concatenate(rings)


def _greatest_angle(first: Array, second: Array) -> float | None:
    """Return the greatest angle between directions (n, 3), radians, of those that pass.

    None where none does.
    """
    angles = angles_between(first, second)
    return float(np.nanmax(angles)) if np.isfinite(angles).any() else None
