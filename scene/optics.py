"""Laws of light as plain scalar functions: no geometry of a rig, no arrays.

The ray kernel compiles these same functions, so they use `math` and numbers only.
"""

import math

# nm; about where a daylight eye sees best
GREEN_PEAK = 550.0

# nm; helium d, for which focal lengths and refractive indices are stated
D_LINE = 587.5618

# nm; dominant wavelengths of the sRGB primaries (from memory)
RED = 611.4
GREEN = 549.1
BLUE = 464.2


def magnification(focal_length: float, distance: float) -> float:
    """Return f / (f - d): the upright magnification of an object at d < f before a thin lens.

    From 1/object + 1/image = 1/f and m = -image/object (any optics textbook; OpenStax University
    Physics 3, 2.4).
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


def acrylic_index(wavelength: float) -> float:
    """Return the refractive index of acrylic (PMMA) at 20 °C for a wavelength in nm, 437 to 1052.

    n^2 = 1 + 1.1819 L^2 / (L^2 - 0.011313), L in micrometres: one-term fit to Sultanova, Kasarova
    and Nikolov, Acta Physica Polonica A 116 (2009) 585, from the refractiveindex.info database
    (CC0).
    """
    square = (wavelength / 1000) ** 2
    return math.sqrt(1 + 1.1819 * square / (square - 0.011313))


def facet_tangent(
    radius: float, index: float, flat_vergence: float, groove_vergence: float
) -> float:
    """Return the tangent of a groove facet's angle to the lens plane, for two conjugate points.

    Snell's law at the flat face and at the facet of a thin sheet:
    tan a = (n sin t1' + sin t2) / (n cos t1' - cos t2),
    tan t1 = R / s1, sin t1' = sin t1 / n, tan t2 = R / s2.

    Parameters
    ----------
    radius : float
        R, mm from the optical axis.
    index : float
        n of the sheet.
    flat_vergence, groove_vergence : float
        1 / s1 and 1 / s2: one over the conjugate distances on the flat and on the grooved side,
        1/mm; positive for a real point on that side, negative for a virtual image on the other, 0
        for one at infinity.
    """
    flat = math.atan(radius * flat_vergence)
    grooved = math.atan(radius * groove_vergence)
    inside = math.asin(math.sin(flat) / index)
    return (index * math.sin(inside) + math.sin(grooved)) / (
        index * math.cos(inside) - math.cos(grooved)
    )


def refracted_cosine(cosine: float, ratio: float) -> float:
    """Return the cosine behind a face of a ray that meets it at a cosine, by Snell's law.

    It is -1 where all is reflected.

    Parameters
    ----------
    cosine : float
        Of the angle between ray and normal before the face, 0..1.
    ratio : float
        Index before the face over index behind it.
    """
    square = 1 - ratio * ratio * (1 - cosine * cosine)
    return math.sqrt(square) if square >= 0 else -1.0


def face_reflectances(before: float, behind: float, ratio: float) -> tuple[float, float]:
    """Return the shares of light polarised across and along that a face mirrors.

    Fresnel's equations; the plane of incidence is what light is polarised across or along. What
    is not mirrored passes. Of unpolarised light, half is polarised either way.

    Parameters
    ----------
    before, behind : float
        Cosines of the angles to the normal before and behind the face.
    ratio : float
        Index before the face over index behind it.
    """
    across = (ratio * before - behind) / (ratio * before + behind)
    along = (before - ratio * behind) / (before + ratio * behind)
    return across * across, along * along


def face_reflectance(cosine: float, index: float) -> float:
    """Return the share of unpolarised light that the front face of clear sheet mirrors.

    Parameters
    ----------
    cosine : float
        Of the angle between ray and normal, 0..1.
    index : float
        Of the sheet.
    """
    across, along = _front_face_reflectances(cosine, index)
    return (across + along) / 2


def sheet_reflectance(cosine: float, index: float) -> float:
    """Return the share of unpolarised light that both faces of a clear, flat sheet mirror.

    Of each polarisation 2 R / (1 + R), all bounces within the sheet counted and nothing absorbed
    (the sum of the series R + (1 - R)^2 R (1 + R^2 + R^4 + ...); any optics textbook).

    Parameters
    ----------
    cosine : float
        Of the angle between ray and normal, 0..1.
    index : float
        Of the sheet.
    """
    across, along = _front_face_reflectances(cosine, index)
    return across / (1 + across) + along / (1 + along)


def _front_face_reflectances(cosine: float, index: float) -> tuple[float, float]:
    return face_reflectances(cosine, refracted_cosine(cosine, 1 / index), 1 / index)


def groove_wall_transmittance(
    facet: float, outside: float, inside: float, from_grooves: bool, draft: float = 0.0
) -> float:
    """Return the share of a beam that passes a grooved face without meeting the grooves' walls.

    Each wall leads from the crest at the inner edge of a facet down to where the facet within
    ends, and leans inwards by the draft, so that the sheet leaves its mould. In grooves: a facet is
    1 / (1 + t tan a) wide and D = tan a / (1 + t tan a) deep. The part of it that light reaches
    from outside past the next groove's crest is F = 1 / (1 + max(-u, t) tan a); the part from which
    it meets the wall inside is B = max(-v - t, 0) D / (1 + max(-v, 0) tan a). What passes between,
    F - B, is seen foreshortened by 1 - u tan a from outside, and by 1 - v tan a from inside.
    (Plane geometry, derived here.)

    Parameters
    ----------
    facet : float
        tan a of the facet.
    outside, inside : float
        u and v: slopes of the beam away from the axis, for each mm of depth into the sheet.
    from_grooves : bool
        Whether the beam is taken before it meets the grooves from outside, or before it meets them
        from inside.
    draft : float
        t, the tangent of the walls' angle to the axis; 0 or more.
    """
    reached = 1 / (1 + max(-outside, draft) * facet)
    deepest = facet / (1 + draft * facet)
    walled = max(-inside - draft, 0.0) * deepest / (1 + max(-inside, 0.0) * facet)
    clear = max(0.0, reached - walled)
    shortened = 1 - (outside if from_grooves else inside) * facet
    return min(1.0, max(0.0, clear * shortened))


def diffraction_blur(pitch: float, before: float, behind: float) -> float:
    """Return the angle at the eye from a point to the first dark of its light through one groove.

    Fraunhofer's slit: the first zero is at lambda / p behind a slit of width p (any optics
    textbook). Seen from the eye, an image is spread by lambda / p times behind / (before + behind).
    Radians, at 550 nm.

    Parameters
    ----------
    pitch : float
        Groove spacing, mm.
    before, behind : float
        From the lens to the eye and to the image, mm.
    """
    return GREEN_PEAK * 1e-6 / pitch * behind / (before + behind)


def moire(first: float, second: float) -> tuple[float, float]:
    """Return how often the finer of two gratings goes into the coarser, and their moiré's period.

    Frequencies beat as N / coarser - 1 / finer, N the whole number nearest to the ratio r: the
    period is coarser / abs(r - N), for N = 1 the textbook's p1 p2 / abs(p1 - p2). Infinite where
    r is whole.

    Parameters
    ----------
    first, second : float
        Periods of two parallel gratings, of any one unit.
    """
    finer, coarser = min(first, second), max(first, second)
    ratio = coarser / finer
    off = abs(ratio - round(ratio))
    return ratio, coarser / off if off > 0 else math.inf
