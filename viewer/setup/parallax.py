"""What no view setting mends: the outside view is a flat picture at one distance from the eyes."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import eye_in_aperture_frame, ideal_image

MOVE = 100.0  # mm by which the head moves


@dataclass(frozen=True)
class Parallax:
    """How far off directions are that a view is not for, at the nearest outside image's middle.

    Attributes
    ----------
    distance : float
        From the design eye point to the (virtual) image's middle, mm.
    each_eye : float
        How far each eye sees a place from where it would see one far away, radians.
    head : float
        The same after the head has moved `MOVE` to a side.
    """

    distance: float
    each_eye: float
    head: float

    def as_json(self) -> dict[str, Any]:
        """Return what `views --json` prints of it; angles in degrees."""
        return {
            "distance": self.distance,
            "each_eye": math.degrees(self.each_eye),
            "head_100_mm": math.degrees(self.head),
        }


def parallax(assembly: Assembly) -> Parallax:
    """Return what no view setting mends in a rig with outside screens."""
    pilot = assembly.rig.pilot
    eye = np.array(pilot.eye_point)

    def away(screen: PlacedScreen) -> float:
        [middle] = ideal_image(screen, np.zeros((1, 2)))
        return float(np.linalg.norm(middle - eye_in_aperture_frame(screen, eye)))

    nearest = min(map(away, assembly.outside_screens))
    return Parallax(
        nearest,
        math.atan(pilot.pupil_distance / 2 / nearest),
        math.atan(MOVE / nearest),
    )
