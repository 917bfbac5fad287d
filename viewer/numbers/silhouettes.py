"""What triangles hide from a point, as closed rings in space: silhouettes, cut by planes.

Triangles turned so that all run the same way round, as seen from the point, hide what the rings of
their edges go round; edges that two of them run along in opposite ways cancel. So a closed mesh
leaves the few edges of its silhouette, and any other heap of triangles leaves what it needs. Points
are homogeneous, (x, y, z, w), so that one may be at infinity; half-spaces are planes (4,) whose
product with a point is positive within.
"""

import functools
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array

WELD = 2.0**20  # corners that agree to one part in so many of a mm are one
FLAT_PLACES = 6  # to which normals of one flat surface agree
Indices = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Surface:
    """Triangles (f) of one part or more, with corners (v) and edges (e) that those of a part share.

    Attributes
    ----------
    corners : (v, 4) float64, rig frame
        Homogeneous, the last 1.
    owners : (v,) int64
        The part that each corner belongs to.
    faces : (f, 3) int64
    planes : (f, 4) float64
        Of each triangle; positive on the side that its normal points to. Not of unit length.
    solid : (f,) bool
        Whether a triangle is of a part that closes round a volume, with normals out of it.
    edges : (e, 2) int64
        Corners, the lower first.
    sides : (f, 3) int64
        Edges of each triangle.
    senses : (f, 3) int64
        1 where a triangle runs along its edge from the lower corner to the higher, else -1.
    """

    corners: Array
    owners: Indices
    faces: Indices
    planes: Array
    solid: npt.NDArray[np.bool_]
    edges: Indices
    sides: Indices
    senses: Indices

    @functools.cached_property
    def _grouped_by_plane(self) -> tuple[Indices, Indices]:
        unit = self.planes / np.maximum(np.linalg.norm(self.planes[:, :3], axis=1), 1e-12)[:, None]
        keys = np.column_stack([unit[:, :3].round(FLAT_PLACES) + 0.0, unit[:, 3].round(3) + 0.0])
        return _grouped(keys)

    @property
    def flat_of_face(self) -> Indices:
        """The number of the flat surface that each triangle belongs to, (f,)."""
        return self._grouped_by_plane[1]

    @functools.cached_property
    def flats(self) -> Array:
        """The plane of each flat surface (k, 4), its normal of unit length."""
        planes = self.planes[self._grouped_by_plane[0]]
        return np.asarray(
            planes / np.maximum(np.linalg.norm(planes[:, :3], axis=1), 1e-12)[:, None]
        )

    @functools.cached_property
    def flats_by_size(self) -> Indices:
        """Numbers of the flat surfaces, the largest first."""
        areas = np.bincount(self.flat_of_face, np.linalg.norm(self.planes[:, :3], axis=1))
        return np.argsort(-areas, kind="stable")

    def portion(self, rows: Indices) -> "Surface":
        """Return some triangles (by index) as a surface of their own."""
        kept, faces = np.unique(self.faces[rows], return_inverse=True)
        edges, sides = np.unique(self.sides[rows], return_inverse=True)
        number = np.zeros(len(self.corners), np.int64)
        number[kept] = np.arange(len(kept))
        return Surface(
            corners=self.corners[kept],
            owners=self.owners[kept],
            faces=faces.reshape(-1, 3),
            planes=self.planes[rows],
            solid=self.solid[rows],
            edges=number[self.edges[edges]],
            sides=sides.reshape(-1, 3),
            senses=self.senses[rows],
        )


