"""What an eye sees through several lenses of which one is grooved: counted by rays.

Hardly any rig has such a way; no region could be bent along it in closed form.
"""

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.scene.polygons import Region, bounds_of, joined, region_within
from seamsight.viewer.casting.trace import trace

RAYS = 128  # to a side of the first lens's aperture
RIM = 1e-6  # share of an aperture left out along its edges
TORN = 4.0  # times the usual distance of two rays' ends; farther apart, they came different ways


def counted_through(
    assembly: Assembly, screen: PlacedScreen, eye: Array, lens: PlacedLens, window: Region
) -> tuple[Region, float]:
    """Return what of a window of an image an eye (3,) sees by way of a lens, and the area of doubt.

    Between four neighbouring rays that all reach the image, the eye sees what lies between their
    ends. About a ray that reaches it beside one that does not, it may see as much again, or not.
    """
    shown = _ends(assembly, screen, eye, lens)
    low, high = bounds_of(window)
    outside = (shown < 2 * low - high) | (shown > 2 * high - low)
    shown[outside.any(axis=2)] = np.nan

    down, right = np.diff(shown, axis=0), np.diff(shown, axis=1)
    steps = np.concatenate([down.reshape(-1, 2), right.reshape(-1, 2)])
    lengths = np.abs(steps[np.isfinite(steps).all(axis=1)]).max(axis=1)
    if not len(lengths):
        return region_within([]), 0.0
    usual = float(np.median(lengths))
    with np.errstate(invalid="ignore"):
        along, across = (np.all(np.abs(step) <= TORN * usual, axis=2) for step in (right, down))
    whole = along[:-1] & along[1:] & across[:, :-1] & across[:, 1:]
    region = joined(_strips(shown, whole)) ^ window

    # rays at a border: those that are a corner of less than four whole cells
    cells = np.pad(whole, 1).astype(int)
    corners = cells[:-1, :-1] + cells[1:, :-1] + cells[:-1, 1:] + cells[1:, 1:]
    torn = shown[np.isfinite(shown).all(axis=2) & (corners < 4)]
    square = usual * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    doubtful = region_within([place + square for place in torn]) ^ (window - region)
    return region, float(doubtful.area())


def _ends(assembly: Assembly, screen: PlacedScreen, eye: Array, lens: PlacedLens) -> Array:
    """Return on which places (n, n, 2) of an image rays through a lens end, if they do."""
    share = np.linspace(RIM - 0.5, 0.5 - RIM, RAYS + 1)
    x, z = np.meshgrid(share * lens.optic.width, share * lens.optic.height)
    places = np.stack([x.ravel(), np.zeros(x.size), z.ravel()], axis=1)
    ways = move(lens.rig_from_lens, places) - eye
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    ends = trace(assembly, np.broadcast_to(eye, ways.shape), ways)
    shown = move(inverse(screen.rig_from_screen), ends.points)[:, [0, 2]]
    shown[ends.parts != assembly.part_id(screen.name)] = np.nan
    return shown.reshape(*x.shape, 2)


def _strips(shown: Array, whole: npt.NDArray[np.bool_]) -> list[Region]:
    """Return what lies between rays' ends (n, n, 2) in whole cells (n - 1, n - 1), row by row."""
    edges = np.diff(np.pad(whole, ((0, 0), (1, 1))).astype(int), axis=1)
    rows, starts = np.nonzero(edges == 1)
    _, stops = np.nonzero(edges == -1)
    strips = []
    for row, start, stop in zip(rows, starts, stops, strict=True):
        upper, lower = shown[row + 1, start : stop + 1], shown[row, start : stop + 1]
        strips.append(region_within([np.concatenate([lower, upper[::-1]])]))
    return strips
