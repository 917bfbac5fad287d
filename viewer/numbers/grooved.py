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
    as_thin,
    border,
    directions_through,
    image_intercepts,
    image_points,
    lens_intercepts,
)

PUPIL = 4.0  # mm; diameter, of an eye in a dim room
RINGS = 3  # of points over the pupil
BORDER_STEPS = 16  # points along each edge of the image
SETTLED = 1e-9  # mm off its level, below which a ray is level
LEVEL_STEPS = 50  # at most, to bring a ray there
FOLD_LOOKS = 24  # places tried between the axis and an aperture's edge
CLOSER_LOOKS = 20 * FOLD_LOOKS  # places tried once more about the best of them


@dataclass(frozen=True)
class GroovedNumbers:
    """A screen's image through its grooved lens, from the mid-eye.

    Attributes
    ----------
    distortion : float or None
        Greatest angle along the image's border to where the thin lens would show it, degrees; None
        where nothing of the border passes.
    colour : float or None
        Greatest angle along the border between red and blue, arcmin.
    light : dict
        "centre", "corner" (the worst): share of the light that passes.
    blocked : dict
        "centre", "corner" (the worst): share that groove walls block; None where nothing comes
        through the facets.
    blur : dict
        "centre", "corner" (the worst): angle that holds all rays of one point over a 4 mm pupil, at
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


def numbers(screen: PlacedScreen, eye: Array) -> GroovedNumbers | None:
    """Return the numbers of a screen with a grooved lens from an eye (3,), rig frame.

    None for a screen with another lens, or with none.
    """
    lens = screen.lens
    if lens is None or lens.optic.model != "grooved":
        return None

    # along the border: against the ideal lens, and red against blue
    edge = image_points(screen, border(screen, BORDER_STEPS))
    ideal, real = (directions_through(of, eye, edge) for of in (as_thin(lens), lens))
    red, blue = (directions_through(lens, eye, edge, channel=channel) for channel in (RED, BLUE))

    # in the middle and the four corners: light and blur
    spots = image_points(screen, np.vstack([[0.0, 0.0], border(screen, 1)]))
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


def edge_landing(lens: PlacedLens, eyes: Array, axis: int, edge: float) -> Array:
    """Return the outermost place of the image's plane seen past the middle of an aperture's edge.

    It is where the ray along the edge lands, unless facets let nothing pass there or fold the image
    back.

    Parameters
    ----------
    eyes : (n, 3) float64, lens frame
    axis : int
        0 for the left and right edges, 1 for bottom and top.
    edge : float
        Where the edge is along that axis.

    Returns
    -------
    (n,) float64
        Along that axis, lens frame, mm; not a number for an eye to which facets let nothing pass.
    """
    outwards = math.copysign(1.0, edge)
    looks = np.tile(edge * np.linspace(0, 1, FOLD_LOOKS + 1), (len(eyes), 1))
    reached = outwards * _level_landings(lens, eyes, axis, looks)

    # the outermost of the looks for each eye to which anything passes
    farthest = np.full(len(eyes), np.nan)
    passing = np.flatnonzero(~np.isnan(reached).all(axis=1))
    best = np.nanargmax(reached[passing], axis=1)
    farthest[passing] = reached[passing, best]

    # where that is not at the edge, it lies between two looks
    inside = best < FOLD_LOOKS
    if inside.any():
        folded = passing[inside]
        best = best[inside]
        closer = np.linspace(np.maximum(best - 1, 0), best + 1, CLOSER_LOOKS, axis=1)
        reached = outwards * _level_landings(lens, eyes[folded], axis, edge * closer / FOLD_LOOKS)
        farthest[folded] = np.nanmax(reached, axis=1)
    return outwards * farthest


def _level_landings(lens: PlacedLens, eyes: Array, axis: int, along: Array) -> Array:
    """Return where rays land along an axis that land level with the image's middle.

    Parameters
    ----------
    eyes : (n, 3) float64, lens frame
    along : (n, m) float64
        Places along the axis of the lens that the rays from each eye cross.

    Returns
    -------
    (n, m) float64
        Lens frame; not a number where nothing passes.
    """
    across = 1 - axis
    depth = lens.optic.separation
    level = -lens.optic.offset[across]
    eyes = np.repeat(eyes, along.shape[1], axis=0)
    stretch = 1 + depth / -eyes[:, 1] - depth / lens.optic.focal_length

    # start where the ray of the thin lens does it
    places = np.empty((along.size, 2))
    places[:, axis] = along.ravel()
    places[:, across] = (level + eyes[:, 2 * across] * depth / -eyes[:, 1]) / stretch

    # shift each ray by what it is off its level, in the thin lens's measure, until it is there
    landed = np.empty(along.size)
    rays = np.arange(along.size)
    for _ in range(LEVEL_STEPS):
        found = image_intercepts(lens, eyes[rays], places[rays], np.full(len(rays), depth))
        landed[rays] = found[:, axis]
        off = found[:, across] - level
        astray = np.abs(off) > SETTLED
        rays = rays[astray]
        if not len(rays):
            break
        places[rays, across] -= off[astray] / stretch[rays]
    return landed.reshape(along.shape)


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
    """Return the angle, arcmin, that holds a point's rays over the pupil at best focus."""
    chief = directions_through(lens, eye, point[None])[0]
    side = np.cross(chief, lens.rig_from_lens[:3, 2])
    side /= np.linalg.norm(side)
    pupil = eye + _disc() @ np.stack([side, np.cross(side, chief)])
    rays = directions_through(lens, pupil, np.broadcast_to(point, pupil.shape))

    # focus on the point nearest to all rays: least squares of the distances across each ray
    across = np.eye(3) - rays[:, :, None] * rays[:, None, :]
    if not np.isfinite(across).all():
        return None
    offsets = np.einsum("nij,nj->i", across, pupil)
    focus = np.linalg.lstsq(across.sum(axis=0), offsets, rcond=None)[0]

    # where the lens shows the point behind the eye, rays run away from the focus
    ideal = focus - pupil
    ideal /= np.linalg.norm(ideal, axis=1, keepdims=True)
    ideal *= np.sign(np.sum(ideal * rays, axis=1, keepdims=True))
    return _scaled(_greatest_angle(ideal, rays), 2 * ARCMIN)


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
    sines = np.linalg.norm(np.cross(first, second), axis=1)
    angles = np.arctan2(sines, np.sum(first * second, axis=1))
    return float(np.nanmax(angles)) if np.isfinite(angles).any() else None
