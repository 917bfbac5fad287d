"""The compiled inner loops: starting rays, and taking each ray from the face it met to its next segment.

Everything here is scalar code over arrays, free of Python's lock, so that tiles run on threads. The first
call on a machine compiles it; the result is cached beside the code.
"""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple, TypeVar

import numba
import numpy as np
import numpy.typing as npt

from seamsight.scene import kind, optics
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind

VOID = -1  # fate of a ray that meets nothing
LOST = -2  # fate of a ray that met more lenses than MOST_SEGMENTS
STEP = 0.01  # mm; a ray behind a lens starts this far on, so that it does not meet the lens again

_ROOM_LIGHT = (0.050, 0.056, 0.064)  # linear light of the dim room where a ray meets nothing
_OPAQUE, _IMAGE = int(Kind.OPAQUE), int(Kind.IMAGE)

ALL = -1  # channel of a ray that carries red, green and blue together
RED, GREEN, BLUE = (
    0,
    1,
    2,
)  # channels of a ray that carries one colour; green tells the fate of all three
DESIGN = 3  # channel of a ray that carries all light the way of the wavelength for which lenses are designed
INDICES = np.array(
    [optics.acrylic_index(w) for w in (optics.RED, optics.GREEN, optics.BLUE, optics.D_LINE)]
)
_DESIGN_INDEX = float(INDICES[DESIGN])

if not numba.config.CACHE_DIR:
    # numba looks for changes in each compiled function's own file only: keep what rests on other laws apart
    _laws = b"".join(Path(str(module.__file__)).read_bytes() for module in (optics, kind))
    numba.config.CACHE_DIR = str(
        Path(__file__).parent / "__pycache__" / hashlib.sha256(_laws).hexdigest()[:12]
    )

_Function = TypeVar("_Function", bound=Callable[..., object])


def compiled(function: _Function) -> _Function:
    """Compile a function; for the type checker it stays what it was."""
    compiled: _Function = numba.njit(nogil=True, cache=True)(function)
    return compiled


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


# where each of these stands in a row of `Tables.lens`
_FOCAL_LENGTH, GROOVED, _TO_PILOT, _FLAT, _GROOVE, _THICKNESS = range(len(Optics._fields))


class Tables(NamedTuple):
    """What the kernel must know of the parts (p of them) and faces (n)."""

    part_of_face: npt.NDArray[np.int32]  # (n,)
    face_normal: Array  # (n, 3), unit length
    kind: npt.NDArray[np.int8]  # (p,)
    colour: Array  # (p, 3), linear
    frame: Array  # (p, 4, 3): origin, right, away, up of images and lenses, rig frame
    size: Array  # (p, 2): width and height of images, mm
    gain: Array  # (p,): an image's white against the brightest screen's
    lens: Array  # (p, 6): Optics of lenses
    texels: npt.NDArray[np.uint8]  # every image's pixels, one after the other, sRGB
    texture: npt.NDArray[np.int64]  # (p, 3): first texel, columns, rows of images
    linear: Array  # (256,): sRGB code to linear light


class Rows(NamedTuple):
    """Ray segments (n) on their way."""

    origins: Array  # (n, 3)
    directions: Array  # (n, 3), unit length
    near: npt.NDArray[np.float32]  # (n, 3): origins for the engine
    along: npt.NDArray[np.float32]  # (n, 3): directions for the engine
    ray: npt.NDArray[np.int64]  # (n,): whose segment it is
    channel: npt.NDArray[np.int8]  # (n,): ALL, a colour, or DESIGN
    weight: Array  # (n,): share of the light that passed the lenses so far


class Fates(NamedTuple):
    """What became of rays (m)."""

    part: npt.NDArray[np.int32]  # (m,): part id, VOID or LOST
    points: Array  # (m, 3): where they ended on an image, rig frame; not a number elsewhere
    light: Array  # (m, 3): linear light


