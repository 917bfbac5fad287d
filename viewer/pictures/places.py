"""Which places of each screen both eyes see, or one, and pictures tinted with that."""

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.frames import inverse, move
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.polygons import Region, raster
from seamsight.viewer.casting.view import View, picture_of
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.areas import seen_places

Codes: TypeAlias = npt.NDArray[np.uint8]

NEITHER, BOTH, LEFT, RIGHT = range(4)
FINE = 2048  # cells along the longer side of a screen

# colours that the colour-blind tell apart, in grey too (after Okabe and Ito's set, from memory)
SEEN = {
    "both eyes": (168, 218, 250),
    "left eye only": (230, 159, 0),
    "right eye only": (0, 114, 78),
}
COLOURS = np.array([(0, 0, 0), *SEEN.values()], np.uint8)
"""Of each code."""


def seen_by_eyes(assembly: Assembly, eyes: Eyes, cells: int = FINE) -> list[Codes]:
    """Return for each screen which of its places both eyes see, one, or neither; see `codes_of`.

    Parameters
    ----------
    assembly : Assembly
    eyes : Eyes
    cells : int
        Along the longer side of each image.
    """
    found = []
    for screen in assembly.screens:
        left, right = (seen_places(assembly, screen, point) for point in (eyes.left, eyes.right))
        columns, rows = np.maximum(np.array(screen.size) / max(screen.size) * cells, 1).astype(int)
        found.append(codes_of(screen, left, right, columns, rows))
    return found


def codes_of(screen: PlacedScreen, left: Region, right: Region, columns: int, rows: int) -> Codes:
    """Return BOTH, LEFT, RIGHT or NEITHER for cells (rows, columns) of an image, lowest row first.

    `left` and `right` are the regions that the eyes see, mm from the image's middle.
    """
    half = np.array(screen.size) / 2
    by_left, by_right = (raster(region, -half, half, columns, rows) for region in (left, right))
    codes = np.full((rows, columns), NEITHER, np.uint8)
    codes[by_left] = LEFT
    codes[by_right] = RIGHT
    codes[by_left & by_right] = BOTH
    return codes


def tinted(view: View, eye: str, codes: list[Codes]) -> Picture:
    """Return an eye's picture (h, w, 3), its screens tinted.

    By whether the other eye sees the same place too.

    Parameters
    ----------
    view : View
        With its points.
    eye : str
        "left" or "right"; it is seen by this one in any case.
    codes : list of array
        Of each screen, of `seen_by_eyes`.
    """
    own, other = (LEFT, RIGHT) if eye == "left" else (RIGHT, LEFT)
    picture = picture_of(view)
    assert view.points is not None
    on_image = np.flatnonzero(np.isfinite(view.points[:, :, 0]))
    parts = view.parts.reshape(-1)[on_image]
    points = view.points.reshape(-1, 3)[on_image]
    tints = np.empty((len(on_image), 3), np.uint8)
    for screen, of_screen in zip(view.assembly.screens, codes, strict=True):
        shown = np.flatnonzero(parts == view.assembly.part_id(screen.name))
        places = move(inverse(screen.rig_from_screen), points[shown])[:, [0, 2]]
        rows, columns = of_screen.shape
        cell = np.floor((places / screen.size + 0.5) * (columns, rows)).astype(int)
        column, row = np.clip(cell, 0, [columns - 1, rows - 1]).T
        there = of_screen[row, column]
        tints[shown] = COLOURS[np.where((there == BOTH) | (there == other), BOTH, own)]

    pixels = picture.reshape(-1, 3)
    pixels[on_image] = pixels[on_image] // 2 + tints // 2
    return picture
