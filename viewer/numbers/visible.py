"""The field that is really seen of an image, with all parts in place: not what its edges span."""

import math

from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.polygons import Region, reach
from seamsight.viewer.casting.sightlines import angle_between, directions_through, image_points
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.areas import ImageAreas

AXES = {"h": 0, "v": 1}


def visible_field(areas: ImageAreas, eyes: Eyes) -> dict[str, dict[str, float | None]]:
    """Return the angles between the outermost places seen of an image's middle row and column.

    Through its own lens, if it has one.

    Returns
    -------
    dict
        "left", "right", "both", "either": {"h", "v"}: degrees. At that eye; what both eyes see, or
        either, at the point between the eyes. 0 where nothing is seen on that line; None where the
        lens lets nothing of such a place through to that point.
    """
    left, right = (
        eye.seen if eye.through is None else eye.through for eye in (areas.left, areas.right)
    )
    seen = {
        "left": (left, eyes.left),
        "right": (right, eyes.right),
        "both": (left ^ right, eyes.mid),
        "either": (left + right, eyes.mid),
    }
    return {
        eye: {way: _angle(areas.screen, region, axis, point) for way, axis in AXES.items()}
        for eye, (region, point) in seen.items()
    }


def _angle(screen: PlacedScreen, region: Region, axis: int, eye: Array) -> float | None:
    """Return the angle, degrees, at an eye (3,) between a region's ends on a middle line."""
    ends = reach(region, axis)
    if ends is None:
        return 0.0
    first, last = directions_through(screen.lens, eye, image_points(screen, ends))
    angle = math.degrees(angle_between(first, last))
    return angle if math.isfinite(angle) else None