@compiled
def start_rays(
    rows: Rows, eye: Array, axes: Array, columns: Array, lines: Array, first_line: int
) -> None:
    """Fill segments with the rays of whole picture lines.

    A ray's direction before turning is (x a, y a, b) with (x, y) of its column and (a, b) of its line.
    """
    width = columns.shape[0]
    for ray in range(rows.ray.shape[0]):
        column, line = ray % width, first_line + ray // width
        x, y = columns[column, 0] * lines[line, 0], columns[column, 1] * lines[line, 0]
        z = lines[line, 1]
        scale = 1.0 / np.sqrt(x * x + y * y + z * z)
        for k in range(3):
            direction = (axes[k, 0] * x + axes[k, 1] * y + axes[k, 2] * z) * scale
            rows.origins[ray, k] = eye[k]
            rows.directions[ray, k] = direction
            rows.near[ray, k] = eye[k]
            rows.along[ray, k] = direction
        rows.ray[ray] = ray
        rows.channel[ray] = ALL
        rows.weight[ray] = 1.0


@compiled
def advance(
    rows: Rows, count: int, faces: npt.NDArray[np.int32], tables: Tables, fates: Fates, behind: Rows
) -> int:
    """Take the first `count` segments to the faces that they meet.

    What goes on behind a lens is written to `behind`, one segment, or one for each colour where the lens splits
    them; their number is returned.
    """
    # arrays are handed on whole, with an index: a row taken out of one costs as much as the work on it
    going = 0
    for row in range(count):
        ray, channel, weight, face = rows.ray[row], rows.channel[row], rows.weight[row], faces[row]
        speaks = channel in (ALL, GREEN, DESIGN)
        if face < 0:
            if speaks:
                fates.part[ray] = VOID
            _add_light(
                fates.light, ray, channel, weight, _ROOM_LIGHT[0], _ROOM_LIGHT[1], _ROOM_LIGHT[2]
            )
            continue
        part = tables.part_of_face[face]
        if speaks:
            fates.part[ray] = part
        x, y, z = rows.origins[row, 0], rows.origins[row, 1], rows.origins[row, 2]
        dx, dy, dz = rows.directions[row, 0], rows.directions[row, 1], rows.directions[row, 2]
        kind = tables.kind[part]
        if kind == _OPAQUE:
            _end_on_solid(fates.light, ray, channel, weight, dx, dy, dz, face, part, tables)
            continue
        # find where the ray crosses the part's plane, in the part's own frame
        frame = tables.frame
        slant = _along(frame, part, 2, dx, dy, dz)
        ox, oy, oz = frame[part, 0, 0], frame[part, 0, 1], frame[part, 0, 2]
        away = (_along(frame, part, 2, ox, oy, oz) - _along(frame, part, 2, x, y, z)) / slant
        x, y, z = x + away * dx, y + away * dy, z + away * dz
        right = _along(frame, part, 1, x, y, z) - _along(frame, part, 1, ox, oy, oz)
        up = _along(frame, part, 3, x, y, z) - _along(frame, part, 3, ox, oy, oz)
        if kind == _IMAGE:
            if speaks:
                fates.points[ray, 0], fates.points[ray, 1], fates.points[ray, 2] = x, y, z
            _end_on_image(fates.light, ray, channel, weight, right, up, part, tables)
            continue
        going = _go_behind(behind, going, ray, channel, weight, right, up, dx, dy, dz, part, tables)
    return going


