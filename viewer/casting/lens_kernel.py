"""A ray across a lens, compiled: the ideal thin lens, and the real sheet with grooves.

All in the lens's own frame: x right, y away through the lens, z up, its middle at the origin.
"""

from typing import NamedTuple

import numpy as np

from seamsight.scene import optics
from seamsight.scene.frames import Array
from seamsight.viewer.casting.compiling import compiled

# channels: what light a ray carries
ALL = -1  # red, green and blue together
RED, GREEN, BLUE = 0, 1, 2  # one colour; green tells the fate of all three
DESIGN = 3  # all light, the way of the wavelength for which lenses are designed

INDICES = np.array(
    [optics.acrylic_index(w) for w in (optics.RED, optics.GREEN, optics.BLUE, optics.D_LINE)]
)
"""Refractive index for each channel from RED to DESIGN."""
_DESIGN_INDEX = float(INDICES[DESIGN])

_thin_slope = compiled(optics.thin_slope)
_facet_tangent = compiled(optics.facet_tangent)
_refracted_cosine = compiled(optics.refracted_cosine)
_face_transmittance = compiled(optics.face_transmittance)
_groove_wall_transmittance = compiled(optics.groove_wall_transmittance)


class Optics(NamedTuple):
    """What a lens does, as numbers. Distances mm."""

    focal_length: float
    grooved: bool
    grooves_to_pilot: bool
    flat_vergence: float  # the conjugates that the facets are cut for, see `optics.facet_tangent`
    groove_vergence: float
    thickness: float
    draft: float  # tangent of the groove walls' angle to the axis


# where each of these stands in a lens's row of numbers
_FOCAL_LENGTH, GROOVED, _TO_PILOT, _FLAT, _GROOVE, _THICKNESS, _DRAFT = range(len(Optics._fields))


@compiled
def cross_lens(
    x: float, z: float, dx: float, dy: float, dz: float, lens: Array, channel: int
) -> tuple[float, float, float, float, float, float, float, float]:
    """Return what a lens makes of a ray.

    Parameters
    ----------
    x, z : float
        Where the ray crosses the lens plane, mm.
    dx, dy, dz : float
        Its direction, unit length.
    lens : (6,) float64
        `Optics` of the lens.
    channel : int
        What light the ray carries.

    Returns
    -------
    (passed, clear, x, y, z, dx, dy, dz)
        The share of the light that passes, 0 if none, and the share that the grooves' walls alone
        would let pass; where the ray leaves the lens, and its direction then.
    """
    if lens[GROOVED] > 0:
        index = INDICES[channel] if channel >= 0 else _DESIGN_INDEX
        return _cross_grooved(x, z, dx, dy, dz, lens, index)

    on_axis = abs(dy)
    right = _thin_slope(dx / on_axis, x, lens[_FOCAL_LENGTH])
    up = _thin_slope(dz / on_axis, z, lens[_FOCAL_LENGTH])
    scale = 1.0 / np.sqrt(1.0 + right * right + up * up)
    return 1.0, 1.0, x, 0.0, z, right * scale, np.sign(dy) * scale, up * scale


@compiled
def land(eye: Array, places: Array, depth: Array, lens: Array, channel: int, out: Array) -> None:
    """Follow rays through a lens to planes behind it.

    From eyes (n, 3) through places (n, 2) of the lens plane to depths (n,) behind it. Writes to
    `out` (n, 4): x and z where they land, the share of light that passed, and that past the
    grooves' walls alone; not a number where none does.
    """
    for row in range(places.shape[0]):
        x, z = places[row]
        dx, dy, dz = x - eye[row, 0], -eye[row, 1], z - eye[row, 2]
        scale = 1.0 / np.sqrt(dx * dx + dy * dy + dz * dz)
        passed, clear, x, y, z, dx, dy, dz = cross_lens(
            x, z, dx * scale, dy * scale, dz * scale, lens, channel
        )
        if passed > 0.0:
            out[row, 0] = x + dx / dy * (depth[row] - y)
            out[row, 1] = z + dz / dy * (depth[row] - y)
            out[row, 2] = passed
            out[row, 3] = clear
        else:
            out[row] = np.nan


