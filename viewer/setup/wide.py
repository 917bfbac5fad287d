"""One wide flat view cut over screens side by side: its best field, and how wrong it is where."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.display import Wide
from seamsight.scene.errors import PoseError
from seamsight.scene.frames import Array, azimuth_and_elevation
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.frustum import (
    FlatView,
    directions_of,
    drawn_view_of,
    part_of_wide,
)
from seamsight.viewer.casting.sightlines import (
    angles_between,
    directions_to_image,
    project_onto_image,
)
from seamsight.viewer.setup.fitting import least_greatest
from seamsight.viewer.setup.views import greatest_error, seen_places

EDGE_STEPS = 8  # from the bottom to the top of a seam
MIDDLE = EDGE_STEPS // 2


@dataclass(frozen=True)
class Step:
    """What happens to a line that crosses a seam of one wide view.

    Attributes
    ----------
    between : tuple of str
        The screens left and right of it.
    angle : float
        Between both places at which the eye sees one place of the wide view, at the seam's height
        where that is greatest, radians.
    px : int or None
        Pixels of the wide view to leave out there, so that lines run on; negative: to show twice.
        None where the screens turn away from each other too much.
    """

    between: tuple[str, str]
    angle: float
    px: int | None


@dataclass(frozen=True)
class WideView:
    """One wide flat view, cut into equal parts.

    Attributes
    ----------
    field : float
        Horizontal field of the whole, radians.
    yaw, pitch : float
        Where its middle looks, radians.
    views : dict
        The part of it that each screen shows, by name, from the left.
    errors : dict
        Greatest angle between where each shows something and where it should be, radians.
    steps : tuple of Step
    """

    field: float
    yaw: float
    pitch: float
    views: dict[str, FlatView]
    errors: dict[str, float]
    steps: tuple[Step, ...]

    @property
    def zoom(self) -> float:
        """How much larger the whole is drawn than with a field of 90 degrees."""
        return 1 / math.tan(self.field / 2)

    def as_json(self) -> dict[str, Any]:
        """Return what `views --json` prints of it; angles in degrees."""
        return {
            "field": math.degrees(self.field),
            "zoom": self.zoom,
            "parts": len(self.views),
            "yaw": math.degrees(self.yaw),
            "pitch": math.degrees(self.pitch),
            "error": {name: math.degrees(error) for name, error in self.errors.items()},
            "steps": [
                {"between": list(step.between), "degrees": math.degrees(step.angle), "px": step.px}
                for step in self.steps
            ],
        }


def best_wide(assembly: Assembly, *, middle_only: bool = False) -> WideView | None:
    """Return the wide view whose greatest error on a rig's outside screens is least.

    It is cut over the screens that share a wide picture in the rig, else over those of the first
    bank with several, else over all outside screens, from left to right. None where these are
    fewer than two, or the design eye point does not see one.

    Parameters
    ----------
    assembly : Assembly
    middle_only : bool
        Whether only the error on the middle screen, or the middle two, counts.

    Raises
    ------
    PoseError
        When the rig's own wide picture lacks a part, or has one twice.
    """
    eye = np.array(assembly.rig.pilot.eye_point)
    screens = _side_by_side(assembly, eye)
    count = len(screens)
    middle = drawn_view_of(screens[count // 2], eye) if count > 1 else None
    seen = [seen_places(screen, eye) for screen in screens]
    if middle is None or not all(len(places) for places, _ in seen):
        return None
    counted = slice((count - 1) // 2, count // 2 + 1) if middle_only else slice(count)

    def off(numbers: Array) -> Array:
        views = _parts(screens, math.exp(numbers[2]), float(numbers[0]), float(numbers[1]))
        pairs = zip(views[counted], seen[counted], strict=True)
        return np.concatenate(
            [directions_of(view, places) - there for view, (places, there) in pairs]
        )

    # start with a field that is right for the middle screen
    half = count * (middle.right - middle.left) / 2
    yaw, pitch, log_half = map(float, least_greatest(off, np.array([0.0, 0.0, math.log(half)])))
    return _judged(screens, eye, math.exp(log_half), yaw, pitch)


def rigs_own_wide(assembly: Assembly) -> WideView | None:
    """Return the wide outside view that a rig's screens show; None if they show none.

    Raises
    ------
    PoseError
        When it lacks a part, or has one twice.
    """
    screens = _sharing(assembly, outside_view=True)
    first = screens[0].shows if screens else None
    if not isinstance(first, Wide):
        return None
    eye = np.array(assembly.rig.pilot.eye_point)
    if not all(len(seen_places(screen, eye)[0]) for screen in screens):
        return None
    return _judged(screens, eye, math.tan(math.radians(first.field / 2)), 0.0, 0.0)


def _judged(
    screens: Sequence[PlacedScreen], eye: Array, half: float, yaw: float, pitch: float
) -> WideView:
    """Return a wide view, half as wide as a tangent, with its errors and steps."""
    views = _parts(screens, half, yaw, pitch)
    errors = [
        greatest_error(view, *seen_places(screen, eye))
        for screen, view in zip(screens, views, strict=True)
    ]
    names = [screen.name for screen in screens]
    return WideView(
        2 * math.atan(half),
        yaw,
        pitch,
        dict(zip(names, views, strict=True)),
        dict(zip(names, errors, strict=True)),
        tuple(_step(*pair, eye) for pair in itertools.pairwise(screens)),
    )


def _parts(
    screens: Sequence[PlacedScreen], half: float, yaw: float, pitch: float
) -> list[FlatView]:
    """Return the part of a wide view that each screen shows; the whole's half is a tangent."""
    count = len(screens)
    return [
        part_of_wide(half, number, count, screen.display.pixels)._replace(yaw=yaw, pitch=pitch)
        for number, screen in enumerate(screens, start=1)
    ]