@compiled
def _go_behind(
    behind: Rows,
    going: int,
    ray: int,
    channel: int,
    weight: float,
    x: float,
    z: float,
    dx: float,
    dy: float,
    dz: float,
    part: int,
    tables: Tables,
) -> int:
    """Write what goes on behind a lens that a ray crosses at x, z; return how many segments there are now."""
    frame, lens = tables.frame, tables.lens[part]
    right, away, up = (
        _along(frame, part, 1, dx, dy, dz),
        _along(frame, part, 2, dx, dy, dz),
        _along(frame, part, 3, dx, dy, dz),
    )
    split = channel == ALL and lens[GROOVED] > 0
    for colour in range(0 if split else channel, 3 if split else channel + 1):
        passed, _, x2, y2, z2, ax, ay, az = cross_lens(x, z, right, away, up, lens, colour)
        if passed <= 0.0:
            continue
        for k in range(3):
            direction_k = ax * frame[part, 1, k] + ay * frame[part, 2, k] + az * frame[part, 3, k]
            crossing_k = x2 * frame[part, 1, k] + y2 * frame[part, 2, k] + z2 * frame[part, 3, k]
            origin_k = frame[part, 0, k] + crossing_k + STEP * direction_k
            behind.origins[going, k] = origin_k
            behind.directions[going, k] = direction_k
            behind.near[going, k] = origin_k
            behind.along[going, k] = direction_k
        behind.ray[going] = ray
        behind.channel[going] = colour
        behind.weight[going] = weight * passed
        going += 1
    return going


@compiled
def cross_lens(
    x: float, z: float, dx: float, dy: float, dz: float, lens: Array, channel: int
) -> tuple[float, float, float, float, float, float, float, float]:
    """Return what a lens makes of a ray that crosses its plane at x, z with direction dx, dy, dz, lens frame.

    Returns
    -------
    (passed, clear, x, y, z, dx, dy, dz)
        The share of the light that passes, 0 if none, and the share that the grooves' walls alone would let pass;
        where the ray leaves the lens, and its direction then.
    """
    if lens[GROOVED] > 0:
        return _cross_grooved(
            x, z, dx, dy, dz, lens, INDICES[channel] if channel >= 0 else _DESIGN_INDEX
        )
    on_axis = abs(dy)
    focal_length = lens[_FOCAL_LENGTH]
    right, up = (
        _thin_slope(dx / on_axis, x, focal_length),
        _thin_slope(dz / on_axis, z, focal_length),
    )
    scale = 1.0 / np.sqrt(1.0 + right * right + up * up)
    return 1.0, 1.0, x, 0.0, z, right * scale, np.sign(dy) * scale, up * scale


@compiled
def _cross_grooved(
    x: float, z: float, dx: float, dy: float, dz: float, lens: Array, index: float
) -> tuple[float, float, float, float, float, float, float, float]:
    """Take a ray through a sheet with one grooved face: Snell's law at both faces, facet by facet.

    Seen with the grooves in front (-y): the groove plane is at `grooved`, the flat face at `flat`. They lie so
    that for rays near the axis the lens acts from its plane, y = 0, on what stands on the screen's side.
    """
    nothing = 0.0, 0.0, x, 0.0, z, dx, dy, dz
    side = 1.0 if lens[_TO_PILOT] > 0 else -1.0
    dy *= side
    thickness = lens[_THICKNESS]
    grooved = -thickness * (1.0 - 1.0 / _DESIGN_INDEX) if side > 0 else 0.0
    flat = grooved + thickness
    if dy > 0:
        x, z = x + dx / dy * grooved, z + dz / dy * grooved
        through, dx, dy, dz, facet, outside, inside = _pass_facet(
            x, z, dx, dy, dz, lens, index, True
        )
        if through <= 0.0:
            return nothing
        x, z = x + dx / dy * thickness, z + dz / dy * thickness
        behind = _refracted_cosine(dy, index)
        if behind <= 0.0:
            return nothing
        through *= _face_transmittance(dy, behind, index)
        dx, dy, dz = dx * index, behind, dz * index
    else:
        x, z = x + dx / dy * flat, z + dz / dy * flat
        behind = _refracted_cosine(-dy, 1.0 / index)
        through = _face_transmittance(-dy, behind, 1.0 / index)
        dx, dy, dz = dx / index, -behind, dz / index
        x, z = x - dx / dy * thickness, z - dz / dy * thickness
        passed, dx, dy, dz, facet, outside, inside = _pass_facet(
            x, z, dx, dy, dz, lens, index, False
        )
        through *= passed
        if through <= 0.0:
            return nothing
    clear = _groove_wall_transmittance(facet, outside, inside, dy > 0)
    return through * clear, clear, x, side * (flat if dy > 0 else grooved), z, dx, side * dy, dz


