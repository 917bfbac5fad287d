"""Sending rays through a rig: whole pictures (`see`) or any rays (`trace`)."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly, build, parts_around
from seamsight.scene.errors import PoseError
from seamsight.scene.frames import Array
from seamsight.scene.rig import Pilot, Rig
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.casting.frustum import FlatView
from seamsight.viewer.casting.kernel import VOID, Segments, Tables
from seamsight.viewer.casting.lens_kernel import DESIGN
from seamsight.viewer.casting.tracer import tracer_of
from seamsight.viewer.casting.view import View
from seamsight.viewer.casting.walk import TILE_RAYS, Met, each_tile, filled, walk
from seamsight.viewer.projection import Projection
from seamsight.viewer.threads import each_on_threads

Ids = npt.NDArray[np.int32]
OnWay = Callable[[npt.NDArray[np.int64], Segments, Ids], None]


@dataclass(frozen=True, eq=False)
class Ends:
    """Where rays (n) ended.

    Attributes
    ----------
    parts : (n,) int32
        Part id, VOID or LOST.
    points : (n, 3) float64, rig frame
        Where, for rays that end on an image; not a number for others.
    """

    parts: Ids
    points: Array


def see(
    assembly: Assembly,
    eye: Array,
    projection: Projection,
    *,
    stride: int = 1,
    draft: bool = False,
    with_points: bool = False,
    views: Mapping[str, FlatView] | None = None,
) -> View:
    """Return what an eye (3,) in the rig frame sees.

    Parameters
    ----------
    assembly : Assembly
    eye : (3,) float64, rig frame
    projection : Projection
    stride : int
        Above 1, for live views: only every so manyth ray of a line is sent first; where two such
        neighbours meet one flat surface, the rays between are taken to meet it too, so that what is
        narrower can be missed; lines between two others are treated likewise. All colours then take
        one way through a grooved lens, without its fringes.
    draft : bool
        Whether to paint a new outside view in no more pixels than rays ask for; see `Tracer`.
    with_points : bool
        Whether to say where rays end, too.
    views : mapping of str to FlatView, optional
        What screens show of the outside instead of their own content, by their names.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read, or not any more.
    PoseError
        When the eye is inside a part.
    """
    refuse_inside(assembly, eye)

    # make ready what all tiles share
    tracer = tracer_of(assembly)
    # for live views the factors of the design eye point will do: new ones cost more than a picture
    from_where = np.array(assembly.rig.pilot.eye_point) if stride > 1 else eye
    if views:
        tables = tracer.tables_with(from_where, projection, views)
    else:
        tables = tracer.tables_for(from_where, projection, draft=draft)

    # draw tile after tile, each some whole rows of the picture
    width, height = projection.width, projection.height
    samples = projection.samples
    parts = np.empty((height, width), np.int32)
    light = np.empty((height, width, 3), np.float32)
    points = np.empty((height, width, 3)) if with_points else None

    def draw(rows: slice, rays: Segments) -> None:
        high = rows.stop - rows.start
        if stride > 1:
            rays.channel[:] = DESIGN
        fates = walk(tracer.caster, tables, rays, stride, high * samples)

        # keep the part of a pixel's middle ray, and the mean of all its rays' light
        middle = samples // 2
        ends = fates.part.reshape(high * samples, width * samples)
        parts[rows] = ends[middle::samples, middle::samples]
        if points is not None:
            places = fates.points.reshape(high * samples, width * samples, 3)
            points[rows] = places[middle::samples, middle::samples]
        blocks = fates.light.reshape(high, samples, width, samples, 3)
        light[rows] = blocks.mean(axis=(1, 3)) if samples > 1 else blocks[:, 0, :, 0]

    grid = projection.columns(), projection.rows()
    each_tile(np.asarray(eye, np.float64), projection.axes, grid, samples, draw)
    return View(assembly, eye, projection, parts, light, points)


def trace(
    assembly: Assembly, origins: Array, directions: Array, on_way: OnWay | None = None
) -> Ends:
    """Return where rays end, bent by every lens in their way.

    Parameters
    ----------
    origins, directions : (n, 3) float64, rig frame
        Directions of unit length; where one is not a number, its ray ends in the void.
    on_way : callable, optional
        Told, on several threads, of the straight way to each thing met: the numbers of the rays
        (m,) that are still on their way, their segments, of which the first m count, and the
        triangle (m,) that each meets, -1 for none.
    """
    tracer = tracer_of(assembly)
    parts = np.full(len(origins), VOID, np.int32)
    points = np.full((len(origins), 3), np.nan)
    # the engine would search everything for the others
    aimed = np.flatnonzero(np.isfinite(directions).all(axis=1))

    def send(first: int) -> None:
        rays = aimed[first : first + TILE_RAYS]

        def met(legs: Segments, count: int, faces: Ids) -> None:
            if on_way:
                on_way(rays[legs.ray[:count]], legs, faces)

        ends = trace_bundle(tracer.caster, tracer.bare, origins[rays], directions[rays], met)
        parts[rays] = ends.parts
        points[rays] = ends.points

    each_on_threads(send, range(0, len(aimed), TILE_RAYS))
    return Ends(parts, points)


def trace_bundle(
    caster: Caster, tables: Tables, origins: Array, directions: Array, met: Met | None = None
) -> Ends:
    """Return where rays end, as `trace` does, without an assembly and on one thread."""
    fates = walk(caster, tables, filled(origins, directions), met=met)
    return Ends(fates.part, fates.points)


def first_parts(assembly: Assembly, origins: Array, directions: Array) -> Ids:
    """Return which part rays (n, 3) meet first, lenses included.

    VOID for none, or where a direction is not a number.
    """
    parts = np.full(len(origins), VOID, np.int32)
    aimed = np.flatnonzero(np.isfinite(directions).all(axis=1))
    faces = tracer_of(assembly).caster.first_faces(
        origins[aimed].astype(np.float32), directions[aimed].astype(np.float32)
    )
    parts[aimed[faces >= 0]] = assembly.part_of_face[faces[faces >= 0]]
    return parts


def parts_between(assembly: Assembly, starts: Array, ends: Array) -> Ids:
    """Return which part is first on each straight way from a start to an end (n, 3), or VOID.

    Lenses are parts too.
    """
    parts = np.full(len(starts), VOID, np.int32)
    ways = ends - starts

    # look what lies ahead, however far
    moved = np.flatnonzero(ways.any(axis=1))
    directions = ways[moved] / np.linalg.norm(ways[moved], axis=1, keepdims=True)
    faces = tracer_of(assembly).caster.first_faces(
        starts[moved].astype(np.float32), directions.astype(np.float32)
    )
    moved = moved[faces >= 0]
    faces = faces[faces >= 0]

    # keep those whose way reaches the plane of what it meets
    normals = assembly.face_normals[faces]
    to_plane = ((assembly.triangles[faces, 0] - starts[moved]) * normals).sum(axis=1)
    along = (ways[moved] * normals).sum(axis=1)
    within = np.abs(to_plane) <= np.abs(along)
    parts[moved[within]] = assembly.part_of_face[faces[within]]
    return parts


def refuse_inside(assembly: Assembly, eyes: Array) -> None:
    """Refuse eyes inside a part; where that is one answer among many, ask `parts_around`.

    Parameters
    ----------
    assembly : Assembly
    eyes : (3,) or (n, 3) float64, rig frame

    Raises
    ------
    PoseError
        When one is; it names the first.
    """
    eyes = np.atleast_2d(eyes)
    around = parts_around(assembly, eyes)
    inside = np.flatnonzero(around >= 0)
    if len(inside):
        at = ", ".join(f"{value:.0f}" for value in eyes[inside[0]])
        name, _ = assembly.solids[around[inside[0]]]
        msg = f'at this head position an eye would be inside "{name}" ({at})'
        raise PoseError(msg)


def warm_up() -> None:
    """Compile the kernels, or load them where an earlier run left them; seconds once a machine."""
    nothing = build(Rig(format=1, name="nothing", pilot=Pilot(eye_point=(0.0, 0.0, 0.0))))
    see(nothing, np.zeros(3), Projection("equirectangular", 1, 1, 1.0))
