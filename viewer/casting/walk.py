"""Rays on their way, from one part that they meet to the next."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.casting.kernel import (
    LOST,
    Fates,
    Segments,
    Tables,
    advance,
    start_rays,
)
from seamsight.viewer.casting.lens_kernel import ALL, DESIGN, GREEN, GROOVED
from seamsight.viewer.threads import each_on_threads

TILE_RAYS = 16_384
MOST_SEGMENTS = 24  # lenses a ray may meet one after the other

Met = Callable[[Segments, int, npt.NDArray[np.int32]], None]
"""Told of segments, how many count, and the face that each meets, before they go on."""


def walk(
    caster: Caster,
    tables: Tables,
    segments: Segments,
    stride: int = 1,
    lines: int = 1,
    met: Met | None = None,
) -> Fates:
    """Send rays on until every one has ended; for `stride` see `see`, for `lines` the caster."""
    count = rays = len(segments.ray)
    fates = Fates(np.full(rays, LOST, np.int32), np.full((rays, 3), np.nan), np.zeros((rays, 3)))

    # write next segments to one spare set and read them from the other, by turns; a grooved lens
    # parts the three colours, once
    splits = 3 if (tables.lens[:, GROOVED] > 0).any() else 1
    spare = [new_segments(rays * splits), new_segments(rays * splits)]
    for number in range(MOST_SEGMENTS):
        if count == 0:
            return fates
        faces = caster.first_faces(
            segments.origins32[:count],
            segments.directions32[:count],
            stride,
            lines if number == 0 else 1,
        )
        if met:
            met(segments, count, faces)
        next_segments = spare[number % 2]
        count = advance(segments, count, faces, tables, fates, next_segments)
        segments = next_segments

    # give up on those still on their way
    tells = np.isin(segments.channel[:count], (ALL, GREEN, DESIGN))
    fates.part[segments.ray[:count][tells]] = LOST
    return fates


def new_segments(count: int) -> Segments:
    """Return room for so many segments."""
    return Segments(
        origins=np.empty((count, 3)),
        directions=np.empty((count, 3)),
        origins32=np.empty((count, 3), np.float32),
        directions32=np.empty((count, 3), np.float32),
        ray=np.empty(count, np.int64),
        channel=np.empty(count, np.int8),
        weight=np.empty(count),
    )


def each_tile(
    eye: Array,
    axes: Array,
    grid: tuple[Array, Array],
    samples: int,
    work: Callable[[slice, Segments], None],
) -> None:
    """Do something with the rays of some whole lines of pixels at a time, on all processors.

    Parameters
    ----------
    eye : (3,) float64, rig frame
    axes : (3, 3) float64
    grid : columns and rows of rays
        Of a projection, with so many `samples` for a pixel, each way.
    work : callable
        Told which lines of pixels, and their rays.
    """
    columns, lines = grid
    height = len(lines) // samples
    rows_at_once = max(1, TILE_RAYS // (len(columns) * samples))

    def tile(first: int) -> None:
        rows = slice(first, min(first + rows_at_once, height))
        rays = new_segments((rows.stop - first) * samples * len(columns))
        start_rays(rays, eye, axes, columns, lines, first * samples)
        work(rows, rays)

    each_on_threads(tile, range(0, height, rows_at_once))


def filled(origins: Array, directions: Array) -> Segments:
    """Return segments of rays (n, 3), rig frame, of all light, on the design wavelength's way."""
    segments = new_segments(len(origins))
    segments.origins[:] = segments.origins32[:] = origins
    segments.directions[:] = segments.directions32[:] = directions
    segments.ray[:] = np.arange(len(origins))
    segments.channel[:] = DESIGN
    segments.weight[:] = 1.0
    return segments


def unlit(tables: Tables) -> Tables:
    """Return tables in which nothing is seen but what shines by itself.

    Where rays meet nothing, `dark_void` is needed too.
    """
    return tables._replace(colour=np.zeros_like(tables.colour))


def dark_void(segments: Segments, count: int, faces: npt.NDArray[np.int32]) -> None:
    """Take the light of a room from rays that meet nothing; see `Met`."""
    segments.weight[:count][faces < 0] = 0.0


def planes_met(
    assembly: Assembly,
    segments: Segments,
    rows: npt.NDArray[np.int64],
    faces: npt.NDArray[np.int32],
) -> tuple[Array, Array]:
    """Return where some rows of segments meet the planes of their faces.

    Parameters
    ----------
    assembly : Assembly
    segments : Segments
    rows : (m,) int
    faces : (m,) int32
        One of each row.

    Returns
    -------
    (points, normals)
        (m, 3) each, rig frame; normals are turned towards where the ray comes from.
    """
    normals = assembly.face_normals[faces]
    origins, directions = segments.origins[rows], segments.directions[rows]
    slants = (normals * directions).sum(axis=1)
    slants = np.where(slants == 0, 1.0, slants)  # of a face without area
    away = ((assembly.triangles[faces, 0] - origins) * normals).sum(axis=1) / slants
    return origins + away[:, None] * directions, -np.sign(slants)[:, None] * normals
