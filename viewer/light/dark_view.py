"""What an eye sees in a room that only screens and lamps light."""

import dataclasses
import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.viewer.casting.kernel import Segments, Tables
from seamsight.viewer.casting.lens_kernel import ALL, DESIGN, GREEN
from seamsight.viewer.casting.trace import refuse_inside
from seamsight.viewer.casting.tracer import tracer_of
from seamsight.viewer.casting.view import View
from seamsight.viewer.casting.walk import (
    Met,
    dark_void,
    each_tile,
    planes_met,
    unlit,
    walk,
)
from seamsight.viewer.light.direct import ALONG, gathered, irradiances
from seamsight.viewer.light.glow_kernel import spread
from seamsight.viewer.projection import Projection

SMALL = 2  # places along each side of a portal for what is too small to be gathered at
MOST_GATHERED = 80_000  # pixels at which light is gathered, about; it takes most of the time

Faces = npt.NDArray[np.int32]
Rows = npt.NDArray[np.int64]


class _Gathered(NamedTuple):
    """What was gathered at every so manyth pixel each way, (h, w) in all."""

    step: int
    parts: npt.NDArray[np.int32]  # (h, w); -1 where no opaque part is seen
    normals: Array  # (h, w, 3)
    light: Array  # (h, w, 3): irradiance


