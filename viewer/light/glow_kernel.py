"""Light gathered at some pixels, spread over those between: compiled."""

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.viewer.casting.compiling import compiled

REACH = 3  # gathered pixels to each side that count
FAR = 3.5  # gathered pixels; where their weight becomes 0
ALIKE = 0.9  # least cosine between two normals that count as one surface


@compiled
def spread(
    columns: Array,
    lines: Array,
    parts: npt.NDArray[np.int32],
    normals: Array,
    gathered_parts: npt.NDArray[np.int32],
    gathered_normals: Array,
    gathered: Array,
    out: Array,
) -> None:
    """Fill `out` (n, 3) with the light of the gathered pixels around each place.

    Those on the same part that face the same way count, the nearer the more; not a number where
    there is none.

    Parameters
    ----------
    columns, lines : (n,) float64
        The places, in gathered pixels.
    parts : (n,) int32
        The part there.
    normals : (n, 3) float64
    gathered_parts : (h, w) int32
    gathered_normals, gathered : (h, w, 3) float64
        Which way it faces, and the light.
    """
    height, width = gathered_parts.shape
    for row in range(columns.shape[0]):
        x, y = columns[row], lines[row]
        middle_x, middle_y = int(np.floor(x + 0.5)), int(np.floor(y + 0.5))
        total = 0.0
        red, green, blue = 0.0, 0.0, 0.0
        for j in range(max(0, middle_y - REACH), min(height, middle_y + REACH + 1)):
            for i in range(max(0, middle_x - REACH), min(width, middle_x + REACH + 1)):
                if gathered_parts[j, i] != parts[row]:
                    continue
                alike = (
                    normals[row, 0] * gathered_normals[j, i, 0]
                    + normals[row, 1] * gathered_normals[j, i, 1]
                    + normals[row, 2] * gathered_normals[j, i, 2]
                )
                if alike < ALIKE:
                    continue
                square = (i - x) * (i - x) + (j - y) * (j - y)
                if square >= FAR * FAR:
                    continue
                weight = (1.0 - square / (FAR * FAR)) ** 2
                total += weight
                red += weight * gathered[j, i, 0]
                green += weight * gathered[j, i, 1]
                blue += weight * gathered[j, i, 2]
        if total > 0.0:
            out[row, 0], out[row, 1], out[row, 2] = red / total, green / total, blue / total
        else:
            out[row, 0], out[row, 1], out[row, 2] = np.nan, np.nan, np.nan