@compiled
def _pass_facet(
    x: float, z: float, dx: float, dy: float, dz: float, lens: Array, index: float, entering: bool
) -> tuple[float, float, float, float, float, float, float]:
    """Refract a ray at the facet at x, z, entering the sheet (towards +y) or leaving it.

    Returns
    -------
    (passed, dx, dy, dz, facet, outside, inside)
        Fresnel's share; the new direction; tangent of the facet; slopes away from the axis out of and in the sheet.
    """
    radius = np.sqrt(x * x + z * z)
    right, up = (x / radius, z / radius) if radius > 0 else (1.0, 0.0)
    facet = _facet_tangent(radius, _DESIGN_INDEX, lens[_FLAT], lens[_GROOVE])
    cosine = 1.0 / np.sqrt(1.0 + facet * facet)
    # the normal that the ray runs against: out of the sheet for one that enters
    sign = 1.0 if entering else -1.0
    nx, ny, nz = sign * facet * cosine * right, -sign * cosine, sign * facet * cosine * up
    before, ratio = -(dx * nx + dy * ny + dz * nz), 1.0 / index if entering else index
    behind = _refracted_cosine(before, ratio) if before > 0 else -1.0
    slope = (dx * right + dz * up) / dy
    if behind <= 0.0:
        return 0.0, dx, dy, dz, facet, slope, slope
    bend = ratio * before - behind
    dx, dy, dz = ratio * dx + bend * nx, ratio * dy + bend * ny, ratio * dz + bend * nz
    if dy * sign <= 0.0:
        return 0.0, dx, dy, dz, facet, slope, slope
    after = (dx * right + dz * up) / dy
    passed = _face_transmittance(before, behind, ratio)
    return passed, dx, dy, dz, facet, slope if entering else after, after if entering else slope


@compiled
def land(eye: Array, places: Array, depth: Array, lens: Array, channel: int, out: Array) -> None:
    """Follow rays from eyes (n, 3) through places (n, 2) of a lens plane to planes at depths (n,) behind it.

    All in the lens frame. Writes to `out` (n, 4): x and z where they land, the share of light that passed, and
    that past the grooves' walls alone; not a number where none does.
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
def _along(frame: Array, part: int, axis: int, x: float, y: float, z: float) -> float:
    """Return how far x, y, z reaches along an axis of a part's frame: 1 right, 2 away, 3 up."""
    return float(frame[part, axis, 0] * x + frame[part, axis, 1] * y + frame[part, axis, 2] * z)


@compiled
def _add_light(
    light: Array, ray: int, channel: int, weight: float, red: float, green: float, blue: float
) -> None:
    """Add light of all colours, or of the one that a ray carries."""
    if channel in (ALL, DESIGN):
        light[ray, 0] += weight * red
        light[ray, 1] += weight * green
        light[ray, 2] += weight * blue
    elif channel == RED:
        light[ray, 0] += weight * red
    elif channel == GREEN:
        light[ray, 1] += weight * green
    elif channel == BLUE:
        light[ray, 2] += weight * blue


@compiled
def _end_on_image(
    light: Array,
    ray: int,
    channel: int,
    weight: float,
    x: float,
    z: float,
    part: int,
    tables: Tables,
) -> None:
    """Add the light of the image's pixel at x, z of its own frame."""
    first, columns, rows = tables.texture[part, 0], tables.texture[part, 1], tables.texture[part, 2]
    column = min(columns - 1, max(0, int((x / tables.size[part, 0] + 0.5) * columns)))
    row = min(rows - 1, max(0, int((0.5 - z / tables.size[part, 1]) * rows)))
    at = first + 3 * (row * columns + column)
    red, green, blue = tables.texels[at], tables.texels[at + 1], tables.texels[at + 2]
    linear = tables.linear
    _add_light(
        light, ray, channel, weight * tables.gain[part], linear[red], linear[green], linear[blue]
    )


