"""What eyes lose of images, and how far lines break at seams, in many builds at once.

A lens of a build stands askew before its screen: rays are followed through it one by one, for all
builds together where the lens is thin.
"""

from collections.abc import Sequence

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, rotation, shift
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.viewer.casting.frustum import FlatView
from seamsight.viewer.casting.sightlines import (
    ARCMIN,
    aperture_of,
    eye_in_aperture_frame,
    image_intercepts,
    lens_intercepts,
    thin_lens_intercepts,
)
from seamsight.viewer.casting.world import drawn_view
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.landing import outermost
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.seams import Pair, facing_sides, show_one_scene
from seamsight.viewer.studies.tolerance_errors import Builds

NEARBY = 5.0  # mm along a seam, to tell which way it runs


def margins(screen: PlacedScreen, eyes: Array, builds: Builds) -> Array:
    """Return how far beyond each side of an image its plane is seen, (n, 4, e) mm.

    As `numbers.margins.margin` has it: for n builds, each of `SIDES` and eyes (e, 3) in front of
    the screen. The ray is followed that ends at the middle of that side in the rig as designed.
    """
    count = len(builds.screens[screen.name])
    found = np.empty((count, len(SIDES), len(eyes)))
    for number, (axis, sign) in enumerate(SIDES.values()):
        places = _edge_places(screen, eyes, axis, sign)
        for column, (eye, place) in enumerate(zip(eyes, places, strict=True)):
            landed = _landings(screen, eye, _on_grown(screen, place, builds), builds)[:, axis]
            past = sign * landed - screen.size[axis] / 2
            # nothing seen at all: all is lost
            found[:, number, column] = np.where(np.isnan(past), -screen.size[axis], past)
            if screen.lens is None and getattr(screen.display.bezel, list(SIDES)[number]) == 0:
                found[:, number, column] = 0.0  # no lip there
    return found


def steps(assembly: Assembly, pair: Pair, eyes: Eyes, builds: Builds) -> Array | None:
    """Return by how much a line that crosses a seam at right angles breaks, (n,) arcmin.

    The outside view is set up for the rig as designed. The line crosses the seam's middle; it is
    seen from the point between the eyes. None where no view runs on across the seam.
    """
    views = [drawn_view(screen, assembly.rig) for screen in pair]
    if not show_one_scene(*pair) or None in views:
        return None
    sides = facing_sides(*pair, eyes.mid)
    edges = [_edge_middle(screen, side) for screen, side in zip(pair, sides, strict=True)]

    # what is shown at the seam, and where each screen shows it
    shown = [
        _drawn_direction(view, screen, edge)
        for view, screen, edge in zip(views, pair, edges, strict=True)
        if view
    ]
    middle = shown[0] / np.linalg.norm(shown[0]) + shown[1] / np.linalg.norm(shown[1])
    along = _along_seam(pair, views, sides, edges)
    along -= middle * (along @ middle) / (middle @ middle)
    along /= np.linalg.norm(along)

    seen = [
        directions(screen, eyes.mid, _drawn_place(view, screen, middle), builds)
        for view, screen in zip(views, pair, strict=True)
        if view
    ]
    return np.asarray((seen[1] - seen[0]) @ along * ARCMIN)


def directions(screen: PlacedScreen, eye: Array, place: Array, builds: Builds) -> Array:
    """Return in which directions (n, 3) an eye (3,) sees a place (2,) of an image in n builds."""
    flat = np.array([place[0], 0.0, place[1]])
    rig_from_screen = builds.screens[screen.name]
    targets = _move(rig_from_screen, flat)

    # through a lens, look at where light crosses it
    if screen.lens:
        rig_from_lens = builds.lenses[screen.name]
        lens_from_rig = _inverses(rig_from_lens)
        here, there = _move(lens_from_rig, eye), _move(lens_from_rig, targets)
        if screen.lens.optic.model == "thin":
            crossed = thin_lens_intercepts(here, there, builds.focal_lengths[screen.name])
        else:
            crossed = np.concatenate(
                [
                    lens_intercepts(built_lens(screen, builds, row), here[row], there[row][None])
                    for row in range(len(here))
                ]
            )
        targets = _move(rig_from_lens, crossed)
    away = targets - eye
    return np.asarray(away / np.linalg.norm(away, axis=1, keepdims=True))


def built_lens(screen: PlacedScreen, builds: Builds, row: int) -> PlacedLens:
    """Return a screen's lens as it is in one build, but for the size of its aperture."""
    assert screen.lens is not None
    optic = screen.lens.optic
    changed = {
        "focal_length": float(builds.focal_lengths[screen.name][row]),
        "distance": optic.separation,
        "magnification": None,
    }
    return PlacedLens(builds.lenses[screen.name][row], optic.model_copy(update=changed))


def _edge_places(screen: PlacedScreen, eyes: Array, axis: int, sign: int) -> Array:
    """Return where on the aperture, (e, 2), rays pass that end at a side, in the rig as designed.

    They end at the middle of that side as far as they can.
    """
    aperture = aperture_of(screen)
    here = eye_in_aperture_frame(screen, eyes)
    edge = sign * aperture.half[axis]
    if screen.lens and screen.lens.optic.model == "grooved":
        return outermost(screen.lens, here, axis, edge).through
    across = 1 - axis
    depth, before = -aperture.near[1], -here[:, 1]
    places = np.full((len(eyes), 2), edge)
    stretch = 1 + depth / before - depth / aperture.focal_length
    places[:, across] = (here[:, 2 * across] * depth / before - aperture.near[2 * across]) / stretch
    return places


