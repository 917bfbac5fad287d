"""The dark strip between two images: where a gaze from one to the other leaves and enters them."""

from collections.abc import Sequence
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import angles_between, directions_to_image
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

    # narrow down where the first is left and the second entered, and what is there
    inside, outside = _edges(assembly, arcs, rows, angles, on_first[rows], on_second[rows])
    starts, stops = (
        arcs.directions(rows, edge[:, None])[:, 0] for edge in (inside + outside)[:2] / 2
    )
    lengths = np.subtract(*(inside + outside)[1::-1]) / 2
    twice = np.tile(rows, 2)
    places = arcs.ends(assembly, twice, inside[2:].reshape(-1, 1)).points.reshape(2, -1, 3)
    hiders = arcs.parts_met(assembly, twice, outside[2:].reshape(-1, 1)).reshape(2, -1)
    for number, row in enumerate(rows):
        first, second = hiders[:, number].tolist()
        found[gaze_of_arc[row]] = Strip(
            float(lengths[number]),
            starts[number],
            stops[number],
            places[:, number],
            (first, second),
        )
    return found


def _edges(
    assembly: Assembly, arcs: _Arcs, rows: Indices, angles: Array, on_first: Mask, on_second: Mask
) -> tuple[Array, Array]:
    """Return between which angles, inside and outside (4, n), arcs (by index) cross edges.

    Where the first image is left and the second entered; and up to where the first and the second
    are whole. Looks at angles (m, looks) tell about where: on which image they ended (n, looks).
    """
    sliver = np.maximum(SLIVER / arcs.lengths[rows] * LOOKS, 1)
    last, whole_first = _last_looks(on_first, sliver)
    opening, whole_second = (LOOKS - 1 - look for look in _last_looks(on_second[:, ::-1], sliver))
    looks = np.concatenate([last, opening, whole_first, whole_second])
    beyond = np.clip(looks + np.repeat([1, -1, 1, -1], len(rows)), 0, LOOKS - 1)
    parts = np.tile(arcs.parts[:, rows].ravel(), 2)

    # where there are no slivers, two of the four are one
    every = np.stack([np.tile(rows, 4), looks, beyond, parts])
    (row, look, past, part), again = np.unique(every, axis=1, return_inverse=True)
    inside, outside = _narrowed(assembly, arcs, row, part, angles[row, look], angles[row, past])
    return inside[again].reshape(4, -1), outside[again].reshape(4, -1)


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


def _arcs(assembly: Assembly, gazes: Sequence[Gaze]) -> tuple[Indices, _Arcs]:
    """Return gazes as arcs, and which gaze each is: none where both middles lie one way."""
    eyes = np.array([gaze.eye for gaze in gazes]).reshape(-1, 3)
    firsts, seconds = [gaze.first for gaze in gazes], [gaze.second for gaze in gazes]
    starts, stops = _middle_directions(firsts, eyes), _middle_directions(seconds, eyes)
    lengths = angles_between(starts, stops)
    numbers = np.flatnonzero(lengths > 0)

    # square to the start, in the plane through both
    starts, stops = starts[numbers], stops[numbers]
    across = stops - starts * np.sum(starts * stops, axis=1, keepdims=True)
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    ids = [
        [assembly.part_id(screens[number].name) for number in numbers]
        for screens in (firsts, seconds)
    ]
    parts = np.array(ids, np.int32).reshape(2, -1)
    return numbers, _Arcs(eyes[numbers], starts, across, lengths[numbers], parts)


def _middle_directions(screens: Sequence[PlacedScreen], eyes: Array) -> Array:
    """Return in which direction (n, 3) each of some eyes sees the middle of its screen's image."""
    found = np.empty_like(eyes)
    for screen in {screen.name: screen for screen in screens}.values():
        rows = [number for number, of in enumerate(screens) if of is screen]
        found[rows] = directions_to_image(screen, eyes[rows], np.zeros((len(rows), 2)))
    return found


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