@compiled
def _cross_grooved(
    x: float, z: float, dx: float, dy: float, dz: float, lens: Array, index: float
) -> tuple[float, float, float, float, float, float, float, float]:
    """Take a ray through a sheet with one grooved face: Snell's law at both, facet by facet.

    Seen with the grooves in front (-y): the groove plane is at `grooved`, the flat face at `flat`.
    They lie so that for rays near the axis the lens acts from its plane, y = 0, on what stands on
    the screen's side.
    """
    nothing = 0.0, 0.0, x, 0.0, z, dx, dy, dz

    # turn the sheet so that its grooves are in front
    side = 1.0 if lens[_TO_PILOT] > 0 else -1.0
    dy *= side
    thickness = lens[_THICKNESS]
    grooved = -thickness * (1.0 - 1.0 / _DESIGN_INDEX) if side > 0 else 0.0
    flat = grooved + thickness

    if dy > 0:
        # go in at a facet
        x, z = x + dx / dy * grooved, z + dz / dy * grooved
        through, dx, dy, dz, facet, outside, inside = _pass_facet(
            x, z, dx, dy, dz, lens, index, True
        )
        if through <= 0.0:
            return nothing
        # go out at the flat face
        x, z = x + dx / dy * thickness, z + dz / dy * thickness
        behind = _refracted_cosine(dy, index)
        if behind <= 0.0:
            return nothing
        through *= _face_transmittance(dy, behind, index)
        dx, dy, dz = dx * index, behind, dz * index
    else:
        # go in at the flat face
        x, z = x + dx / dy * flat, z + dz / dy * flat
        behind = _refracted_cosine(-dy, 1.0 / index)
        through = _face_transmittance(-dy, behind, 1.0 / index)
        dx, dy, dz = dx / index, -behind, dz / index
        # go out at a facet
        x, z = x - dx / dy * thickness, z - dz / dy * thickness
        passed, dx, dy, dz, facet, outside, inside = _pass_facet(
            x, z, dx, dy, dz, lens, index, False
        )
        through *= passed
        if through <= 0.0:
            return nothing

    clear = _groove_wall_transmittance(facet, outside, inside, dy > 0, lens[_DRAFT])
    return through * clear, clear, x, side * (flat if dy > 0 else grooved), z, dx, side * dy, dz


@compiled
def _pass_facet(
    x: float, z: float, dx: float, dy: float, dz: float, lens: Array, index: float, entering: bool
) -> tuple[float, float, float, float, float, float, float]:
    """Refract a ray at the facet at x, z, entering the sheet (towards +y) or leaving it.

    Returns
    -------
    (passed, dx, dy, dz, facet, outside, inside)
        Fresnel's share; the new direction; tangent of the facet; slopes away from the axis out of
        and in the sheet.
    """
    radius = np.sqrt(x * x + z * z)
    right, up = (x / radius, z / radius) if radius > 0 else (1.0, 0.0)
    slope = (dx * right + dz * up) / dy

    # take the normal that the ray runs against: out of the sheet for one that enters
    facet = _facet_tangent(radius, _DESIGN_INDEX, lens[_FLAT], lens[_GROOVE])
    cosine = 1.0 / np.sqrt(1.0 + facet * facet)
    sign = 1.0 if entering else -1.0
    nx, ny, nz = sign * facet * cosine * right, -sign * cosine, sign * facet * cosine * up

    # bend the ray
    ratio = 1.0 / index if entering else index
    before = -(dx * nx + dy * ny + dz * nz)
    behind = _refracted_cosine(before, ratio) if before > 0 else -1.0
    if behind <= 0.0:
        return 0.0, dx, dy, dz, facet, slope, slope
    bend = ratio * before - behind
    dx, dy, dz = ratio * dx + bend * nx, ratio * dy + bend * ny, ratio * dz + bend * nz
    if dy * sign <= 0.0:
        return 0.0, dx, dy, dz, facet, slope, slope

    after = (dx * right + dz * up) / dy
    passed = _face_transmittance(before, behind, ratio)
    return passed, dx, dy, dz, facet, slope if entering else after, after if entering else slope
