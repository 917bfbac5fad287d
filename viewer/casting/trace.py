"""Sending rays through a rig: whole pictures (`see`) or any rays (`trace`)."""

import functools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from seamsight.scene.assembly import Assembly, build, part_around
from seamsight.scene.errors import PoseError
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.optics import magnification
from seamsight.scene.rig import Pilot, Rig
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.casting.kernel import (
    ALL,
    DESIGN,
    GREEN,
    GROOVED,
    LOST,
    VOID,
    Fates,
    Optics,
    Rows,
    Tables,
    advance,
    start_rays,
)
from seamsight.viewer.casting.sightlines import optics_of
from seamsight.viewer.casting.world import shown_on
from seamsight.viewer.colour import LINEAR, srgb
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import png, with_scale
from seamsight.viewer.threads import each_on_threads

TILE_RAYS = 16_384
MOST_SEGMENTS = 24  # lenses a ray may meet one after the other

Ids = npt.NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class View:
    """What an eye sees in a picture's directions.

    Attributes
    ----------
    assembly : Assembly
    eye : (3,) float64, rig frame
    projection : Projection
    parts : (h, w) int32
        The part that each pixel's middle ray ends on; VOID where it meets nothing.
    light : (h, w, 3) float32
        Linear light; the brightest screen's white is 1.
    """

    assembly: Assembly
    eye: Array
    projection: Projection
    parts: Ids
    light: npt.NDArray[np.float32]

    def _repr_png_(self) -> bytes:
        """Return what a notebook shows: the picture with its degree scale."""
        return png(framed(self, self.assembly.rig.name), {})


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


def framed(view: View, caption: str) -> Image.Image:
    """Return a view with its caption above and a degree scale along its edges; see `with_scale`."""
    return with_scale(Image.fromarray(srgb(view.light)), view.projection, caption)


