"""The flat view that a simulator must be given for a screen: its frustum, and its own axes."""

import dataclasses
from typing import NamedTuple

import numpy as np

from seamsight.scene.frames import Array, angles, rotation
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import (
    as_thin,
    directions_through,
    edge_middles,
    eye_in_aperture_frame,
    image_points,
)


class FlatView(NamedTuple):
    """Tangents of a flat view's edges in its own axes, and how these stand in the rig frame.

    Yaw, pitch and roll are in radians.
    """

    left: float
    right: float
    bottom: float
    top: float
    yaw: float
    pitch: float
    roll: float


def view_of(screen: PlacedScreen, eye: Array) -> FlatView | None:
    """Return a screen's view from an eye (3,), rig frame, through its own lens.

    None if the eye is beside or behind it, or the lens lets nothing of an edge's middle through.
    """
    if not eye_in_aperture_frame(screen, eye)[1] < 0:
        return None

    # look at the edges' middles in the screen's own axes
    axes = screen.rig_from_screen[:3, :3]
    edges = image_points(screen, edge_middles(screen))
    seen = directions_through(screen.lens, eye, edges) @ axes
    if not np.isfinite(seen).all():
        return None

    left, right, bottom, top = seen
    yaw, pitch, roll = angles(axes)
    return FlatView(
        float(left[0] / left[1]),
        float(right[0] / right[1]),
        float(bottom[2] / bottom[1]),
        float(top[2] / top[1]),
        yaw,
        pitch,
        roll,
    )


def directions_of(view: FlatView, places: Array) -> Array:
    """Return the directions (n, 3) in which a view draws places (n, 2), rig frame, unit length.

    Places are shares of the picture's width and height, from its left and bottom edge.
    """
    across = view.left + (view.right - view.left) * places[:, 0]
    up = view.bottom + (view.top - view.bottom) * places[:, 1]
    directions = np.stack([across, np.ones(len(places)), up], axis=1)
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    return np.asarray(directions @ rotation(view.yaw, view.pitch, view.roll).T)


def part_of_wide(half: float, part: int, of: int, pixels: tuple[int, int]) -> FlatView:
    """Return the view of one part of a wide flat view straight ahead, with square pixels.

    Parameters
    ----------
    half : float
        Tangent of half the whole's horizontal field.
    part, of : int
        Which part, 1 for the leftmost, of how many.
    pixels : (int, int)
        Of the part's screen, across and down.
    """
    step = 2 * half / of
    left = -half + step * (part - 1)
    tall = step * pixels[1] / pixels[0] / 2
    return FlatView(left, left + step, -tall, tall, 0.0, 0.0, 0.0)


def drawn_view_of(screen: PlacedScreen, eye: Array) -> FlatView | None:
    """Return the view that a simulator would draw: an ideal lens's where the own one has none."""
    view = view_of(screen, eye)
    if view is None and screen.lens:
        view = view_of(dataclasses.replace(screen, lens=as_thin(screen.lens)), eye)
    return view
