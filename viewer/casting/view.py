"""What an eye sees in a picture's directions."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.viewer.colour import srgb
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import png, with_scale

HATCHING = (94, 98, 104)  # sRGB; the empty room is (62, 66, 70)
LINES = 100  # about so many hatching lines to a picture's width
LEAST_SPACING = 12  # pixels


@dataclass(frozen=True, eq=False)
class View:
    """What an eye sees in a picture's directions.

    Attributes
    ----------
    assembly : Assembly
    eye : (3,) float64, rig frame
    projection : Projection
    parts : (h, w) int32
        The part that each pixel's middle ray ends on; VOID where it meets nothing.
    light : (h, w, 3) float32
        Linear light; the brightest screen's white is 1.
    points : (h, w, 3) float64 or None
        Rig frame: where middle rays end on images, not a number elsewhere. None if not asked for.
    """

    assembly: Assembly
    eye: Array
    projection: Projection
    parts: npt.NDArray[np.int32]
    light: npt.NDArray[np.float32]
    points: Array | None = None

    def _repr_png_(self) -> bytes:
        """Return what a notebook shows: the picture with its degree scale."""
        return png(framed(self, self.assembly.rig.name), {})


def picture_of(view: View) -> Picture:
    """Return a view as a picture (h, w, 3), hatched where there is nothing at all.

    The empty room is as dark as many a wall; the hatching shows which is which.
    """
    picture = srgb(view.light)
    height, width = view.parts.shape
    spacing = max(LEAST_SPACING, width // LINES)
    on_line = (np.arange(height)[:, None] + np.arange(width)) % spacing == 0
    picture[on_line & (view.parts < 0)] = HATCHING
    return picture


def framed(view: View, caption: str) -> Image.Image:
    """Return a view with its caption above and a degree scale along its edges; see `with_scale`."""
    return with_scale(Image.fromarray(picture_of(view)), view.projection, caption)