def surface_of(triangles: Array, owners: Indices | None = None) -> Surface:
    """Return triangles (f, 3, 3) with the corners and edges that they share.

    Parameters
    ----------
    triangles : (f, 3, 3) float64
    owners : (f,) int64, optional
        The part that each triangle belongs to; one and the same if not given.
    """
    owners = np.zeros(len(triangles), np.int64) if owners is None else owners
    every = triangles.reshape(-1, 3)
    every_owner = np.repeat(owners, 3)

    # make one of corners that coincide, and of edges that run between the same ones
    first, of_corner = _grouped(np.column_stack([np.rint(every * WELD), every_owner]))
    corners = np.column_stack([every[first], np.ones(len(first))])
    faces = of_corner.reshape(-1, 3)
    ends = faces[:, [[0, 1], [1, 2], [2, 0]]]
    low, high = ends.min(axis=2), ends.max(axis=2)
    keys, sides = np.unique(low * len(corners) + high, return_inverse=True)
    edges = np.stack(np.divmod(keys, len(corners)), axis=1)
    senses = np.where(ends[:, :, 0] == low, 1, -1)

    a, b, c = (corners[faces[:, number], :3] for number in range(3))
    normals = np.cross(b - a, c - a)
    planes = np.column_stack([normals, -np.einsum("ij,ij->i", normals, a)])

    # a part closes where its triangles run along each edge as often one way as the other
    count = int(owners.max(initial=0)) + 1
    open_edges = np.bincount(sides.ravel(), senses.ravel(), len(edges)) != 0
    torn = np.bincount(every_owner[first][edges[open_edges, 0]], minlength=count)
    volumes = np.bincount(owners, np.einsum("ij,ij->i", normals, a), count)
    solid = ((torn == 0) & (volumes > 0))[owners]
    return Surface(
        corners=corners,
        owners=every_owner[first],
        faces=faces,
        planes=planes,
        solid=solid,
        edges=edges,
        sides=sides.reshape(-1, 3),
        senses=senses,
    )


class Outline(NamedTuple):
    """What goes round all that a surface hides from a point: edges, and pieces of triangles.

    Attributes
    ----------
    surface : Surface
    starts, ends : (n,) int64
        Corners that directed edges join; as many end as start at each.
    pieces : (m, 3, 3) float64, rig frame
    piece_owners : (m,) int64
        The part that each piece belongs to.
    """

    surface: Surface
    starts: Indices
    ends: Indices
    pieces: Array
    piece_owners: Indices

    @property
    def size(self) -> int:
        """How many edges there are."""
        return len(self.starts) + 3 * len(self.pieces)

    def rings(self) -> tuple[Array, list[int], Indices]:
        """Return closed rings, all running the same way round; those of pieces may overlap others.

        Returns
        -------
        points : (n, 3) float64, rig frame
            Of one ring after the other.
        lengths : list of int
            How many points each ring (r) has.
        owners : (r,) int64
            The part that each ring belongs to.
        """
        order, lengths = _linked(self.starts, self.ends)
        corners = self.starts[order]
        owners = self.surface.owners[corners[np.cumsum([0, *lengths])[:-1]]]
        return (
            np.concatenate([self.surface.corners[corners, :3], self.pieces.reshape(-1, 3)]),
            lengths + [3] * len(self.pieces),
            np.concatenate([owners, self.piece_owners]),
        )


def outline(
    surface: Surface,
    apex: Array,
    inside: Array,
    sides: Array,
    chosen: npt.NDArray[np.bool_] | None = None,
) -> Outline:
    """Return what goes round all that a surface hides from a point.

    Parameters
    ----------
    surface : Surface
    apex : (4,) float64, rig frame
        The point, homogeneous.
    inside : (m, 4) float64
        Half-spaces; only what lies within all of them counts.
    sides : (k, 4) float64
        Half-spaces; what lies wholly out of one is left out.
    chosen : (f,) bool, optional
        The triangles that count; all if not given.
    """
    out = outcodes(surface, np.concatenate([inside, sides]))
    if np.bitwise_and.reduce(out):
        nothing = np.empty(0, np.int64)
        return Outline(surface, nothing, nothing, np.empty((0, 3, 3)), nothing)
    codes = out[surface.faces.T]
    kept = np.bitwise_and.reduce(codes) == 0
    if chosen is not None:
        kept &= chosen

    # of a solid, what faces away hides no more than what does not
    rows = np.flatnonzero(kept)
    facing = np.sign(surface.planes[rows] @ apex)
    seen = (facing > 0) | (facing < 0) & ~surface.solid[rows]
    rows = rows[seen]
    facing = facing[seen]

    # triangles within stay whole; those that reach out of a half-space are cut
    cut = np.bitwise_or.reduce(codes[:, rows]) & np.uint64(2 ** len(inside) - 1) != 0
    faces = surface.faces[rows[cut]]
    turned = np.where(facing[cut] > 0, faces.T, faces.T[::-1]).T
    pieces, origin = clipped(surface.corners[turned], inside)
    starts, ends = _border(surface, rows[~cut], facing[~cut])
    return Outline(surface, starts, ends, pieces[:, :, :3], surface.owners[faces[origin, 0]])


