"""What an eye sees in a picture's directions."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.viewer.colour import srgb
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import png, with_scale


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


def framed(view: View, caption: str) -> Image.Image:
    """Return a view with its caption above and a degree scale along its edges; see `with_scale`."""
    return with_scale(Image.fromarray(srgb(view.light)), view.projection, caption)