def see(assembly: Assembly, eye: Array, projection: Projection, *, stride: int = 1) -> View:
    """Return what an eye (3,) in the rig frame sees.

    Parameters
    ----------
    assembly : Assembly
    eye : (3,) float64, rig frame
    projection : Projection
    stride : int
        Above 1, for live views: only every so manyth ray of a line is sent first; where two such neighbours meet
        one flat surface, the rays between are taken to meet it too, so that what is narrower can be missed; lines
        between two others are treated likewise. All colours then take one way through a grooved lens, without its
        fringes.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read, or not any more.
    PoseError
        When the eye is inside a part.
    """
    refuse_inside(assembly, eye)
    caster = _caster(assembly)
    # for live views the factors of the design eye point will do: new ones cost more than a picture
    from_where = np.array(assembly.rig.pilot.eye_point) if stride > 1 else eye
    tables = _tables(assembly, _shrinks(assembly, from_where, projection))
    columns, lines, axes = projection.columns(), projection.rows(), projection.axes
    parts = np.empty((projection.height, projection.width), np.int32)
    light = np.empty((projection.height, projection.width, 3), np.float32)
    samples = projection.samples
    step = max(1, TILE_RAYS // (projection.width * samples * samples))

    def draw(first: int) -> None:
        picture_rows = slice(first, min(first + step, projection.height))
        high = picture_rows.stop - first
        rays = _rows(high * samples * projection.width * samples)
        start_rays(rays, np.asarray(eye, np.float64), axes, columns, lines, first * samples)
        if stride > 1:
            rays.channel[:] = DESIGN
        fates = _run(caster, tables, rays, stride, high * samples)
        middle = samples // 2
        ends = fates.part.reshape(high * samples, projection.width * samples)
        parts[picture_rows] = ends[middle::samples, middle::samples]
        blocks = fates.light.reshape(high, samples, projection.width, samples, 3)
        light[picture_rows] = blocks.mean(axis=(1, 3)) if samples > 1 else blocks[:, 0, :, 0]

    each_on_threads(draw, range(0, projection.height, step))
    return View(assembly, eye, projection, parts, light)


def trace(assembly: Assembly, origins: Array, directions: Array) -> Ends:
    """Return where rays end, bent by every lens in their way.

    Parameters
    ----------
    origins, directions : (n, 3) float64, rig frame
        Directions of unit length; where one is not a number, its ray ends in the void.
    """
    caster, tables = _caster(assembly), _tables(assembly, ())
    parts, points = np.full(len(origins), VOID, np.int32), np.full((len(origins), 3), np.nan)
    going = np.flatnonzero(
        np.isfinite(directions).all(axis=1)
    )  # the engine would search everything for the others

    def send(first: int) -> None:
        rays = going[first : first + TILE_RAYS]
        rows = _rows(len(rays))
        rows.origins[:], rows.directions[:] = origins[rays], directions[rays]
        rows.near[:], rows.along[:] = origins[rays], directions[rays]
        rows.ray[:], rows.channel[:], rows.weight[:] = np.arange(len(rays)), DESIGN, 1.0
        fates = _run(caster, tables, rows)
        parts[rays], points[rays] = fates.part, fates.points

    each_on_threads(send, range(0, len(going), TILE_RAYS))
    return Ends(parts, points)


def first_parts(assembly: Assembly, origins: Array, directions: Array) -> Ids:
    """Return which part rays (n, 3) meet first, lenses included; VOID for none, or where a direction is no number."""
    parts = np.full(len(origins), VOID, np.int32)
    going = np.flatnonzero(np.isfinite(directions).all(axis=1))
    faces = _caster(assembly).first_faces(
        origins[going].astype(np.float32), directions[going].astype(np.float32)
    )
    parts[going[faces >= 0]] = assembly.part_of_face[faces[faces >= 0]]
    return parts


def parts_between(assembly: Assembly, starts: Array, ends: Array) -> Ids:
    """Return which part lies first on each straight way from a start to an end (n, 3), lenses included, or VOID."""
    parts = np.full(len(starts), VOID, np.int32)
    ways = ends - starts
    going = np.flatnonzero(ways.any(axis=1))
    directions = ways[going] / np.linalg.norm(ways[going], axis=1, keepdims=True)
    faces = _caster(assembly).first_faces(
        starts[going].astype(np.float32), directions.astype(np.float32)
    )
    going, faces = going[faces >= 0], faces[faces >= 0]
    corners = assembly.triangles[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    to_plane = ((corners[:, 0] - starts[going]) * normals).sum(axis=1)
    along = (ways[going] * normals).sum(axis=1)
    within = np.abs(to_plane) <= np.abs(along)  # the way reaches the plane of what it meets
    parts[going[within]] = assembly.part_of_face[faces[within]]
    return parts


def refuse_inside(assembly: Assembly, eye: Array) -> None:
    """Raise PoseError when an eye (3,) is inside a part."""
    around = part_around(assembly, eye)
    if around is not None:
        msg = f'the eye at {", ".join(f"{value:.0f}" for value in eye)} lies inside "{around}"'
        raise PoseError(msg)


def warm_up() -> None:
    """Compile the kernels, or load them where an earlier run left them. Takes seconds once per machine."""
    nothing = build(Rig(format=1, name="nothing", pilot=Pilot(eye_point=(0.0, 0.0, 0.0))))
    see(nothing, np.zeros(3), Projection("equirectangular", 1, 1, 1.0))


def _run(caster: Caster, tables: Tables, rows: Rows, stride: int = 1, lines: int = 1) -> Fates:
    """Send rays on until every one has ended; for `stride` see `see`, for `lines` the caster."""
    count = rays = len(rows.ray)
    fates = Fates(np.full(rays, LOST, np.int32), np.full((rays, 3), np.nan), np.zeros((rays, 3)))
    splits = (
        3 if (tables.lens[:, GROOVED] > 0).any() else 1
    )  # a grooved lens parts the three colours, once
    spare = [_rows(rays * splits), _rows(rays * splits)]
    for number in range(MOST_SEGMENTS):
        if count == 0:
            return fates
        faces = caster.first_faces(
            rows.near[:count], rows.along[:count], stride, lines if number == 0 else 1
        )
        behind = spare[number % 2]
        count = advance(rows, count, faces, tables, fates, behind)
        rows = behind
    tells = np.isin(rows.channel[:count], (ALL, GREEN, DESIGN))
    fates.part[rows.ray[:count][tells]] = LOST
    return fates


def _rows(count: int) -> Rows:
    return Rows(
        origins=np.empty((count, 3)),
        directions=np.empty((count, 3)),
        near=np.empty((count, 3), np.float32),
        along=np.empty((count, 3), np.float32),
        ray=np.empty(count, np.int64),
        channel=np.empty(count, np.int8),
        weight=np.empty(count),
    )


@functools.lru_cache(maxsize=8)
def _caster(assembly: Assembly) -> Caster:
    return Caster(assembly.triangles, assembly.flat_surfaces)


def _shrinks(assembly: Assembly, eye: Array, projection: Projection) -> tuple[int, ...]:
    """Return by what whole factor to average each screen's picture down before it is sampled.

    A ray stands for `degrees_per_pixel / samples`; where that spans several of a screen's pixels, their mean
    is what arrives. The factor rests on the image's distance from the eye and so is the same all over it.
    """
    spacing = math.radians(projection.degrees_per_pixel) / projection.samples
    return tuple(
        max(1, min(32, int(spacing / _pixel_angle(screen, eye)))) for screen in assembly.screens
    )


def _pixel_angle(screen: PlacedScreen, eye: Array) -> float:
    """Return about how large a screen's pixel looks, radians."""
    enlarged, away = 1.0, float(np.linalg.norm(screen.rig_from_screen[:3, 3] - eye))
    if screen.lens:
        optic = screen.lens.optic
        enlarged = magnification(optic.focal_length, optic.separation)
        away += (enlarged - 1) * optic.separation
    return screen.size[0] / screen.display.pixels[0] * enlarged / max(away, 1.0)


@functools.lru_cache(maxsize=8)  # with lenses and without: moving, each eye at rest, and measured
def _tables(assembly: Assembly, shrinks: tuple[int, ...]) -> Tables:
    """Gather what the kernel needs; with no shrinks the screens stay black, as where only places count."""
    parts = assembly.parts
    corners = assembly.triangles
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    tables = Tables(
        part_of_face=assembly.part_of_face,
        face_normal=normals / np.where(lengths > 0, lengths, 1.0),
        kind=np.array([part.kind for part in parts], np.int8),
        colour=np.array([part.colour for part in parts]).reshape(-1, 3),
        frame=np.zeros((len(parts), 4, 3)),
        size=np.ones((len(parts), 2)),
        gain=np.zeros(len(parts)),
        lens=np.zeros((len(parts), len(Optics._fields))),
        texels=np.zeros(3, np.uint8),
        texture=np.tile(np.array([0, 1, 1]), (len(parts), 1)).reshape(-1, 3),
        linear=LINEAR,
    )
    pictures = []
    first, brightest = (
        3,
        max((screen.display.luminance for screen in assembly.screens), default=1.0),
    )
    for number, screen in enumerate(assembly.screens):
        image = assembly.part_id(screen.name)
        _write_frame(tables.frame[image], screen.rig_from_screen)
        tables.size[image] = screen.size
        tables.gain[image] = screen.display.luminance / brightest
        if screen.lens:
            lens = assembly.lens_id(screen)
            _write_frame(tables.frame[lens], screen.lens.rig_from_lens)
            tables.lens[lens] = optics_of(screen.lens)
        if shrinks:
            picture = _shrunk_screen(assembly, number, shrinks[number])
            tables.texture[image] = first, picture.shape[1], picture.shape[0]
            first += picture.size
            pictures.append(picture.ravel())
    return tables._replace(texels=np.concatenate([tables.texels, *pictures]))


@functools.lru_cache(maxsize=128)
def _shrunk_screen(assembly: Assembly, number: int, factor: int) -> Picture:
    """Return what a screen shows, averaged down; kept, as factors change with each move of a head."""
    return _shrunk(shown_on(assembly.screens[number], assembly.rig), factor)


def _write_frame(row: Array, rig_from_part: Array) -> None:
    row[0], row[1:] = rig_from_part[:3, 3], rig_from_part[:3, :3].T


def _shrunk(picture: Picture, factor: int) -> Picture:
    """Return a picture averaged down by a whole factor, in linear light; a rest at right and bottom is cut."""
    factor = min(factor, *picture.shape[:2])
    if factor == 1:
        return picture
    high, wide = (side // factor for side in picture.shape[:2])
    light = LINEAR.astype(np.float32)[picture[: high * factor, : wide * factor]]
    columns = (
        light.reshape(high, factor, -1).sum(axis=1).reshape(high, wide, factor, 3)
    )  # whole rows first: faster
    return srgb(sum(columns[:, :, number] for number in range(factor)) / np.float32(factor**2))
