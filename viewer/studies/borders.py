"""Which pixels of each image to keep black, so that from several heads both eyes see the rest."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.rig import Head
from seamsight.viewer.casting.sightlines import angle_between, directions_through, image_points
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.numbers.margins import SIDES, in_front, margin
from seamsight.viewer.numbers.seams import black_border


@dataclass(frozen=True)
class Border:
    """The black border of one image.

    Attributes
    ----------
    px : dict
        Pixels to keep black at each of `SIDES`.
    head : dict
        From which head each side needs them; None where none are.
    field, left : dict
        "h", "v": angle of the image, and of what is left of it, from the first head's point between
        the eyes, degrees; None where the lens lets nothing of an edge through.
    unserved : tuple of str
        Heads from which an eye is not in front of the screen, or sees nothing of it.
    """

    px: dict[str, int]
    head: dict[str, str | None]
    field: dict[str, float | None]
    left: dict[str, float | None]
    unserved: tuple[str, ...]


def borders(assembly: Assembly, heads: Sequence[Head]) -> dict[str, Border]:
    """Return the black border of every screen of the outside view, by its name.

    It serves all of the heads, one or more: what it leaves of an image, each eye of each of them
    sees past the edge of the screen's own lens or bezel. Other parts in the way do not count.
    """
    return {screen.name: _border(assembly, screen, heads) for screen in assembly.outside_screens}


def _border(assembly: Assembly, screen: PlacedScreen, heads: Sequence[Head]) -> Border:
    px = dict.fromkeys(SIDES, 0)
    needing: dict[str, str | None] = dict.fromkeys(SIDES)
    unserved = []
    for head in heads:
        eyes = eyes_of(assembly.rig, head).rows[:2]
        needed = _needed(screen, eyes) if in_front(screen, eyes).all() else None
        if needed is None:
            unserved.append(head.name)
            continue
        for side, pixels in needed.items():
            if pixels > px[side]:
                px[side], needing[side] = pixels, head.name

    mid = eyes_of(assembly.rig, heads[0]).mid
    whole, inner = (_angles(screen, mid, border) for border in (dict.fromkeys(SIDES, 0), px))
    return Border(px, needing, whole, inner, tuple(unserved))


def _needed(screen: PlacedScreen, eyes: Array) -> dict[str, int] | None:
    """Return how many pixels each side needs black for eyes (2, 3); None where nothing is left."""
    needed = {
        side: black_border(screen, side, -float(margin(screen, eyes, side).min())) for side in SIDES
    }
    across, down = screen.display.pixels
    fits = needed["left"] + needed["right"] < across and needed["bottom"] + needed["top"] < down
    return needed if fits else None


def _angles(screen: PlacedScreen, eye: Array, px: dict[str, int]) -> dict[str, float | None]:
    """Return the angles across and up between the borders of an image, at the middle of each."""
    half = np.array(screen.size) / 2
    pixel = np.array(screen.size) / screen.display.pixels
    (left, right), (bottom, top) = (
        (-half[axis] + px[low] * pixel[axis], half[axis] - px[high] * pixel[axis])
        for axis, (low, high) in enumerate((("left", "right"), ("bottom", "top")))
    )
    places = np.array([(left, 0), (right, 0), (0, bottom), (0, top)])
    ways = directions_through(screen.lens, eye, image_points(screen, places))
    angles = {"h": angle_between(*ways[:2]), "v": angle_between(*ways[2:])}
    return {
        way: math.degrees(angle) if math.isfinite(angle) else None for way, angle in angles.items()
    }