def see_in_the_dark(
    assembly: Assembly,
    eye: Array,
    projection: Projection,
    *,
    brighter: float = 1.0,
    along: int = ALONG,
) -> View:
    """Return what an eye (3,) sees where all parts are lit by screens and lamps alone.

    Direct light, through lenses too, on matt parts. In large pictures it is gathered at some pixels
    and spread over those between that show the same surface.

    Parameters
    ----------
    assembly : Assembly
    eye : (3,) float64, rig frame
    projection : Projection
    brighter : float
        How many times as bright to draw parts that do not shine.
    along : int
        See `irradiances`.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read, or not any more.
    PoseError
        When the eye is inside a part.
    """
    refuse_inside(assembly, eye)
    known = _gathered(assembly, eye, projection, along)
    tracer = tracer_of(assembly)
    tables = unlit(tracer.tables_for(eye, projection))
    coarse = tracer.tables_for(eye, _coarser(projection))
    albedo = brighter * tracer.bare.colour / np.pi
    columns, lines = projection.columns(), projection.rows()
    samples = projection.samples
    width = projection.width
    height = projection.height
    parts = np.empty((height, width), np.int32)
    light = np.empty((height, width, 3), np.float32)

    def draw(rows: slice, segments: Segments) -> None:
        across = width * samples
        first = rows.start * samples
        glow = np.zeros((len(segments.ray), 3))

        def met(segments: Segments, ends: Rows, faces: Faces) -> None:
            rays = segments.ray[ends]
            numbers = (rays % across, rays // across + first)
            pixels = [(number + 0.5) / samples - 0.5 for number in numbers]
            at = [(pixel - known.step // 2) / known.step for pixel in pixels]
            light = _spread(assembly, coarse, known, at, (segments, ends, faces))
            _add(glow, segments, ends, light * albedo[assembly.part_of_face[faces]])

        fates = walk(tracer.caster, tables, segments, met=_solids_met(assembly, met))
        middle = samples // 2
        high = rows.stop - rows.start
        ends = fates.part.reshape(high * samples, across)
        parts[rows] = ends[middle::samples, middle::samples]
        whole = fates.light + glow
        light[rows] = whole.reshape(high, samples, width, samples, 3).mean(axis=(1, 3))

    each_tile(eye, projection.axes, (columns, lines), samples, draw)
    return View(assembly, eye, projection, parts, light)


def _gathered(assembly: Assembly, eye: Array, projection: Projection, along: int) -> _Gathered:
    """Return the light on what is seen in every so manyth pixel."""
    single = dataclasses.replace(projection, samples=1)
    step = max(1, math.ceil(math.sqrt(single.width * single.height / MOST_GATHERED)))
    grid = single.columns()[step // 2 :: step], single.rows()[step // 2 :: step]
    shape = len(grid[1]), len(grid[0])
    tracer = tracer_of(assembly)
    parts = np.full(shape, -1, np.int32)
    points, normals = np.zeros((*shape, 3)), np.zeros((*shape, 3))

    def look(rows: slice, segments: Segments) -> None:
        def met(segments: Segments, ends: Rows, faces: Faces) -> None:
            tells = np.isin(segments.channel[ends], (ALL, GREEN, DESIGN))
            ends, faces = ends[tells], faces[tells]
            at = segments.ray[ends] + rows.start * shape[1]
            parts.reshape(-1)[at] = assembly.part_of_face[faces]
            found = planes_met(assembly, segments, ends, faces)
            points.reshape(-1, 3)[at], normals.reshape(-1, 3)[at] = found

        walk(tracer.caster, tracer.bare, segments, met=_solids_met(assembly, met))

    each_tile(eye, projection.axes, grid, 1, look)
    light = np.zeros((*shape, 3))
    coarse = tracer.tables_for(eye, _coarser(projection))
    found = parts >= 0
    light[found] = irradiances(assembly, coarse, points[found], normals[found], along)
    return _Gathered(step, parts, normals, light)


def _coarser(projection: Projection) -> Projection:
    """Return a projection of fewer pixels: light gathered from all over needs no fine pictures."""
    width, height = (max(1, side // 8) for side in (projection.width, projection.height))
    return dataclasses.replace(projection, width=width, height=height, samples=1)


def _solids_met(assembly: Assembly, tell: Callable[[Segments, Rows, Faces], None]) -> Met:
    """Return what tells of the rows of segments that end on opaque parts, and of their faces."""
    lamps = {assembly.part_id(lamp.name) for lamp in assembly.rig.lamp}
    numbered = enumerate(assembly.parts)
    solid = np.array(
        [part.kind is Kind.OPAQUE and number not in lamps for number, part in numbered]
    )
    on_solid = np.append(solid[assembly.part_of_face], False)  # the last for the void, face -1

    def met(segments: Segments, count: int, faces: Faces) -> None:
        dark_void(segments, count, faces)
        rows = np.flatnonzero(on_solid[faces])
        tell(segments, rows, faces[rows])

    return met


def _spread(
    assembly: Assembly,
    tables: Tables,
    known: _Gathered,
    at: Sequence[Array],
    ends: tuple[Segments, Rows, Faces],
) -> Array:
    """Return the irradiance at the ends (m) of segments, (m, 3)."""
    segments, rows, faces = ends
    parts = assembly.part_of_face[faces]
    normals = assembly.face_normals[faces]
    slants = (normals * segments.directions[rows]).sum(axis=1)
    normals = -np.sign(slants)[:, None] * normals
    light = np.empty((len(rows), 3))
    columns, lines = at
    spread(columns, lines, parts, normals, known.parts, known.normals, known.light, light)

    # look by itself at what is so small that no pixel near it was looked at
    missing = np.flatnonzero(np.isnan(light[:, 0]))
    if len(missing):
        points, facing = planes_met(assembly, segments, rows[missing], faces[missing])
        light[missing] = gathered(assembly, tables, points, facing, SMALL)
    return light


def _add(glow: Array, segments: Segments, rows: Rows, light: Array) -> None:
    """Add the light of rows of segments: of all colours, or of that which each carries."""
    rays, channels = segments.ray[rows], segments.channel[rows]
    weighted = light * segments.weight[rows, None]
    whole = np.isin(channels, (ALL, DESIGN))
    glow[rays[whole]] += weighted[whole]  # no ray has two segments of one channel
    for colour in range(0 if whole.all() else 3):
        of = channels == colour
        glow[rays[of], colour] += weighted[of, colour]
