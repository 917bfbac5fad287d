"""The dark strip between two images: where a gaze from one to the other leaves and enters them."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import angle_between, directions_to_image
from seamsight.viewer.casting.trace import Ids, trace

LOOKS = 2048  # directions tried at first along the line through both images' middles
CUTS = 64  # into which the place of an edge is cut again and again
FINEST = 1e-9  # radians; how closely an edge is found


class Gaze(NamedTuple):
    """An eye (3,), rig frame, that looks along the line from one image's middle to another's."""

    first: PlacedScreen
    second: PlacedScreen
    eye: Array


class Strip(NamedTuple):
    """A dark strip between two images.

    Attributes
    ----------
    angle : float
        Radians, negative where the first image repeats inside the second's side.
    start, stop : (3,) float64
        Unit directions where it begins and ends, rig frame, in the plane through the eye and both
        images' middles.
    """

    angle: float
    start: Array
    stop: Array


class _Arcs(NamedTuple):
    """Gazes (n) as arcs, with the parts that they leave and enter.

    Attributes
    ----------
    eyes, starts, across : (n, 3) float64
        Unit directions of the first image's middle, and square to it towards the second's.
    lengths : (n,) float64
        Angle from middle to middle, radians.
    parts : (2, n) int32
        Of the first image, and of the second.
    """

    eyes: Array
    starts: Array
    across: Array
    lengths: Array
    parts: Ids

    def directions(self, rows: npt.NDArray[np.int64], angles: Array) -> Array:
        """Return the unit directions (m, k, 3) at angles (m, k) along some arcs (by index)."""
        cosines, sines = np.cos(angles)[:, :, None], np.sin(angles)[:, :, None]
        return np.asarray(cosines * self.starts[rows, None] + sines * self.across[rows, None])

    def ends(self, assembly: Assembly, rows: npt.NDArray[np.int64], angles: Array) -> Ids:
        """Return on which parts (m, k) rays at angles (m, k) along some arcs (by index) end."""
        directions = self.directions(rows, angles).reshape(-1, 3)
        eyes = np.repeat(self.eyes[rows], angles.shape[1], axis=0)
        return trace(assembly, eyes, directions).parts.reshape(angles.shape)


def dark_strips(assembly: Assembly, gazes: Sequence[Gaze]) -> list[Strip | None]:
    """Return the dark strip along each gaze; None where the eye does not see both images along it.

    Rays of all gazes go together: many small bundles take far longer.
    """
    found: list[Strip | None] = [None] * len(gazes)
    gaze_of_arc, arcs = _arcs(assembly, gazes)

    # look along each from one image's middle to the other's
    rows = np.arange(len(gaze_of_arc))
    angles = np.linspace(np.zeros(len(rows)), arcs.lengths, LOOKS, axis=1)
    on_first, on_second = arcs.ends(assembly, rows, angles) == arcs.parts[:, :, None]
    rows = np.flatnonzero(on_first.any(axis=1) & on_second.any(axis=1))
    if not len(rows):
        return found

    # narrow down where the first is left, and where the second is entered
    last = LOOKS - 1 - np.argmax(on_first[rows, ::-1], axis=1)
    opening = np.argmax(on_second[rows], axis=1)
    beside = np.minimum(last + 1, LOOKS - 1), np.maximum(opening - 1, 0)
    twice = np.concatenate([rows, rows])
    edges = _narrowed(
        assembly,
        arcs,
        twice,
        angles[twice, np.concatenate([last, opening])],
        angles[twice, np.concatenate(beside)],
    ).reshape(2, -1)

    starts, stops = (arcs.directions(rows, edge[:, None])[:, 0] for edge in edges)
    for row, angle, start, stop in zip(rows, edges[1] - edges[0], starts, stops, strict=True):
        found[gaze_of_arc[row]] = Strip(float(angle), start, stop)
    return found


def _arcs(assembly: Assembly, gazes: Sequence[Gaze]) -> tuple[list[int], _Arcs]:
    """Return gazes as arcs, and which gaze each is: none where both middles lie one way."""
    numbers = []
    rows = []
    ids = []
    for number, (first, second, eye) in enumerate(gazes):
        start, stop = (middle_direction(screen, eye) for screen in (first, second))
        length = angle_between(start, stop)
        if length > 0:
            across = stop - start * (start @ stop)
            across /= np.linalg.norm(across)
            numbers.append(number)
            rows.append(np.concatenate([eye, start, across, [length]]))
            ids.append((assembly.part_id(first.name), assembly.part_id(second.name)))
    columns = np.array(rows).reshape(-1, 10)
    return numbers, _Arcs(
        eyes=columns[:, :3],
        starts=columns[:, 3:6],
        across=columns[:, 6:9],
        lengths=columns[:, 9],
        parts=np.array(ids, np.int32).reshape(-1, 2).T,
    )


def _narrowed(
    assembly: Assembly, arcs: _Arcs, rows: npt.NDArray[np.int64], inside: Array, outside: Array
) -> Array:
    """Return the angles (n,) at which rays along arcs (by index) stop ending on a part.

    The first half of the arcs leaves the first image's part, the other half the second's. Each is
    sought between the angle of a ray that ends on it, and that of one that does not.
    """
    first, second = np.split(rows, 2)
    parts = np.concatenate([arcs.parts[0, first], arcs.parts[1, second]])
    while len(left := np.flatnonzero(np.abs(outside - inside) > FINEST)):
        angles = np.linspace(inside[left], outside[left], CUTS + 1, axis=1)
        ends = arcs.ends(assembly, rows[left], angles[:, 1:-1])
        off = np.pad(ends != parts[left, None], ((0, 0), (0, 1)), constant_values=True)
        stop = np.argmax(off, axis=1) + 1
        inside[left] = np.take_along_axis(angles, stop[:, None] - 1, axis=1)[:, 0]
        outside[left] = np.take_along_axis(angles, stop[:, None], axis=1)[:, 0]
    return (inside + outside) / 2


def middle_direction(screen: PlacedScreen, eye: Array) -> Array:
    """Return in which direction (3,) an eye (3,) sees the middle of an image."""
    return np.asarray(directions_to_image(screen, eye, np.zeros((1, 2)))[0])
