"""What a real grooved lens does that an ideal one does not: distortion, colour, loss of light, blur."""

import math
from dataclasses import dataclass

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
SETTLED = 1e-9  # mm
FOLD_LOOKS = 24  # places tried between the axis and an aperture's edge


@dataclass(frozen=True)
class GroovedNumbers:
    """A screen's image through its grooved lens, from the mid-eye.

    Attributes
    ----------
    distortion : float or None
        Greatest angle along the image's border to where the thin lens would show it, degrees; None where nothing
        of the border passes.
    colour : float or None
        Greatest angle along the border between red and blue, arcmin.
    light : dict
        "centre", "corner" (the worst): share of the light that passes.
    blocked : dict
        "centre", "corner" (the worst): share that groove walls block; None where nothing comes through the facets.
    sharp : dict
        "centre", "corner": angle that holds all rays of one point over a 4 mm pupil, at best focus, arcmin;
        None where none passes.
    """

    distortion: float | None
    colour: float | None
    light: dict[str, float]
    blocked: dict[str, float | None]
    sharp: dict[str, float | None]


def numbers(screen: PlacedScreen, eye: Array) -> GroovedNumbers | None:
    """Return the numbers of a screen with a grooved lens from an eye (3,), rig frame; None for other screens."""
    lens = screen.lens
    if lens is None or lens.optic.model != "grooved":
        return None
    edge = image_points(screen, border(screen, BORDER_STEPS))
    ideal, real = (directions_through(of, eye, edge) for of in (as_thin(lens), lens))
    red, blue = (directions_through(lens, eye, edge, channel=channel) for channel in (RED, BLUE))
    spots = image_points(screen, np.vstack([[0.0, 0.0], border(screen, 1)]))
    passed, clear = _passed(lens, eye, spots)
    blur = [_blur(lens, eye, spot) for spot in spots]
    return GroovedNumbers(
        distortion=_scaled(_greatest_angle(ideal, real), math.degrees(1)),
        colour=_scaled(_greatest_angle(red, blue), ARCMIN),
        light={
            "centre": float(np.nan_to_num(passed[0])),
            "corner": float(np.nan_to_num(passed[1:]).min()),
        },
        blocked={"centre": _blocked(clear[:1]), "corner": _blocked(clear[1:])},
        sharp={
            "centre": blur[0],
            "corner": max((value for value in blur[1:] if value is not None), default=None),
        },
    )


def edge_landing(lens: PlacedLens, eye: Array, axis: int, edge: float) -> float:
    """Return the outermost place of the image's plane seen towards the middle of an aperture's edge, lens frame, mm.

    It is where the ray past the edge lands, unless facets let nothing pass there or fold the image back; not a
    number if they let nothing pass at all.

    Parameters
    ----------
    eye : (3,) float64, lens frame
    axis : int
        0 for the left and right edges, 1 for bottom and top.
    edge : float
        Where the edge is along that axis.
    """
    outwards = math.copysign(1.0, edge)
    at_edge = _landing_level(lens, eye, axis, edge)
    inner = [
        _landing_level(lens, eye, axis, edge * share)
        for share in np.linspace(0, 1, FOLD_LOOKS, endpoint=False)
    ]
    if np.isnan([*inner, at_edge]).all():
        return math.nan
    best = int(np.nanargmax(outwards * np.array([*inner, at_edge])))
    if best == FOLD_LOOKS:
        return at_edge
    near = edge * np.linspace(max(best - 1, 0), best + 1, 20 * FOLD_LOOKS) / FOLD_LOOKS
    return outwards * float(
        np.nanmax([outwards * _landing_level(lens, eye, axis, place) for place in near])
    )


def _landing_level(lens: PlacedLens, eye: Array, axis: int, edge: float) -> float:
    """Return the landing along one axis of the ray through the edge that lands level with the image's middle."""
    depth, level = lens.optic.separation, -lens.optic.offset[1 - axis]
    stretch = 1 + depth / -eye[1] - depth / lens.optic.focal_length
    place = np.zeros((1, 2))
    place[0, axis] = edge
    place[0, 1 - axis] = (level + eye[2 * (1 - axis)] * depth / -eye[1]) / stretch
    for _ in range(50):
        landed = image_intercepts(lens, eye, place, np.array([depth]))[0]
        off = landed[1 - axis] - level
        if not abs(off) > SETTLED:
            break
        place[0, 1 - axis] -= off / stretch
    return float(landed[axis])


def _passed(lens: PlacedLens, eye: Array, points: Array) -> tuple[Array, Array]:
    """Return the share of light (n,) from points (n, 3) that reaches an eye, and that past the groove walls."""
    lens_from_rig = inverse(lens.rig_from_lens)
    here, there = move(lens_from_rig, eye), move(lens_from_rig, points)
    places = lens_intercepts(lens, here, there)
    landed = image_intercepts(lens, here, places[:, [0, 2]], there[:, 1])
    return landed[:, 2], landed[:, 3]


def _blocked(clear: Array) -> float | None:
    return float(1 - np.nanmin(clear)) if np.isfinite(clear).any() else None


def _scaled(angle: float | None, factor: float) -> float | None:
    return None if angle is None else angle * factor


def _blur(lens: PlacedLens, eye: Array, point: Array) -> float | None:
    """Return the angle, arcmin, that holds a point's rays over the pupil when the eye focuses them best."""
    chief = directions_through(lens, eye, point[None])[0]
    side = np.cross(chief, lens.rig_from_lens[:3, 2])
    side /= np.linalg.norm(side)
    pupil = eye + _disc() @ np.stack([side, np.cross(side, chief)])
    rays = directions_through(lens, pupil, np.broadcast_to(point, pupil.shape))
    # the point nearest to all rays: least squares of the distances across each ray
    across = np.eye(3) - rays[:, :, None] * rays[:, None, :]
    if not np.isfinite(across).all():
        return None
    focus = np.linalg.lstsq(across.sum(axis=0), np.einsum("nij,nj->i", across, pupil), rcond=None)[
        0
    ]
    ideal = focus - pupil
    ideal /= np.linalg.norm(ideal, axis=1, keepdims=True)
    spread = _greatest_angle(ideal * np.sign(np.sum(ideal * rays, axis=1, keepdims=True)), rays)
    return _scaled(spread, 2 * ARCMIN)


def _disc() -> Array:
    """Return points over the pupil, (n, 2), mm: its middle and rings of 6, 12, 18 points."""
    rings = [np.zeros((1, 2))]
    for ring in range(1, RINGS + 1):
        angle = np.arange(6 * ring) * 2 * np.pi / (6 * ring)
        rings.append(PUPIL / 2 * ring / RINGS * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    return np.concatenate(rings)


def _greatest_angle(first: Array, second: Array) -> float | None:
    """Return the greatest angle between directions (n, 3), radians, of those that pass; None where none does."""
    angles = np.arctan2(
        np.linalg.norm(np.cross(first, second), axis=1), np.sum(first * second, axis=1)
    )
    return float(np.nanmax(angles)) if np.isfinite(angles).any() else None
