"""Boxes turned any way: how deep two run into each other, and where."""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from seamsight.scene.frames import Array

PARALLEL = 1e-9  # sine of the angle below which two edges count as parallel
STEPS = 40  # towards a place that two boxes share


class Boxes(NamedTuple):
    """Boxes in their places, rig frame.

    Attributes
    ----------
    centres : (n, 3) float64
    axes : (n, 3, 3) float64
        Columns: the directions of each box's sides.
    halves : (n, 3) float64
        Half their sides along these.
    """

    centres: Array
    axes: Array
    halves: Array

    @property
    def bounds(self) -> Array:
        """The lowest and the highest corner of what holds them all, (2, 3)."""
        reach = np.einsum("nij,nj->ni", np.abs(self.axes), self.halves)
        return np.array([(self.centres - reach).min(axis=0), (self.centres + reach).max(axis=0)])


def joined(boxes: Iterable[Boxes]) -> Boxes:
    """Return boxes one after the other."""
    return Boxes(*(np.concatenate(one) for one in zip(*boxes, strict=True)))


def overlap(first: Boxes, second: Boxes) -> Array:
    """Return the least move (n,), mm, that frees each box of one list of that in the other.

    It is below 0 where they are apart.

    By the separating axis theorem: two boxes are apart if their shadows are on a face normal of
    either, or on a line square to an edge of each; the least move is along that axis on which the
    shadows overlap least. (Gottschalk, Lin and Manocha, OBBTree, 1996; from memory.)
    """
    # face normals, and what is square to two edges: (n, 15, 3)
    edges, others = (boxes.axes.transpose(0, 2, 1) for boxes in (first, second))
    crossed = np.cross(edges[:, :, None], others[:, None]).reshape(-1, 9, 3)
    lengths = np.linalg.norm(crossed, axis=2, keepdims=True)
    is_way = np.concatenate([np.ones((len(crossed), 6), bool), lengths[..., 0] > PARALLEL], axis=1)
    normals = np.concatenate([edges, others, crossed / np.maximum(lengths, PARALLEL)], axis=1)

    # half shadows on each: (n, 15)
    shadows = [
        np.einsum("nk,nak->na", boxes.halves, np.abs(normals @ boxes.axes))
        for boxes in (first, second)
    ]
    between = np.einsum("nk,nak->na", first.centres - second.centres, normals)
    free = np.where(is_way, shadows[0] + shadows[1] - np.abs(between), np.inf)
    return np.asarray(free.min(axis=1))


def common_places(first: Boxes, second: Boxes) -> Array:
    """Return a place (n, 3) that each two boxes share.

    Midway between those that one comes to from either middle, going to the nearest place of the
    other box and back by turns (projections onto convex sets; from memory).
    """
    ends = []
    for own, other in ((first, second), (second, first)):
        place = own.centres
        for _ in range(STEPS):
            place = _nearest_in(own, _nearest_in(other, place))
        ends.append(place)
    return np.asarray((ends[0] + ends[1]) / 2)


def _nearest_in(boxes: Boxes, places: Array) -> Array:
    own = np.einsum("ni,nij->nj", places - boxes.centres, boxes.axes)
    within = np.clip(own, -boxes.halves, boxes.halves)
    return np.asarray(np.einsum("nj,nij->ni", within, boxes.axes) + boxes.centres)