@compiled
def _end_on_solid(
    light: Array,
    ray: int,
    channel: int,
    weight: float,
    dx: float,
    dy: float,
    dz: float,
    face: int,
    part: int,
    tables: Tables,
) -> None:
    """Add the light of a matt part under an even light from above and behind the pilot."""
    normal, colour = tables.face_normal, tables.colour
    slant = normal[face, 0] * dx + normal[face, 1] * dy + normal[face, 2] * dz
    facing = -1.0 if slant > 0 else 1.0
    glow = 0.16 + 0.12 * facing * normal[face, 2] + 0.24 * abs(slant)
    _add_light(
        light, ray, channel, weight * glow, colour[part, 0], colour[part, 1], colour[part, 2]
    )


@compiled
def fill_between(
    faces: npt.NDArray[np.int32],
    surfaces: npt.NDArray[np.int32],
    step: int,
    width: int,
    rest: npt.NDArray[np.int64],
) -> int:
    """Fill in faces (n,) between known runs of some width whose starts are a step apart.

    A place gets the face of the run before it. Where the surface (m,) of that face is not that of the run behind it,
    or there is none, the place is written to `rest` (n,) too; how many are is returned.
    """
    count = 0
    for start in range(0, faces.shape[0], step):
        for place in range(start + width, min(start + step, faces.shape[0])):
            before = start + (place - start) % width
            faces[place] = faces[before]
            if (
                before + step >= faces.shape[0]
                or surfaces[faces[before]] != surfaces[faces[before + step]]
            ):
                rest[count] = place
                count += 1
    return count


@compiled
def first_faces_by_search(
    triangles: npt.NDArray[np.float32],
    origins: npt.NDArray[np.float32],
    directions: npt.NDArray[np.float32],
) -> npt.NDArray[np.int32]:
    """Return the first triangle (n, 3, 3) on each ray (m, 3), -1 for none, by trying them all.

    Moeller & Trumbore, J. Graphics Tools 2 (1997) 21.
    """
    faces = np.full(origins.shape[0], -1, np.int32)
    for ray in range(origins.shape[0]):
        ox, oy, oz = (
            np.float64(origins[ray, 0]),
            np.float64(origins[ray, 1]),
            np.float64(origins[ray, 2]),
        )
        dx, dy, dz = (
            np.float64(directions[ray, 0]),
            np.float64(directions[ray, 1]),
            np.float64(directions[ray, 2]),
        )
        nearest = np.inf
        for face in range(triangles.shape[0]):
            a, b, c = triangles[face]
            e1x, e1y, e1z = (
                np.float64(b[0]) - a[0],
                np.float64(b[1]) - a[1],
                np.float64(b[2]) - a[2],
            )
            e2x, e2y, e2z = (
                np.float64(c[0]) - a[0],
                np.float64(c[1]) - a[1],
                np.float64(c[2]) - a[2],
            )
            px, py, pz = dy * e2z - dz * e2y, dz * e2x - dx * e2z, dx * e2y - dy * e2x
            area = e1x * px + e1y * py + e1z * pz
            if area == 0.0:
                continue
            sx, sy, sz = ox - a[0], oy - a[1], oz - a[2]
            u = (sx * px + sy * py + sz * pz) / area
            if u < 0.0 or u > 1.0:
                continue
            qx, qy, qz = sy * e1z - sz * e1y, sz * e1x - sx * e1z, sx * e1y - sy * e1x
            v = (dx * qx + dy * qy + dz * qz) / area
            if v < 0.0 or u + v > 1.0:
                continue
            distance = (e2x * qx + e2y * qy + e2z * qz) / area
            if 0.0 < distance < nearest:
                nearest = distance
                faces[ray] = face
    return faces
