"""Meshes made closed, whose small faults would let them count as empty.

A triangle may be missing, doubled, without area, or turned inside out. Larger holes stay open: what
such a mesh is meant to fill is not for a program to guess.
"""

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array

MOST_TURNED = 100_000  # triangles; it takes some 2 s to turn as many

Faces: TypeAlias = npt.NDArray[np.int64]


class Shell(NamedTuple):
    """Triangles that share their corners.

    Attributes
    ----------
    corners : (n, 3) float64
    faces : (m, 3) int64
        Each triangle's corners, by their place.
    """

    corners: Array
    faces: Faces

    @property
    def is_closed(self) -> bool:
        """Whether every edge is gone along as often one way as the other."""
        edges = _edges(self.faces)
        there, back = (edges[:, way] @ [len(self.corners), 1] for way in ([0, 1], [1, 0]))
        return len(there) > 0 and np.array_equal(np.sort(there), np.sort(back))

    @property
    def is_outward(self) -> bool:
        """Whether it is closed, and each of its pieces has its faces turned outwards."""
        if not self.is_closed:
            return False
        corners = (self.corners - self.corners[0])[self.faces]
        volumes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
        pieces = _pieces(self.faces)
        return bool((np.bincount(pieces, volumes)[np.unique(pieces)] > 0).all())


def shell_of(triangles: Array) -> Shell:
    """Return triangles (n, 3, 3) with corners in the same place as one."""
    corners = triangles.reshape(-1, 3)
    order = np.lexsort(corners.T)
    in_order = corners[order]
    is_new = np.concatenate([[True], (in_order[1:] != in_order[:-1]).any(axis=1)])
    number = np.empty(len(order), np.int64)
    number[order] = is_new.cumsum() - 1
    return Shell(in_order[is_new], number.reshape(-1, 3))


def closed(shell: Shell) -> Shell | None:
    """Return a mesh with small faults mended, or None where it stays open."""
    if shell.is_closed:
        return shell
    faces = _without_odd_ones(shell.faces)
    if len(np.unique(_edges(faces) @ [len(shell.corners), 1])) < 3 * len(
        faces
    ):  # two go along an edge one way
        if len(faces) > MOST_TURNED:
            return None
        faces = _turned_alike(faces)
    filled = Shell(shell.corners, np.concatenate([faces, *_lids(faces)]))
    return filled if filled.is_closed else None


def _edges(faces: Faces) -> Faces:
    """Return every triangle's edges (3 n, 2), as they go round."""
    return np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)


def _pieces(faces: Faces) -> npt.NDArray[np.int64]:
    """Return for each triangle (n,) the least corner of the piece that it is part of."""
    least = np.arange(faces.max(initial=0) + 1)
    while True:
        before = least.copy()
        np.minimum.at(least, faces, least[faces].min(axis=1, keepdims=True))
        least = least[least]
        if np.array_equal(least, before):
            return least[faces[:, 0]]


def _without_odd_ones(faces: Faces) -> Faces:
    """Return triangles without those that have no area or are there twice."""
    proper = (faces != np.roll(faces, -1, axis=1)).all(axis=1)
    faces = faces[proper]
    _, first = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    return faces[np.sort(first)]


def _turned_alike(faces: Faces) -> Faces:
    """Return triangles of which any two that share an edge go along it in opposite ways."""
    users: dict[tuple[int, int], list[int]] = defaultdict(list)
    rounds = [tuple(face) for face in faces.tolist()]
    for number, face in enumerate(rounds):
        for edge in _around(face):
            users[min(edge), max(edge)].append(number)

    # go from each triangle to its neighbours; what is odd about the first shows in the volume
    turned: dict[int, bool] = {}
    for start in range(len(rounds)):
        waiting = [] if start in turned else [start]
        turned.setdefault(start, False)
        while waiting:
            number = waiting.pop()
            for edge in _around(rounds[number]):
                for other in users[min(edge), max(edge)]:
                    if other not in turned:
                        same_way = edge in _around(rounds[other])
                        turned[other] = turned[number] ^ same_way
                        waiting.append(other)
    flip = np.array([turned[number] for number in range(len(rounds))], bool)
    return np.where(flip[:, None], faces[:, ::-1], faces)


def _around(face: tuple[int, ...]) -> list[tuple[int, int]]:
    a, b, c = face
    return [(a, b), (b, c), (c, a)]


def _lids(faces: Faces) -> Iterator[Faces]:
    """Yield the triangles that are missing one by one."""
    edges = _edges(faces)
    count = int(edges.max(initial=0)) + 1
    open_ones = ~np.isin(edges @ [count, 1], edges @ [1, count])
    after = {b: a for a, b in edges[open_ones].tolist()}  # along the hole, the other way round
    while after:
        start, here = after.popitem()
        ring = [start]
        while here != start and here in after:
            ring.append(here)
            here = after.pop(here)
        if here == start and len(ring) == 3:
            yield np.array([ring])
