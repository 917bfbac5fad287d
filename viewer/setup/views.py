"""The view to enter in a simulator for each outside screen: off-axis, or the best symmetric one.

All views are for the design eye point, through the screen's own lens.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, angles, rotation
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.frustum import FlatView, directions_of, drawn_view_of
from seamsight.viewer.casting.sightlines import angles_between, directions_through, image_points
from seamsight.viewer.setup.fitting import least_greatest

NEAR, FAR = 0.1, 1000.0  # clipping planes of the projection matrix; they do not change directions
STEPS = 16  # from edge to edge of an image, for places at which views are compared
FEWEST = 8  # places that an eye must see of an image for a view to be fitted


@dataclass(frozen=True)
class ScreenViews:
    """What to enter for a screen.

    Attributes
    ----------
    view : FlatView
        The off-axis view; through a grooved lens the best fit in the screen's own axes.
    residual : float
        Greatest angle between where the view draws a place and where it is seen, radians; 0 but
        for a grooved lens.
    symmetric : FlatView
        The best view whose axis goes through its middle, with the shape of the screen's pixels.
    error : float
        The same angle for that, radians.
    """

    view: FlatView
    residual: float
    symmetric: FlatView
    error: float

    def as_json(self) -> dict[str, Any]:
        """Return what `views --json` prints of a screen; angles in degrees."""
        return {
            **entries(self.view),
            "residual": math.degrees(self.residual),
            "symmetric": {**entries(self.symmetric), "error": math.degrees(self.error)},
        }


def entries(view: FlatView) -> dict[str, Any]:
    """Return a view as it is entered: field, edges from the axis (outwards), axis; degrees."""
    left, right, down, up = (math.degrees(math.atan(tangent)) for tangent in view[:4])
    yaw, pitch, roll = (math.degrees(angle) for angle in view[4:])
    return {
        "h": right - left,
        "v": up - down,
        "left": -left,
        "right": right,
        "up": up,
        "down": -down,
        "yaw": yaw,
        "pitch": pitch,
        "roll": roll,
        "projection": projection_of(view).tolist(),
    }


def projection_of(view: FlatView) -> Array:
    """Return a view's projection matrix (4, 4), OpenGL's clip space from camera space.

    glFrustum's (OpenGL 2.1 reference pages) with left = tangent x near and so on.
    """
    left, right, bottom, top = (tangent * NEAR for tangent in view[:4])
    matrix = np.zeros((4, 4))
    matrix[0, 0] = 2 * NEAR / (right - left)
    matrix[0, 2] = (right + left) / (right - left)
    matrix[1, 1] = 2 * NEAR / (top - bottom)
    matrix[1, 2] = (top + bottom) / (top - bottom)
    matrix[2, 2] = -(FAR + NEAR) / (FAR - NEAR)
    matrix[2, 3] = -2 * FAR * NEAR / (FAR - NEAR)
    matrix[3, 2] = -1.0
    return matrix


def screen_views(assembly: Assembly) -> dict[str, ScreenViews | None]:
    """Return the views of every outside screen, by its name.

    None where the design eye point is beside or behind it, or sees nothing of it.
    """
    eye = np.array(assembly.rig.pilot.eye_point)
    return {screen.name: views_of(screen, eye) for screen in assembly.outside_screens}


def views_of(screen: PlacedScreen, eye: Array) -> ScreenViews | None:
    """Return a screen's views from an eye (3,), rig frame; None where there is none."""
    start = drawn_view_of(screen, eye)
    if start is None:
        return None
    places, seen = seen_places(screen, eye)
    if len(places) < FEWEST:
        return None

    view = start
    if screen.lens and screen.lens.optic.model == "grooved":
        view = _fitted_edges(start, places, seen)
    symmetric = _symmetric(screen, view, places, seen)
    return ScreenViews(
        view,
        greatest_error(view, places, seen),
        symmetric,
        greatest_error(symmetric, places, seen),
    )


def seen_places(screen: PlacedScreen, eye: Array) -> tuple[Array, Array]:
    """Return places of an image and the directions in which an eye (3,) sees them.

    Returns
    -------
    (n, 2) float64
        Shares of the image's width and height, from its left and bottom edge. Those of which a
        lens lets no light through are left out.
    (n, 3) float64, rig frame
        Unit length.
    """
    share = np.arange(STEPS + 1) / STEPS
    places = np.stack(np.meshgrid(share, share), axis=-1).reshape(-1, 2)
    seen = seen_at(screen, eye, places)
    passes = np.isfinite(seen).all(axis=1)
    return places[passes], seen[passes]


def seen_at(screen: PlacedScreen, eye: Array, places: Array) -> Array:
    """Return the unit directions (n, 3) in which an eye (3,) sees places (n, 2) of an image.

    Places are shares, as in `seen_places`; not a number where a lens lets no light through.
    """
    points = image_points(screen, (places - 0.5) * screen.size)
    return directions_through(screen.lens, eye, points)


def greatest_error(view: FlatView, places: Array, seen: Array) -> float:
    """Return the greatest angle between where a view draws places and where they are seen."""
    return float(angles_between(directions_of(view, places), seen).max())


def _fitted_edges(start: FlatView, places: Array, seen: Array) -> FlatView:
    """Return a view with a view's axes whose edges fit best what is seen."""

    def with_edges(edges: Array) -> FlatView:
        left, right, bottom, top = map(float, edges)
        return start._replace(left=left, right=right, bottom=bottom, top=top)

    def off(edges: Array) -> Array:
        return directions_of(with_edges(edges), places) - seen

    return with_edges(least_greatest(off, np.array(start[:4])))


def _symmetric(screen: PlacedScreen, view: FlatView, places: Array, seen: Array) -> FlatView:
    """Return the best view without shift: its axis and its field fit what is seen."""
    across, down = screen.display.pixels

    def symmetric(numbers: Array) -> FlatView:
        wide = math.exp(numbers[3])
        high = wide * down / across
        yaw, pitch, roll = map(float, numbers[:3])
        return FlatView(-wide, wide, -high, high, yaw, pitch, roll)

    # start with the axis through the view's middle, and the image's own width
    left, right, bottom, top = view[:4]
    aside, above = (left + right) / 2, (bottom + top) / 2
    turned = rotation(math.atan(aside), math.atan2(above, math.hypot(1.0, aside)), 0.0)
    axis = angles(rotation(*view[4:]) @ turned)
    start = np.array([*axis, math.log((right - left) / 2 / math.hypot(1.0, aside, above))])

    return symmetric(least_greatest(lambda at: directions_of(symmetric(at), places) - seen, start))
