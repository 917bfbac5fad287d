"""The dark strip between two images: where a gaze from one to the other leaves and enters them."""

from collections.abc import Sequence
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import angle_between, directions_to_image
from seamsight.viewer.casting.trace import Ends, Ids, trace

Indices: TypeAlias = npt.NDArray[np.int64]
Mask: TypeAlias = npt.NDArray[np.bool_]

LOOKS = 2048  # directions tried at first along the line through both images' middles
CUTS = 64  # into which the place of an edge is cut again and again
FINEST = 1e-9  # radians; how closely an edge is found
SLIVER = np.radians(1.0)  # of an image beyond something that hides it is no whole side (our choice)


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
    whole_to : (2, 3) float64
        Places of the first and of the second image, rig frame, up to which nothing but slivers is
        lost towards the strip.
    hidden_by : tuple of int
        On which parts rays just beyond those places end.
    """

    angle: float
    start: Array
    stop: Array
    whole_to: Array
    hidden_by: tuple[int, int]


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

    def directions(self, rows: Indices, angles: Array) -> Array:
        """Return the unit directions (m, k, 3) at angles (m, k) along some arcs (by index)."""
        cosines, sines = np.cos(angles)[:, :, None], np.sin(angles)[:, :, None]
        return np.asarray(cosines * self.starts[rows, None] + sines * self.across[rows, None])

    def ends(self, assembly: Assembly, rows: Indices, angles: Array) -> Ends:
        """Return where rays (m k) at angles (m, k) along some arcs (by index) end."""
        directions = self.directions(rows, angles).reshape(-1, 3)
        return trace(assembly, np.repeat(self.eyes[rows], angles.shape[1], axis=0), directions)

    def parts_met(self, assembly: Assembly, rows: Indices, angles: Array) -> Ids:
        """Return on which parts (m, k) they end."""
        return self.ends(assembly, rows, angles).parts.reshape(angles.shape)


def dark_strips(assembly: Assembly, gazes: Sequence[Gaze]) -> list[Strip | None]:
    """Return the dark strip along each gaze; None where the eye does not see both images along it.

    Rays of all gazes go together: many small bundles take far longer.
    """
    found: list[Strip | None] = [None] * len(gazes)
    gaze_of_arc, arcs = _arcs(assembly, gazes)

    # look along each from one image's middle to the other's
    every = np.arange(len(gaze_of_arc))
    angles = np.linspace(np.zeros(len(every)), arcs.lengths, LOOKS, axis=1)
    on_first, on_second = arcs.parts_met(assembly, every, angles) == arcs.parts[:, :, None]
    rows = np.flatnonzero(on_first.any(axis=1) & on_second.any(axis=1))
    if not len(rows):
        return found

    # narrow down where the first is left and the second entered, and how far both are whole
    sliver = np.maximum(SLIVER / arcs.lengths[rows] * LOOKS, 1)
    last, whole_first = _last_looks(on_first[rows], sliver)
    opening, whole_second = (
        LOOKS - 1 - look for look in _last_looks(on_second[rows, ::-1], sliver)
    )
    looks = np.concatenate([last, opening, whole_first, whole_second])
    beyond = np.clip(looks + np.repeat([1, -1, 1, -1], len(rows)), 0, LOOKS - 1)
    four_times = np.tile(rows, 4)
    parts = np.concatenate([*arcs.parts[:, rows], *arcs.parts[:, rows]])
    inside, outside = _narrowed(
        assembly, arcs, four_times, parts, angles[four_times, looks], angles[four_times, beyond]
    )
    edges = (inside + outside).reshape(4, -1)[:2] / 2
    starts, stops = (arcs.directions(rows, edge[:, None])[:, 0] for edge in edges)

    # and what is there
    last_ends = arcs.ends(assembly, four_times, inside[:, None]).points.reshape(4, -1, 3)[2:]
    next_ends = arcs.parts_met(assembly, four_times, outside[:, None]).reshape(4, -1)[2:]
    for number, row in enumerate(rows):
        found[gaze_of_arc[row]] = Strip(
            angle=float(edges[1, number] - edges[0, number]),
            start=starts[number],
            stop=stops[number],
            whole_to=last_ends[:, number],
            hidden_by=(int(next_ends[0, number]), int(next_ends[1, number])),
        )
    return found


def _last_looks(on_image: Mask, sliver: Array) -> tuple[Indices, Indices]:
    """Return the last look of each row (n, looks) that meets an image; and the last before slivers.

    A sliver is what is met again for no more than some looks (n,) after something else.
    """
    last = on_image.shape[1] - 1 - np.argmax(on_image[:, ::-1], axis=1)
    whole = last.copy()
    for row, looks in enumerate(on_image):
        while True:
            off = np.flatnonzero(~looks[: whole[row]])
            if not len(off) or whole[row] - off[-1] > sliver[row]:
                break
            before = np.flatnonzero(looks[: off[-1]])
            if not len(before):
                break
            whole[row] = before[-1]
    return last, whole


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
    assembly: Assembly, arcs: _Arcs, rows: Indices, parts: Ids, inside: Array, outside: Array
) -> tuple[Array, Array]:
    """Return between which angles (n,) rays along arcs (by index) stop ending on parts (n,).

    Each is sought between the angle of a ray that ends on the part, and that of one that does not.
    """
    while len(left := np.flatnonzero(np.abs(outside - inside) > FINEST)):
        angles = np.linspace(inside[left], outside[left], CUTS + 1, axis=1)
        ends = arcs.parts_met(assembly, rows[left], angles[:, 1:-1])
        off = np.pad(ends != parts[left, None], ((0, 0), (0, 1)), constant_values=True)
        stop = np.argmax(off, axis=1) + 1
        inside[left] = np.take_along_axis(angles, stop[:, None] - 1, axis=1)[:, 0]
        outside[left] = np.take_along_axis(angles, stop[:, None], axis=1)[:, 0]
    return inside, outside


def middle_direction(screen: PlacedScreen, eye: Array) -> Array:
    """Return in which direction (3,) an eye (3,) sees the middle of an image."""
    return np.asarray(directions_to_image(screen, eye, np.zeros((1, 2)))[0])
