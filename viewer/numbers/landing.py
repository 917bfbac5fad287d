"""What a lens's aperture shows of its image: where rays past its edges land, what that leaves.

Only the screen's own lens counts here; what else stands in the way is for a cast to say.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.viewer.casting.sightlines import (
    angle_between,
    eye_in_aperture_frame,
    image_intercepts,
    lens_intercepts,
    quadrilateral_border,
)

SETTLED = 1e-9  # mm off its level, below which a ray is level
LEVEL_STEPS = 50  # at most, to bring a ray there
FOLD_LOOKS = 24  # places tried between the axis and an aperture's edge
CLOSER_LOOKS = 20 * FOLD_LOOKS  # places tried once more about the best of them
WITHIN = 1 + 1e-9  # of half an aperture: up to there a ray passes

_AROUND = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])  # corners, against the clock
_SIDES = np.array([(1, -1), (0, 1), (1, 1), (0, -1)])  # axis and direction of the side after each


class Outermost(NamedTuple):
    """The last of an image's plane that an aperture shows at one side, for each of n eyes.

    Attributes
    ----------
    landing : (n,) float64
        Where it is along the side's axis, lens frame, mm; not a number if nothing passes.
    through : (n, 2) float64
        Where on the lens it is seen.
    """

    landing: Array
    through: Array


class ShownPart(NamedTuple):
    """What an aperture shows of an image; places from the image's middle, mm.

    Attributes
    ----------
    middle : (2,) float64
        The image's own, or the middle of what is shown without that.
    border : (4 steps, 2) float64
        Points along its border, from the lower left corner against the clock; not a number where
        the aperture's edge cuts the image off and is dark.
    """

    middle: Array
    border: Array


def outermost(lens: PlacedLens, eyes: Array, axis: int, edge: float) -> Outermost:
    """Return the outermost place of the image's plane seen over the middle of an aperture's edge.

    It is where the ray along the edge lands, unless facets let nothing pass there or fold the image
    back.

    Parameters
    ----------
    eyes : (n, 3) float64, lens frame
    axis : int
        0 for the left and right edges, 1 for bottom and top.
    edge : float
        Where the edge is along that axis.
    """
    looks = np.tile(np.linspace(0, 1, FOLD_LOOKS + 1), (len(eyes), 1))
    best, found = _best_of(lens, eyes, axis, edge * looks)

    # where that is not at the edge, it lies between two looks
    inside = np.flatnonzero((best >= 0) & (best < FOLD_LOOKS))
    if len(inside):
        low, high = np.maximum(best[inside] - 1, 0), best[inside] + 1
        closer = np.linspace(low, high, CLOSER_LOOKS, axis=1) / FOLD_LOOKS
        _, folded = _best_of(lens, eyes[inside], axis, edge * closer)
        found.landing[inside] = folded.landing
        found.through[inside] = folded.through
    return found


def _best_of(
    lens: PlacedLens, eyes: Array, axis: int, along: Array
) -> tuple[npt.NDArray[np.int64], Outermost]:
    """Return which of the places (n, m) along an axis shows each eye most, -1 if none, and what."""
    level = np.full(along.size, -lens.optic.offset[1 - axis])
    each = np.repeat(eyes, along.shape[1], axis=0)
    places, landed = _level_landings(lens, each, axis, along.ravel(), level)

    landed = landed.reshape(along.shape)
    outwards = np.sign(along[:, -1:])
    best = np.where(np.isnan(landed), -np.inf, outwards * landed).argmax(axis=1)
    rows = np.arange(len(eyes))
    landing = landed[rows, best]
    through = places.reshape(*along.shape, 2)[rows, best]
    return np.where(np.isnan(landing), -1, best), Outermost(landing, through)


def _level_landings(
    lens: PlacedLens, eyes: Array, axis: int, along: Array, level: Array
) -> tuple[Array, Array]:
    """Return where rays land that cross a lens at places along an axis and end at levels across it.

    Parameters
    ----------
    eyes : (n, 3) float64, lens frame
    along : (n,) float64
        Where each ray crosses the lens, along the axis.
    level : (n,) float64
        Where it is to land, across the axis.

    Returns
    -------
    places : (n, 2) float64
        Where it crosses the lens.
    landed : (n,) float64
        Where it lands, along the axis; not a number where nothing passes.
    """
    across = 1 - axis
    depth = lens.optic.separation
    stretch = 1 + depth / -eyes[:, 1] - depth / lens.optic.focal_length

    # start where the ray of the thin lens does it
    places = np.empty((len(along), 2))
    places[:, axis] = along
    places[:, across] = (level + eyes[:, 2 * across] * depth / -eyes[:, 1]) / stretch

    # shift each ray by what it is off its level, in the thin lens's measure, until it is there
    landed = np.empty(len(along))
    rays = np.arange(len(along))
    for _ in range(LEVEL_STEPS):
        found = image_intercepts(lens, eyes[rays], places[rays], np.full(len(rays), depth))
        landed[rays] = found[:, axis]
        off = found[:, across] - level[rays]
        astray = np.abs(off) > SETTLED
        rays = rays[astray]
        if not len(rays):
            break
        places[rays, across] -= off[astray] / stretch[rays]
    return places, landed


def visible_field(screen: PlacedScreen, eye: Array) -> dict[str, float]:
    """Return the angles over which an eye sees an image's middle row ("h") and column ("v").

    Radians, from the outermost point that the aperture shows to the opposite one, as the lens shows
    them; 0 where it shows none.

    Parameters
    ----------
    screen : PlacedScreen
        With a lens.
    eye : (3,) float64, rig frame
    """
    view = _view_of(screen, eye)
    return {name: _visible_along(view, axis) for axis, name in enumerate("hv")}


def shown_part(screen: PlacedScreen, eye: Array, steps: int) -> ShownPart | None:
    """Return what a lens's aperture shows of its image to an eye, None for nothing.

    It is the whole image where the aperture cuts nothing off. Facets that let nothing pass cut
    nothing off: what they show is darkness.

    Parameters
    ----------
    screen : PlacedScreen
        With a lens.
    eye : (3,) float64, rig frame
    steps : int
        Points of the border to each side.
    """
    view = _view_of(screen, eye)
    corners = _shown_corners(view)
    middle = np.zeros((1, 2))
    if not _within(view, _places(view, middle)).all():
        if np.isnan(corners).all():
            return None
        middle = np.nanmean(corners, axis=0, keepdims=True)

    # go round: the image's edge, or what the aperture's edge shows in its stead
    border = quadrilateral_border(np.where(np.isnan(corners), _AROUND * view.ends, corners), steps)
    axes, signs = np.repeat(_SIDES, steps, axis=0).T
    border[np.arange(len(border)), axes] = signs * view.ends[axes]
    instead = np.empty_like(border)
    for axis in (0, 1):
        mine = axes == axis
        edges = signs[mine] * view.half[axis]
        instead[mine] = _at_edge(view, axis, edges, border[mine])
    border = _first_shown(view, border, [instead])
    border[::steps] = corners
    return ShownPart(middle[0], border)


class _View(NamedTuple):
    """An eye in front of a lens, in the lens's frame."""

    lens: PlacedLens
    eye: Array  # (3,)
    half: Array  # half the size of the aperture
    ends: Array  # half the size of the image
    offset: Array  # of the lens from the image's middle


