"""Laws of light as plain scalar functions: no geometry of a rig, no arrays.

The ray kernel compiles these same functions, so they use `math` and numbers only.
"""


def magnification(focal_length: float, distance: float) -> float:
    """Return f / (f - d): the upright magnification of an object at d < f before a thin lens.

    From 1/object + 1/image = 1/f and m = -image/object (any optics textbook; OpenStax University Physics 3, 2.4).
    """
    return focal_length / (focal_length - distance)


def thin_slope(slope: float, place: float, focal_length: float) -> float:
    """Return the slope of a ray behind a thin lens: slope' = slope - place / f.

    Parameters
    ----------
    slope : float
        dx/ds before the lens, s along the way that the ray travels on the axis.
    place : float
        Where the ray crosses the lens plane, from the optical axis, mm.
    focal_length : float
        mm; positive converges.
    """
    return slope - place / focal_length