def _on_grown(screen: PlacedScreen, place: Array, builds: Builds) -> Array:
    """Return a place (2,) of an aperture where it is in builds, (n, 2), as its edges move."""
    if not screen.lens:
        return np.tile(place, (len(builds.screens[screen.name]), 1))
    share = np.clip(place / aperture_of(screen).half, -1, 1)
    return np.asarray(place + share * builds.grown[screen.name] / 2)


def _landings(screen: PlacedScreen, eye: Array, places: Array, builds: Builds) -> Array:
    """Return where rays from an eye (3,) through places (n, 2) of apertures land on images (n, 2).

    In the image's own frame; not a number where nothing passes.
    """
    rig_from_screen = builds.screens[screen.name]
    if screen.lens:
        rig_from_aperture = builds.lenses[screen.name]
    else:
        rig_from_aperture = rig_from_screen @ shift(*aperture_of(screen).near)
    here = _move(_inverses(rig_from_aperture), eye)

    if screen.lens and screen.lens.optic.model == "grooved":
        starts, ways = _behind_grooves(screen, here, places, builds)
    else:
        focal_lengths = builds.focal_lengths[screen.name] if screen.lens else np.inf
        slopes = (places - here[:, [0, 2]]) / -here[:, 1:2] - (places.T / focal_lengths).T
        starts, ways = (
            np.insert(each, 1, level, axis=1) for each, level in ((places, 0.0), (slopes, 1.0))
        )

    # on to the screen's plane
    screen_from_aperture = _inverses(rig_from_screen) @ rig_from_aperture
    starts = _move(screen_from_aperture, starts)
    ways = np.einsum("nij,nj->ni", screen_from_aperture[:, :3, :3], ways)
    return np.asarray((starts - ways * (starts[:, 1:2] / ways[:, 1:2]))[:, [0, 2]])


def _behind_grooves(
    screen: PlacedScreen, here: Array, places: Array, builds: Builds
) -> tuple[Array, Array]:
    """Return where rays are behind grooved lenses (n, 3), and where they go, lens frames."""
    assert screen.lens is not None
    depths = screen.lens.optic.separation * np.array([0.5, 1.0])
    found = np.empty((len(here), 2, 2))
    for row in range(len(here)):
        lens = built_lens(screen, builds, row)
        twice = np.tile(places[row], (2, 1))
        found[row] = image_intercepts(lens, here[row], twice, depths)[:, :2]
    near, far = (np.insert(found[:, number], 1, depths[number], axis=1) for number in (0, 1))
    return near, far - near


def _edge_middle(screen: PlacedScreen, side: str) -> Array:
    axis, sign = SIDES[side]
    place = np.zeros(2)
    place[axis] = sign * screen.size[axis] / 2
    return place


def _drawn_direction(view: FlatView, screen: PlacedScreen, place: Array) -> Array:
    """Return which direction (3,) of the outside a flat view shows at a place (2,) of an image."""
    across, up = place / screen.size + 0.5
    tangents = (
        view.left + across * (view.right - view.left),
        1.0,
        view.bottom + up * (view.top - view.bottom),
    )
    return np.asarray(rotation(view.yaw, view.pitch, view.roll) @ tangents)


def _drawn_place(view: FlatView, screen: PlacedScreen, direction: Array) -> Array:
    """Return at which place (2,) of an image, or beside it, a direction (3,) is shown."""
    right, away, up = rotation(view.yaw, view.pitch, view.roll).T @ direction
    shares = (
        (right / away - view.left) / (view.right - view.left),
        (up / away - view.bottom) / (view.top - view.bottom),
    )
    return (np.array(shares) - 0.5) * screen.size


def _along_seam(
    pair: Pair, views: Sequence[FlatView | None], sides: Sequence[str], edges: Sequence[Array]
) -> Array:
    """Return along which direction (3,) of the outside a seam runs."""
    along = np.zeros(3)
    for screen, view, side, edge in zip(pair, views, sides, edges, strict=True):
        assert view is not None
        aside = np.zeros(2)
        aside[1 - SIDES[side][0]] = NEARBY
        here, there = (_drawn_direction(view, screen, edge + sign * aside) for sign in (-1.0, 1.0))
        run = there / np.linalg.norm(there) - here / np.linalg.norm(here)
        # two screens may be turned against each other
        along += run if run @ along >= 0 else -run
    return along


def _inverses(target_from_source: Array) -> Array:
    """Return source-from-target of rigid transforms (n, 4, 4)."""
    found = np.zeros_like(target_from_source)
    found[:, :3, :3] = target_from_source[:, :3, :3].swapaxes(1, 2)
    found[:, :3, 3] = -np.einsum("nij,nj->ni", found[:, :3, :3], target_from_source[:, :3, 3])
    found[:, 3, 3] = 1.0
    return found


def _move(target_from_source: Array, points: Array) -> Array:
    """Return points, one (3,) or one for each transform (n, 3), through transforms (n, 4, 4)."""
    each = np.broadcast_to(points, (len(target_from_source), 3))
    moved = np.einsum("nij,nj->ni", target_from_source[:, :3, :3], each)
    return np.asarray(moved + target_from_source[:, :3, 3])
