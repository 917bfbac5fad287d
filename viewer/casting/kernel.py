"""The compiled inner loops: starting rays, and taking each from the face it met to what is next.

Everything here is scalar code over arrays, free of Python's lock, so that tiles run on threads.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.viewer.casting.compiling import compiled
from seamsight.viewer.casting.lens_kernel import (
    ALL,
    BLUE,
    DESIGN,
    GREEN,
    GROOVED,
    RED,
    cross_lens,
)

VOID = -1  # fate of a ray that meets nothing
LOST = -2  # fate of a ray that met more lenses than it may
STEP = 0.01  # mm; a ray behind a lens starts this far on, so that it does not meet the lens again

_ROOM_LIGHT = (0.050, 0.056, 0.064)  # linear light of the dim room where a ray meets nothing
_OPAQUE = int(Kind.OPAQUE)
_IMAGE = int(Kind.IMAGE)
_RIGHT, _AWAY, _UP = 1, 2, 3  # rows of a part's frame; row 0 is its origin


class Tables(NamedTuple):
    """What the kernel must know of the parts (p of them) and faces (n)."""

    part_of_face: npt.NDArray[np.int32]  # (n,)
    face_normal: Array  # (n, 3), unit length
    kind: npt.NDArray[np.int8]  # (p,)
    colour: Array  # (p, 3), linear
    frame: Array  # (p, 4, 3): origin, right, away, up of images and lenses, rig frame
    size: Array  # (p, 2): width and height of images, mm
    gain: Array  # (p,): an image's white against the brightest screen's
    lens: Array  # (p, 7): Optics of lenses
    texels: npt.NDArray[np.uint8]  # every image's pixels, one after the other, sRGB
    texture: npt.NDArray[np.int64]  # (p, 3): first texel, columns, rows of images
    linear: Array  # (256,): sRGB code to linear light


class Segments(NamedTuple):
    """Straight pieces (n) of rays on their way."""

    origins: Array  # (n, 3)
    directions: Array  # (n, 3), unit length
    origins32: npt.NDArray[np.float32]  # (n, 3): the same for the ray engine
    directions32: npt.NDArray[np.float32]  # (n, 3)
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
    segments: Segments, eye: Array, axes: Array, columns: Array, lines: Array, first_line: int
) -> None:
    """Fill segments with the rays of whole picture lines.

    A ray's direction before turning is (x a, y a, b) with (x, y) of its column and (a, b) of its
    line.
    """
    width = columns.shape[0]
    for ray in range(segments.ray.shape[0]):
        column = ray % width
        line = first_line + ray // width
        x, y = columns[column, 0] * lines[line, 0], columns[column, 1] * lines[line, 0]
        z = lines[line, 1]
        scale = 1.0 / np.sqrt(x * x + y * y + z * z)

        for k in range(3):
            direction_k = (axes[k, 0] * x + axes[k, 1] * y + axes[k, 2] * z) * scale
            segments.origins[ray, k] = eye[k]
            segments.directions[ray, k] = direction_k
            segments.origins32[ray, k] = eye[k]
            segments.directions32[ray, k] = direction_k
        segments.ray[ray] = ray
        segments.channel[ray] = ALL
        segments.weight[ray] = 1.0


@compiled
def advance(
    segments: Segments,
    count: int,
    faces: npt.NDArray[np.int32],
    tables: Tables,
    fates: Fates,
    next_segments: Segments,
) -> int:
    """Take the first `count` segments to the faces (count,) that they meet.

    What goes on behind a lens is written to `next_segments`, one segment, or one for each colour
    where the lens splits them; their number is returned.
    """
    # arrays are handed on whole, with an index: a row taken out of one costs as much as the work;
    # so does a call that is too large to be put in place
    next_count = 0
    for row in range(count):
        ray = segments.ray[row]
        channel = segments.channel[row]
        weight = segments.weight[row]
        tells_fate = channel in (ALL, GREEN, DESIGN)

        # end in the void
        face = faces[row]
        if face < 0:
            if tells_fate:
                fates.part[ray] = VOID
            red, green, blue = _ROOM_LIGHT
            _add_light(fates.light, ray, channel, weight, red, green, blue)
            continue

        part = tables.part_of_face[face]
        if tells_fate:
            fates.part[ray] = part
        kind = tables.kind[part]
        dx = segments.directions[row, 0]
        dy = segments.directions[row, 1]
        dz = segments.directions[row, 2]

        # end on what is opaque
        if kind == _OPAQUE:
            _end_on_solid(fates.light, ray, channel, weight, dx, dy, dz, face, part, tables)
            continue

        # find where the ray crosses the part's plane: in the rig frame, then in the part's own
        x, y, z = segments.origins[row, 0], segments.origins[row, 1], segments.origins[row, 2]
        frame = tables.frame
        ox, oy, oz = frame[part, 0, 0], frame[part, 0, 1], frame[part, 0, 2]
        slant = _reach(frame, part, _AWAY, dx, dy, dz)
        to_plane = _reach(frame, part, _AWAY, ox, oy, oz) - _reach(frame, part, _AWAY, x, y, z)
        away = to_plane / slant
        x, y, z = x + away * dx, y + away * dy, z + away * dz
        right = _reach(frame, part, _RIGHT, x, y, z) - _reach(frame, part, _RIGHT, ox, oy, oz)
        up = _reach(frame, part, _UP, x, y, z) - _reach(frame, part, _UP, ox, oy, oz)

        # end on an image, or go on behind a lens
        if kind == _IMAGE:
            if tells_fate:
                fates.points[ray, 0], fates.points[ray, 1], fates.points[ray, 2] = x, y, z
            _end_on_image(fates.light, ray, channel, weight, right, up, part, tables)
        else:
            next_count = _go_behind(
                next_segments, next_count, ray, channel, weight, right, up, dx, dy, dz, part, tables
            )
    return next_count


@compiled
def _go_behind(
    next_segments: Segments,
    next_count: int,
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
    """Write what goes on behind a lens that a ray crosses at x, z of the lens frame.

    Returns how many next segments there are now.
    """
    frame = tables.frame
    lens = tables.lens[part]
    right = _reach(frame, part, _RIGHT, dx, dy, dz)
    away = _reach(frame, part, _AWAY, dx, dy, dz)
    up = _reach(frame, part, _UP, dx, dy, dz)

    split = channel == ALL and lens[GROOVED] > 0
    for colour in range(0 if split else channel, 3 if split else channel + 1):
        passed, _, x2, y2, z2, ax, ay, az = cross_lens(x, z, right, away, up, lens, colour)
        if passed <= 0.0:
            continue
        for k in range(3):
            direction_k = (
                ax * frame[part, _RIGHT, k] + ay * frame[part, _AWAY, k] + az * frame[part, _UP, k]
            )
            crossing_k = (
                x2 * frame[part, _RIGHT, k] + y2 * frame[part, _AWAY, k] + z2 * frame[part, _UP, k]
            )
            origin_k = frame[part, 0, k] + crossing_k + STEP * direction_k
            next_segments.origins[next_count, k] = origin_k
            next_segments.directions[next_count, k] = direction_k
            next_segments.origins32[next_count, k] = origin_k
            next_segments.directions32[next_count, k] = direction_k
        next_segments.ray[next_count] = ray
        next_segments.channel[next_count] = colour
        next_segments.weight[next_count] = weight * passed
        next_count += 1
    return next_count


@compiled
def _reach(frame: Array, part: int, axis: int, x: float, y: float, z: float) -> float:
    """Return how far x, y, z reaches along an axis of a part's frame."""
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
    # find the pixel
    first = tables.texture[part, 0]
    columns = tables.texture[part, 1]
    rows = tables.texture[part, 2]
    column = min(columns - 1, max(0, int((x / tables.size[part, 0] + 0.5) * columns)))
    row = min(rows - 1, max(0, int((0.5 - z / tables.size[part, 1]) * rows)))

    at = first + 3 * (row * columns + column)
    red = tables.linear[tables.texels[at]]
    green = tables.linear[tables.texels[at + 1]]
    blue = tables.linear[tables.texels[at + 2]]
    _add_light(light, ray, channel, weight * tables.gain[part], red, green, blue)


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
    normal = tables.face_normal
    slant = normal[face, 0] * dx + normal[face, 1] * dy + normal[face, 2] * dz
    facing = -1.0 if slant > 0 else 1.0
    glow = 0.16 + 0.12 * facing * normal[face, 2] + 0.24 * abs(slant)

    red, green, blue = tables.colour[part, 0], tables.colour[part, 1], tables.colour[part, 2]
    _add_light(light, ray, channel, weight * glow, red, green, blue)
