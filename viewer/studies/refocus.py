"""What the eyes must focus and converge on, and how much that changes from outside to inside."""

import math
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import (
    angle_between,
    directions_through,
    eye_in_aperture_frame,
    ideal_image,
    image_points,
)
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.margins import in_front

MIDDLE = np.zeros((1, 2))


@dataclass(frozen=True)
class Focus:
    """What a screen's image asks of two eyes that look at its middle.

    Attributes
    ----------
    screen : str
    outside : bool
        Whether it is one of the outside view.
    dioptres : float
        To the image's centre, at the point between the eyes.
    vergence : float or None
        Angle between both eyes' directions, degrees; None where a lens lets nothing of it through.
    aside : float
        Angle between the face's forward and the screen's middle, degrees.
    """

    screen: str
    outside: bool
    dioptres: float
    vergence: float | None
    aside: float


@dataclass(frozen=True)
class Change:
    """What changes when the eyes go from an outside screen to one inside.

    Attributes
    ----------
    outside, inside : str
        From the outside screen that is most nearly straight ahead to that inside whose focus
        differs most.
    dioptres : float
    vergence : float or None
        Degrees; positive: more, for what is nearer.
    """

    outside: str
    inside: str
    dioptres: float
    vergence: float | None


def focuses(assembly: Assembly, eyes: Eyes) -> list[Focus]:
    """Return what each screen in front of the eyes asks of them, outside ones first."""
    found = [_focus(each, eyes) for each in assembly.screens if in_front(each, eyes.rows).all()]
    return sorted(found, key=lambda focus: not focus.outside)


def greatest_change(found: list[Focus]) -> Change | None:
    """Return the greatest change between outside and inside; None without one of them."""
    outside = [focus for focus in found if focus.outside]
    inside = [focus for focus in found if not focus.outside]
    if not outside or not inside:
        return None
    far = min(outside, key=lambda focus: focus.aside)
    near = max(inside, key=lambda focus: abs(focus.dioptres - far.dioptres))
    vergence = None
    if far.vergence is not None and near.vergence is not None:
        vergence = near.vergence - far.vergence
    return Change(far.screen, near.screen, near.dioptres - far.dioptres, vergence)


def _focus(screen: PlacedScreen, eyes: Eyes) -> Focus:
    away = ideal_image(screen, MIDDLE)[0] - eye_in_aperture_frame(screen, eyes.mid)
    point = image_points(screen, MIDDLE)
    left, right = (
        directions_through(screen.lens, eye, point)[0] for eye in (eyes.left, eyes.right)
    )
    vergence = math.degrees(angle_between(left, right))
    return Focus(
        screen.name,
        screen.outside,
        1000 / float(np.linalg.norm(away)),
        vergence if math.isfinite(vergence) else None,
        math.degrees(angle_between(eyes.axes[:, 1], point[0] - eyes.mid)),
    )
