"""What the kernel must know of an assembly: its parts, and its screens' pictures averaged down."""

import functools
import math

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.optics import magnification
from seamsight.viewer.casting.kernel import Tables
from seamsight.viewer.casting.lens_kernel import Optics
from seamsight.viewer.casting.sightlines import optics_of
from seamsight.viewer.casting.world import picture_on
from seamsight.viewer.colour import LINEAR, srgb
from seamsight.viewer.projection import Projection

MOST_SHRUNK = 32  # pixels of a screen averaged into one, each way


def shrinks(assembly: Assembly, eye: Array, projection: Projection) -> tuple[int, ...]:
    """Return by what whole factor to average each screen's picture down before it is sampled.

    A ray stands for `degrees_per_pixel / samples`; where that spans several of a screen's pixels,
    their mean is what arrives. The factor rests on the image's distance from the eye and so is the
    same all over it.
    """
    spacing = math.radians(projection.degrees_per_pixel) / projection.samples
    return tuple(
        max(1, min(MOST_SHRUNK, int(spacing / _pixel_angle(screen, eye))))
        for screen in assembly.screens
    )


@functools.lru_cache(maxsize=8)  # with lenses and without: moving, each eye at rest, and measured
def tables_of(assembly: Assembly, shrinks: tuple[int, ...]) -> Tables:
    """Gather what the kernel needs.

    With no shrinks the screens stay black, as where only places count.
    """
    parts = assembly.parts
    corners = assembly.triangles
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    found = Tables(
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
    first = 3
    brightest = max((screen.display.luminance for screen in assembly.screens), default=1.0)
    for number, screen in enumerate(assembly.screens):
        image = assembly.part_id(screen.name)
        _write_frame(found.frame[image], screen.rig_from_screen)
        found.size[image] = screen.size
        found.gain[image] = screen.display.luminance / brightest
        if screen.lens:
            lens = assembly.lens_id(screen)
            _write_frame(found.frame[lens], screen.lens.rig_from_lens)
            found.lens[lens] = optics_of(screen.lens)
        if shrinks:
            picture = _shrunk_screen(assembly, number, shrinks[number])
            found.texture[image] = first, picture.shape[1], picture.shape[0]
            first += picture.size
            pictures.append(picture.ravel())
    return found._replace(texels=np.concatenate([found.texels, *pictures]))


def _pixel_angle(screen: PlacedScreen, eye: Array) -> float:
    """Return about how large a screen's pixel looks, radians."""
    enlarged = 1.0
    away = float(np.linalg.norm(screen.rig_from_screen[:3, 3] - eye))
    if screen.lens:
        optic = screen.lens.optic
        enlarged = magnification(optic.focal_length, optic.separation)
        away += (enlarged - 1) * optic.separation
    return screen.size[0] / screen.display.pixels[0] * enlarged / max(away, 1.0)


@functools.lru_cache(maxsize=128)
def _shrunk_screen(assembly: Assembly, number: int, factor: int) -> Picture:
    """Return what a screen shows, averaged down; kept, as factors change with a head's moves."""
    return _shrunk(picture_on(assembly.screens[number], assembly.rig), factor)


def _write_frame(row: Array, rig_from_part: Array) -> None:
    row[0] = rig_from_part[:3, 3]
    row[1:] = rig_from_part[:3, :3].T


def _shrunk(picture: Picture, factor: int) -> Picture:
    """Return a picture averaged down by a whole factor, in linear light.

    A rest at right and bottom is cut.
    """
    factor = min(factor, *picture.shape[:2])
    if factor == 1:
        return picture
    high, wide = (side // factor for side in picture.shape[:2])
    light = LINEAR.astype(np.float32)[picture[: high * factor, : wide * factor]]
    # sum whole rows first: faster
    columns = light.reshape(high, factor, -1).sum(axis=1).reshape(high, wide, factor, 3)
    return srgb(sum(columns[:, :, number] for number in range(factor)) / np.float32(factor**2))
