"""Closed rings after a bend that moves each point elsewhere: cut finely where they are curved."""

from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.scene.polygons import ring_by_ring
from seamsight.viewer.numbers.silhouettes import Indices

PLACES = 7  # of mm, to which what is bent twice agrees
STRAIGHT = 1e-3  # mm; a piece of a border that bends by less is straight
ROUNDS = 14  # of halving pieces, at most
DIP = 1e-2  # mm; what a chord of a rim may show too far within

Bending: TypeAlias = Callable[[Array, Array | None], Array]
"""From points (n, k) to places (n, 2), told near which they are if that is known."""
Mask: TypeAlias = npt.NDArray[np.bool_]


class Rim(NamedTuple):
    """The border of what can be bent at all, where rings run along it.

    Towards it a picture may run ever faster, so that the middle of a chord shows far within.

    Attributes
    ----------
    edges : list of (n,) bool
        Which edges of each ring are chords of it.
    reached : callable
        From chords' middles (m, 2) and ways (m, 2) square to them, out, as long as a quarter of a
        chord, to the last places on these lines, forth or back, that can be bent.
    """

    edges: Sequence[Mask]
    reached: Callable[[Array, Array], Array]


def bent(
    rings: Sequence[Array],
    bend: Bending,
    step: float,
    rim: Rim | None = None,
    beside: Callable[[Array], Array] | None = None,
) -> tuple[list[Array], float]:
    """Return rings (n, k) as rings (m, 2) after a bend, and the area that they may be wrong by.

    Parameters
    ----------
    rings : list of (n, k) float64
    bend : callable
    step : float
        Edges are cut into pieces of at most so much, and these halved while they bend.
    rim : Rim, optional
    beside : callable, optional
        From points (n, k) whose bend is not a number to places (n, 2) in their stead; such points
        are left out if not given.
    """
    if not rings:
        return [], 0.0
    owner = np.repeat(np.arange(len(rings)), [_pieces(ring, step).sum() for ring in rings])
    points = np.concatenate([_cut(ring, step) for ring in rings])
    shown = bend(points, None)
    after = _following(owner)
    dipping = np.zeros(len(points), bool)
    if rim is not None:
        pieces = [_pieces(ring, step) for ring in rings]
        chords = np.concatenate([np.repeat(*both) for both in zip(rim.edges, pieces, strict=True)])
        dipping[chords] = ~(_off(points, shown, np.flatnonzero(chords), after, bend) <= DIP)
    points, shown, ranks, unsure = _halved(points, shown, after, bend, dipping, rim)

    lost = np.isnan(shown).any(axis=1)
    if beside:
        shown[lost] = beside(points[lost])
    else:
        shown, ranks = shown[~lost], ranks[~lost]
    order = np.argsort(ranks)
    shown = shown[order].round(PLACES)  # so that borders of two regions along one edge agree
    counts = np.bincount(owner[ranks.astype(np.int64)], minlength=len(rings))
    return ring_by_ring(shown, counts.tolist()), unsure


def _off(points: Array, shown: Array, first: Indices, after: Indices, bend: Bending) -> Array:
    """Return how far the middles of edges from some points (by index) show from their chords'."""
    last = after[first]
    chords = (shown[first] + shown[last]) / 2
    there = bend((points[first] + points[last]) / 2, chords)
    return np.asarray(np.linalg.norm(there - chords, axis=1))


def _halved(
    points: Array, shown: Array, after: Indices, bend: Bending, dipping: Mask, rim: Rim | None
) -> tuple[Array, Array, Array, float]:
    """Halve edges from points to those after them while they bend.

    A piece that departs by s from its chord c and is cut in its middle leaves an area of 2/3 c s/4
    out.

    Returns
    -------
    points : (m, k) float64
    shown : (m, 2) float64
        Their bend.
    ranks : (m,) float64
        In which order they follow each other: the number of the edge, and the share of it.
    unsure : float
    """
    ranks = np.arange(len(points), dtype=float)
    first = np.arange(len(points))
    last = after
    unsure = 0.0
    for halving in range(1, ROUNDS + 1):
        middles = (points[first] + points[last]) / 2
        chords = (shown[first] + shown[last]) / 2
        if rim is not None and dipping.any():
            way = (points[last] - points[first])[dipping, ::-1] / [4, -4]
            middles[dipping] = rim.reached(middles[dipping], way)
        there = bend(middles, chords)
        new = len(points) + np.arange(len(middles))
        points = np.concatenate([points, middles])
        shown = np.concatenate([shown, there])
        ranks = np.concatenate([ranks, ranks[first] + 0.5**halving])

        # look next at both halves where the border was curved, or only some of it is shown
        off = np.linalg.norm(there - chords, axis=1)
        lengths = np.linalg.norm(shown[last] - shown[first], axis=1)
        lost = np.isnan(shown[[first, new, last], 0])
        curved = (off > STRAIGHT) | lost.any(axis=0) & ~lost.all(axis=0)
        unsure += float(np.nansum((off * lengths)[~curved])) / 6
        if not curved.any():
            break
        first = np.concatenate([first[curved], new[curved]])
        last = np.concatenate([new[curved], last[curved]])
        dipping = np.tile(dipping[curved], 2)
    return points, shown, ranks, unsure


def _pieces(ring: Array, step: float) -> Indices:
    """Return into how many pieces each edge of a ring is cut."""
    lengths = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    return np.asarray(np.maximum(np.ceil(lengths / step), 1), np.int64)


def _cut(ring: Array, step: float) -> Array:
    """Return a ring with points in its edges, no farther apart than a step."""
    pieces = _pieces(ring, step)
    edge = np.repeat(np.arange(len(ring)), pieces)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[edge]
    return np.asarray(ring[edge] + (np.roll(ring, -1, axis=0) - ring)[edge] * share[:, None])


def _following(owner: Indices) -> Indices:
    """Return which point comes next in each point's ring, of points one ring after the other."""
    after = np.arange(1, len(owner) + 1)
    last = np.flatnonzero(np.diff(owner, append=-1))
    after[last] = np.append(0, last[:-1] + 1)
    return after
