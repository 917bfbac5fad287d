"""A ray across a lens, compiled: the ideal thin lens, and the real sheet with grooves.

All in the lens's own frame: x right, y away through the lens, z up, its middle at the origin.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene import optics
from seamsight.scene.frames import Array
from seamsight.viewer.casting.compiling import compiled

# channels: what light a ray carries
ALL = -1  # red, green and blue together
RED, GREEN, BLUE = 0, 1, 2  # one colour; green tells the fate of all three
DESIGN = 3  # all light, the way of the wavelength for which lenses are designed

NEWTON_STEPS = 16  # at most
NEWTON_SHIFT = 1e-3  # mm; between the two rays that tell a slope
NEWTON_CLOSE = 1e-10  # mm; when to stop
NEWTON_GOOD = 1e-6  # mm; what counts as found
TURN_SHIFT = 1e-6  # mm; to feel which way round a picture runs
TOUCHING = 1e-6  # mm; a plane so near behind the lens's shows nothing

INDICES = np.array(
    [optics.acrylic_index(w) for w in (optics.RED, optics.GREEN, optics.BLUE, optics.D_LINE)]
)
"""Refractive index for each channel from RED to DESIGN."""
_DESIGN_INDEX = float(INDICES[DESIGN])

_thin_slope = compiled(optics.thin_slope)
_facet_tangent = compiled(optics.facet_tangent)
_refracted_cosine = compiled(optics.refracted_cosine)
_face_reflectances = compiled(optics.face_reflectances)
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
        landing = _landing(eye[row], x, z, depth[row], lens, channel)
        if landing[2] > 0.0:
            for column in range(4):
                out[row, column] = landing[column]
        else:
            out[row] = np.nan


@compiled
def aim(eye: Array, targets: Array, lens: Array, channel: int, places: Array) -> None:
    """Find where rays from eyes (n, 3) cross a lens to reach targets (n, 3) behind it.

    By Newton's method, from the `places` (n, 2) given, which are overwritten: not a number where it
    finds none.
    """
    for row in range(places.shape[0]):
        goal, depth, level = targets[row]
        x, z = places[row]
        step_x, step_z = 0.0, 0.0
        found = False
        for _ in range(NEWTON_STEPS):
            right, up, passed, _, _, _ = _landing(eye[row], x, z, depth, lens, channel)
            if passed <= 0.0:
                # no light passes here: that was too far
                step_x, step_z = step_x / 2, step_z / 2
                x, z = x + step_x, z + step_z
                continue
            off_x, off_z = right - goal, up - level
            miss = max(abs(off_x), abs(off_z))
            found = miss <= NEWTON_GOOD
            if miss <= NEWTON_CLOSE:
                break

            # step to where the ray would land right if all were linear
            a = _landing(eye[row], x + NEWTON_SHIFT, z, depth, lens, channel)
            b = _landing(eye[row], x, z + NEWTON_SHIFT, depth, lens, channel)
            ax, az = (a[0] - right) / NEWTON_SHIFT, (a[1] - up) / NEWTON_SHIFT
            bx, bz = (b[0] - right) / NEWTON_SHIFT, (b[1] - up) / NEWTON_SHIFT
            determinant = ax * bz - az * bx
            if determinant == 0.0 or a[2] <= 0.0 or b[2] <= 0.0:
                break
            step_x = (off_x * bz - off_z * bx) / determinant
            step_z = (off_z * ax - off_x * az) / determinant
            x, z = x - step_x, z - step_z
        if found:
            places[row, 0], places[row, 1] = x, z
        else:
            places[row] = np.nan


@compiled
def show(
    eye: Array, places: Array, plane_from_lens: Array, far: float, lens: Array, out: Array
) -> None:
    """Follow rays from an eye (3,) through places (n, 2) of the lens plane to a plane anywhere.

    Writes to `out` (n, 2) where they meet y = 0 of the plane's frame, held within a distance to
    each side; not a number where no light passes, or a ray does not come from before it.
    """
    for row in range(places.shape[0]):
        x, z = _shown(eye, places[row, 0], places[row, 1], plane_from_lens, 0.0, lens)
        out[row, 0] = min(max(x, -far), far) if x == x else np.nan
        out[row, 1] = min(max(z, -far), far) if x == x else np.nan


@compiled
def turn(
    eye: Array,
    places: Array,
    plane_from_lens: Array,
    depth: Array,
    lens: Array,
    out: npt.NDArray[np.int8],
) -> None:
    """Tell which way round the picture runs about places (n, 2), at depths (n,) behind a plane.

    See `show`. Writes to `out` (n,): 1 as the lens's plane, -1 the other way, 0 where there is no
    picture.
    """
    for row in range(places.shape[0]):
        x, z = places[row]
        deep = depth[row]
        at_x, at_z = _shown(eye, x, z, plane_from_lens, deep, lens)
        right_x, right_z = _shown(eye, x + TURN_SHIFT, z, plane_from_lens, deep, lens)
        up_x, up_z = _shown(eye, x, z + TURN_SHIFT, plane_from_lens, deep, lens)
        area = (right_x - at_x) * (up_z - at_z) - (right_z - at_z) * (up_x - at_x)
        out[row] = 1 if area > 0.0 else -1 if area < 0.0 else 0


@compiled
def _shown(
    eye: Array, x: float, z: float, plane_from_lens: Array, depth: float, lens: Array
) -> tuple[float, float]:
    """Return where one ray meets what lies so deep behind a plane; not a number if it does not."""
    x, z, passed, _, right, up = _landing(eye, x, z, 0.0, lens, DESIGN)
    if passed <= 0.0:
        return np.nan, np.nan

    # the ray in the plane's frame, from where it would cross the lens plane
    sense = 1.0 if eye[1] < 0.0 else -1.0
    m = plane_from_lens
    before = depth - (m[1, 0] * x + m[1, 2] * z + m[1, 3])
    speed = sense * (m[1, 0] * right + m[1, 1] + m[1, 2] * up)
    if before <= TOUCHING or speed <= 0.0:
        return np.nan, np.nan
    ahead = sense * before / speed
    x, y, z = x + right * ahead, ahead, z + up * ahead
    return m[0, 0] * x + m[0, 1] * y + m[0, 2] * z + m[0, 3], (
        m[2, 0] * x + m[2, 1] * y + m[2, 2] * z + m[2, 3]
    )


@compiled
def _landing(
    eye: Array, x: float, z: float, depth: float, lens: Array, channel: int
) -> tuple[float, float, float, float, float, float]:
    """Follow one ray as `land` does; no light passes where the third number is 0."""
    dx, dy, dz = x - eye[0], -eye[1], z - eye[2]
    scale = 1.0 / np.sqrt(dx * dx + dy * dy + dz * dz)
    passed, clear, x, y, z, dx, dy, dz = cross_lens(
        x, z, dx * scale, dy * scale, dz * scale, lens, channel
    )
    right, up = dx / dy, dz / dy
    return x + right * (depth - y), z + up * (depth - y), passed, clear, right, up


@compiled
def _face_transmittance(before: float, behind: float, ratio: float) -> float:
    """Return the share of unpolarised light that passes a face; see `optics.face_reflectances`."""
    across, along = _face_reflectances(before, behind, ratio)
    return 1.0 - (across + along) / 2.0


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
