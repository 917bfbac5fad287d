"""Between linear light and the sRGB codes of pictures (IEC 61966-2-1), by table."""

import numpy as np
import numpy.typing as npt

from seamsight.scene.files import Picture
from seamsight.scene.parts import linear_light

LINEAR = linear_light(np.arange(256))
"""From a code to linear light, (256,)."""

CODES = np.searchsorted((LINEAR[1:] + LINEAR[:-1]) / 2, np.linspace(0, 1, 16_385)).astype(np.uint8)
"""From linear light 0..1 in equal steps to the nearest code."""


def srgb(light: npt.NDArray[np.float32]) -> Picture:
    """Return linear light as sRGB, uint8; above 1 is clipped."""
    return CODES[(np.clip(light, 0.0, 1.0) * (len(CODES) - 1) + 0.5).astype(np.int32)]
