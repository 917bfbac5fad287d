"""What 3D views show of a rig beside its parts: images, virtual ones too, and lines of sight.

And the ball around all that a camera should keep in sight. Draws nothing.
"""

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.optics import magnification
from seamsight.viewer.casting.sightlines import directions_to_image, image_points

ROOM = 150.0  # mm left about the eye point for the head


def image_corners(screen: PlacedScreen, *, virtual: bool = False) -> Array:
    """Return the corners of a screen's image, or of its virtual one, (4, 3), rig frame.

    Lower left first, then lower right. The virtual image, behind an ideal lens, is the image drawn
    away from the lens's centre by the lens's magnification.
    """
    unit = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)])
    corners = image_points(screen, unit * screen.size)
    if virtual and screen.lens:
        centre = screen.lens.rig_from_lens[:3, 3]
        optic = screen.lens.optic
        corners = centre + magnification(optic.focal_length, optic.separation) * (corners - centre)
    return np.asarray(corners)


def sight(screen: PlacedScreen, eye: Array, *, lenses: bool = True) -> Array:
    """Return the way from an eye (3,) to the middle of a screen's image, (2 or 3, 3), rig frame.

    It bends at the screen's lens.
    """
    ends = [eye, screen.rig_from_screen[:3, 3]]
    if lenses and screen.lens:
        to_lens = screen.lens.rig_from_lens[:3, 3] - eye
        away = screen.lens.rig_from_lens[:3, 1]
        way = directions_to_image(screen, eye, np.zeros((1, 2)))[0]
        steps = to_lens @ away / (way @ away)
        if np.isfinite(steps) and steps > 0:  # not from beside or behind the lens
            ends.insert(1, eye + steps * way)
    return np.array(ends)


def ball_around(assembly: Assembly) -> tuple[Array, float]:
    """Return middle and radius of a ball around the screens, the lenses and the pilot's head."""
    eye = np.array(assembly.rig.pilot.eye_point)
    head = eye + np.array([(-ROOM,) * 3, (ROOM,) * 3])
    units = [part.triangles.reshape(-1, 3) for part in assembly.parts if part.screen]
    points = np.concatenate([*units, head])
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return middle, float(np.linalg.norm(points - middle, axis=1).max())