def _view_of(screen: PlacedScreen, eye: Array) -> _View:
    assert screen.lens is not None, "only a lens has an aperture here"
    optic = screen.lens.optic
    half = np.array([optic.width, optic.height]) / 2
    ends = np.array(screen.size) / 2
    return _View(
        screen.lens, eye_in_aperture_frame(screen, eye), half, ends, np.array(optic.offset)
    )


def _visible_along(view: _View, axis: int) -> float:
    """Return the angle, radians, over which the middle row (axis 0) or column is seen."""
    outwards = np.array([-1, 1])
    last = [outermost(view.lens, view.eye[None], axis, sign * view.half[axis]) for sign in (-1, 1)]
    shown = np.concatenate([one.landing for one in last]) + view.offset[axis]
    low, high = np.clip(shown, -view.ends[axis], view.ends[axis])
    if not low < high:
        return 0.0

    # where the aperture shows more than the image, the row ends at the image's edge
    edges = np.zeros((2, 2))
    edges[:, axis] = outwards * view.ends[axis]
    at_edges = _places(view, edges)
    whole = (outwards * (shown - edges[:, axis]) > 0) & np.isfinite(at_edges).all(axis=1)
    places = np.where(whole[:, None], at_edges, np.concatenate([one.through for one in last]))
    if not _within(view, places).all():
        return 0.0
    first, second = np.insert(places, 1, 0.0, axis=1) - view.eye
    return angle_between(first, second)


def _shown_corners(view: _View) -> Array:
    """Return the corners (4, 2) of what an aperture shows of its image, as `ShownPart` has them.

    Each is the image's or the aperture's own, or where an edge of one crosses an edge of the other.
    """
    image = _AROUND * view.ends
    aperture = _AROUND * view.half
    depths = np.full(len(aperture), view.lens.optic.separation)
    landed = image_intercepts(view.lens, view.eye, aperture, depths)[:, :2] + view.offset
    landed[~(np.abs(landed) <= view.ends * WITHIN).all(axis=1)] = np.nan
    crossings = [_at_edge(view, axis, aperture[:, axis], image) for axis in (0, 1)]
    return _first_shown(view, image, [*crossings, landed])


def _first_shown(view: _View, points: Array, instead: list[Array]) -> Array:
    """Return points (n, 2) of an image's border, or what the aperture's border shows instead.

    That is the first of the arrays (n, 2) that shows something. Points that the facets leave dark
    stay, unless something is shown instead.
    """
    places = _places(view, points)
    shown = np.where(_within(view, places)[:, None], points, np.nan)
    dark = np.where(np.isnan(places), points, np.nan)
    for other in (*instead, dark):
        shown = np.where(np.isnan(shown), other, shown)
    return shown


def _at_edge(view: _View, axis: int, edges: Array, points: Array) -> Array:
    """Return what an aperture's edges (n,) along an axis show level with points (n, 2).

    Not a number where they are dark, or show what lies beside the image.
    """
    across = 1 - axis
    level = points[:, across] - view.offset[across]
    eyes = np.broadcast_to(view.eye, (len(points), 3))
    places, landed = _level_landings(view.lens, eyes, axis, edges, level)
    found = points.copy()
    found[:, axis] = landed + view.offset[axis]
    on_image = np.abs(found[:, axis]) <= view.ends[axis] * WITHIN
    found[~(on_image & _within(view, places))] = np.nan
    return found


def _places(view: _View, points: Array) -> Array:
    """Return where on a lens points (n, 2) of its image are seen, (n, 2).

    Not a number where nothing passes.
    """
    targets = np.insert(points - view.offset, 1, view.lens.optic.separation, axis=1)
    return lens_intercepts(view.lens, view.eye, targets)[:, [0, 2]]


def _within(view: _View, places: Array) -> npt.NDArray[np.bool_]:
    """Return which places (n, 2) of a lens lie within its aperture, (n,)."""
    return np.asarray((np.abs(places) <= view.half * WITHIN).all(axis=1))