def outcodes(surface: Surface, half_spaces: Array) -> npt.NDArray[np.uint64]:
    """Return for each corner (v,) of a surface one bit for each half-space (m, 4) it is out of."""
    packed = np.packbits(surface.corners @ half_spaces.T < 0, axis=1, bitorder="little")
    codes = np.zeros((len(packed), 8), np.uint8)
    codes[:, : packed.shape[1]] = packed
    return codes.view("<u8")[:, 0].astype(np.uint64)


def clipped(triangles: Array, inside: Array) -> tuple[Array, Indices]:
    """Return what of triangles (n, 3, 4) lies within half-spaces (m, 4), and of which it is."""
    origin = np.arange(len(triangles))
    for plane in inside if len(triangles) else ():
        depths = triangles @ plane
        within = depths > 0
        count = within.sum(axis=1)
        if (count == 3).all():
            continue
        alone_in, a, b = _turned_to_lone_corner(triangles, depths, within, count == 1)
        alone_out, c, d = _turned_to_lone_corner(triangles, depths, ~within, count == 2)
        triangles = np.concatenate(
            [
                triangles[count == 3],
                np.stack([alone_in[:, 0], a, b], axis=1),
                np.stack([c, alone_out[:, 1], alone_out[:, 2]], axis=1),
                np.stack([c, alone_out[:, 2], d], axis=1),
            ]
        )
        origin = np.concatenate([origin[count == left] for left in (3, 1, 2, 2)])
    return triangles, origin


def _turned_to_lone_corner(
    triangles: Array, depths: Array, lone: npt.NDArray[np.bool_], chosen: npt.NDArray[np.bool_]
) -> tuple[Array, Array, Array]:
    """Return chosen triangles, lone corner first, and where a plane cuts its two edges."""
    rows = np.flatnonzero(chosen)[:, None]
    order = (np.argmax(lone[chosen], axis=1)[:, None] + np.arange(3)) % 3
    turned = triangles[rows, order]
    depth = depths[rows, order]
    cuts = [
        turned[:, 0]
        + (turned[:, other] - turned[:, 0])
        * (depth[:, 0] / (depth[:, 0] - depth[:, other]))[:, None]
        for other in (1, 2)
    ]
    return turned, cuts[0], cuts[1]


def _border(surface: Surface, rows: Indices, facing: Array) -> tuple[Indices, Indices]:
    """Return starts and ends of edges that do not cancel once triangles (by index) run one way."""
    runs = surface.senses[rows] * facing[:, None]
    net = np.bincount(surface.sides[rows].ravel(), runs.ravel(), len(surface.edges)).astype(
        np.int64
    )
    uneven = np.flatnonzero(net)
    edges = np.where(net[uneven, None] > 0, surface.edges[uneven], surface.edges[uneven, ::-1])
    starts, ends = np.repeat(edges, np.abs(net[uneven]), axis=0).T
    return starts, ends


def _linked(starts: Indices, ends: Indices) -> tuple[list[int], list[int]]:
    """Return directed edges (by index) in the order of closed rings, and the rings' lengths."""
    follower = np.empty(len(starts), np.int64)
    follower[np.argsort(ends, kind="stable")] = np.argsort(starts, kind="stable")
    following = follower.tolist()
    done = [False] * len(following)
    order: list[int] = []
    lengths = []
    for first in range(len(following)):
        before = len(order)
        edge = first
        while not done[edge]:
            done[edge] = True
            order.append(edge)
            edge = following[edge]
        if len(order) > before:
            lengths.append(len(order) - before)
    return order, lengths


def _grouped(keys: Array) -> tuple[Indices, Indices]:
    """Return one of each group of equal rows (n, k), by index, and the group of each row (n,)."""
    order = np.lexsort(keys.T)
    ranked = keys[order]
    new = np.ones(len(keys), bool)
    new[1:] = (ranked[1:] != ranked[:-1]).any(axis=1)
    group = np.empty(len(keys), np.int64)
    group[order] = np.cumsum(new) - 1
    return order[new], group