def _step(left: PlacedScreen, right: PlacedScreen, eye: Array) -> Step:
    """Return the step at the seam of two screens that show neighbouring parts."""
    heights = np.arange(EDGE_STEPS + 1) / EDGE_STEPS - 0.5
    ends, starts = (
        directions_to_image(
            screen, eye, np.stack([np.full_like(heights, side), heights], axis=1) * screen.size
        )
        for screen, side in ((left, 0.5), (right, -0.5))
    )
    greatest = float(angles_between(ends, starts).max())

    # how far the other's edge is beyond each one's own, in its own pixels
    past = [_beyond(left, eye, starts[MIDDLE], 1), _beyond(right, eye, ends[MIDDLE], -1)]
    px = round(sum(past) / 2) if np.isfinite(past).all() else None
    return Step((left.name, right.name), greatest, px)


def _beyond(screen: PlacedScreen, eye: Array, direction: Array, side: int) -> float:
    """Return how many pixels beyond its right (1) or left (-1) edge a direction (3,) leads.

    Not a number where it does not lead to the image's plane.
    """
    [[across, _]] = project_onto_image(screen, eye, (eye + direction)[None])
    width = screen.size[0]
    return float((side * across - width / 2) / width * screen.display.pixels[0])


def _side_by_side(assembly: Assembly, eye: Array) -> list[PlacedScreen]:
    """Return the outside screens over which one wide view is cut, from left to right."""
    sharing = _sharing(assembly)
    if sharing:
        return sharing
    outside = assembly.outside_screens
    for bank in dict.fromkeys(screen.bank for screen in outside if screen.bank):
        units = [screen for screen in outside if screen.bank == bank]
        if len(units) > 1:
            return units

    def azimuth(screen: PlacedScreen) -> float:
        return float(azimuth_and_elevation(screen.rig_from_screen[:3, 3] - eye)[0])

    return sorted(outside, key=azimuth)


def _sharing(assembly: Assembly, *, outside_view: bool = False) -> list[PlacedScreen]:
    """Return the screens of a rig's first wide picture, or outside view, in its parts' order."""
    wide = [
        (screen, screen.shows)
        for screen in assembly.outside_screens
        if isinstance(screen.shows, Wide) and (screen.shows.wide == "world" or not outside_view)
    ]
    if not wide:
        return []
    whole = wide[0][1].model_copy(update={"part": 1})
    parts: dict[int, list[PlacedScreen]] = {}
    for screen, shows in wide:
        if shows.model_copy(update={"part": 1}) == whole:
            parts.setdefault(shows.part, []).append(screen)

    for number in range(1, whole.of + 1):
        names = [screen.name for screen in parts.get(number, [])]
        if len(names) != 1:
            where = " and ".join(f'"{name}"' for name in names)
            what = f"is on {where}: give each screen a part of its own" if names else "is missing"
            msg = f'part {number} of {whole.of} of the wide picture "{whole.wide}" {what}'
            raise PoseError(msg)
    return [parts[number][0] for number in sorted(parts)]
