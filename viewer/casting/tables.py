"""What the kernel must know of an assembly: its parts, and its screens' pictures averaged down."""

import math
from collections.abc import Sequence

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.optics import magnification
from seamsight.viewer.casting.kernel import Tables
from seamsight.viewer.casting.lens_kernel import Optics
from seamsight.viewer.casting.sightlines import optics_of
from seamsight.viewer.colour import LINEAR, srgb
from seamsight.viewer.projection import Projection

MOST_SHRUNK = 32  # pixels of a screen averaged into one, each way
ROWS_AT_ONCE = 64  # of a picture averaged down


def bare_tables(assembly: Assembly) -> Tables:
    """Gather what the kernel needs, with every screen a single black pixel."""
    parts = assembly.parts
    tables = Tables(
        part_of_face=assembly.part_of_face,
        face_normal=assembly.face_normals,
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

    # add what only images and lenses have
    brightest = max((screen.display.luminance for screen in assembly.screens), default=1.0)
    for screen in assembly.screens:
        image = assembly.part_id(screen.name)
        _write_frame(tables.frame[image], screen.rig_from_screen)
        tables.size[image] = screen.size
        tables.gain[image] = screen.display.luminance / brightest
        if screen.lens:
            lens = assembly.lens_id(screen)
            _write_frame(tables.frame[lens], screen.lens.rig_from_lens)
            tables.lens[lens] = optics_of(screen.lens)
    return _with_lamps(tables, assembly, brightest)


def _with_lamps(tables: Tables, assembly: Assembly, brightest: float) -> Tables:
    """Return tables in which the face of each lamp is an image of one white pixel."""
    lamps = assembly.rig.lamp
    if not lamps:
        return tables
    for lamp in lamps:
        face = assembly.part_id(lamp.name)
        tables.kind[face] = Kind.IMAGE
        _write_frame(tables.frame[face], assembly.parts[face].rig_from_part)
        tables.size[face] = lamp.size
        tables.gain[face] = lamp.brightness / brightest
        tables.texture[face, 0] = len(tables.texels)
    return tables._replace(texels=np.append(tables.texels, np.full(3, 255, np.uint8)))


def with_pictures(bare: Tables, images: Sequence[int], pictures: Sequence[Picture]) -> Tables:
    """Return tables whose images, by part id, show pictures (h, w, 3)."""
    texture = bare.texture.copy()
    texels = [bare.texels]
    first = len(bare.texels)
    for image, picture in zip(images, pictures, strict=True):
        texture[image] = first, picture.shape[1], picture.shape[0]
        texels.append(picture.ravel())
        first += picture.size
    return bare._replace(texture=texture, texels=np.concatenate(texels))


def shrink_factors(
    screens: Sequence[PlacedScreen], eye: Array, projection: Projection
) -> tuple[int, ...]:
    """Return by what whole factor to average each screen's picture down before it is sampled.

    A ray covers `degrees_per_pixel / samples`; where that spans several of a screen's pixels,
    their mean is what arrives. The factor rests on the image's distance from the eye (3,) and so is
    the same all over it.
    """
    spacing = math.radians(projection.degrees_per_pixel) / projection.samples
    return tuple(
        max(1, min(MOST_SHRUNK, int(spacing / _pixel_angle(screen, eye)))) for screen in screens
    )


def averaged(picture: Picture, factor: int) -> Picture:
    """Return a picture averaged down by a whole factor, in linear light.

    A rest at right and bottom is cut.
    """
    factor = min(factor, *picture.shape[:2])
    if factor == 1:
        return picture
    high, wide = (side // factor for side in picture.shape[:2])
    linear = LINEAR.astype(np.float32)
    small = np.empty((high, wide, 3), np.uint8)
    # some rows at a time: light takes four times the memory of a picture
    for first in range(0, high, ROWS_AT_ONCE):
        last = min(first + ROWS_AT_ONCE, high)
        light = linear[picture[first * factor : last * factor, : wide * factor]]
        # sum whole rows first: faster
        rows = light.reshape(last - first, factor, -1).sum(axis=1)
        columns = rows.reshape(last - first, wide, factor, 3)
        total = sum(columns[:, :, number] for number in range(factor))
        small[first:last] = srgb(total / np.float32(factor**2))
    return small


def _pixel_angle(screen: PlacedScreen, eye: Array) -> float:
    """Return about how large a screen's pixel looks, radians."""
    enlarged = 1.0
    away = float(np.linalg.norm(screen.rig_from_screen[:3, 3] - eye))
    if screen.lens:
        optic = screen.lens.optic
        enlarged = magnification(optic.focal_length, optic.separation)
        away += (enlarged - 1) * optic.separation
    return screen.size[0] / screen.display.pixels[0] * enlarged / max(away, 1.0)


def _write_frame(row: Array, rig_from_part: Array) -> None:
    row[0] = rig_from_part[:3, 3]
    row[1:] = rig_from_part[:3, :3].T
