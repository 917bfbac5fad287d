"""Lines along which values of a grid equal a level. The only module that imports contourpy."""

import numpy as np

from seamsight.scene.frames import Array


def contour_lines(values: Array, across: Array, along: Array, level: float) -> list[Array]:
    """Return the lines along which values, linear between neighbours, equal a level.

    Parameters
    ----------
    values : (m, n) float64
    across, along : (m,), (n,) float64
        Where these values are.
    level : float

    Returns
    -------
    list of (k, 2) float64
        Across and along of each line's points; none where the grid has no width or height.
    """
    from contourpy import contour_generator

    if min(values.shape) < 2:
        return []
    generator = contour_generator(across, along, values.T)
    return [np.asarray(line, np.float64) for line in generator.lines(level)]
