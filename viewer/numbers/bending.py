"""Through a grooved lens: where regions of its plane show, and what hides them from behind it.

A grooved lens images no point on a point, so that no one matrix does. Regions are kept in the
lens's plane, and their borders, cut finely, are bent onto the image place by place. Where facets
fold the picture back, or let nothing pass, the lens's plane is parted first: within each part the
picture runs one way round, and then the border of a region bent is the border of what is seen
through it (the winding number of the bent border counts how often a place is shown).
"""

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens
from seamsight.scene.optics import D_LINE, acrylic_index
from seamsight.scene.polygons import (
    Region,
    joined,
    region_within,
    ring_by_ring,
    rings_of,
)
from seamsight.viewer.casting.sightlines import (
    as_thin,
    image_intercepts,
    lens_intercepts,
    thin_lens_intercepts,
)
from seamsight.viewer.numbers.obstacles import Obstacles, Shadow
from seamsight.viewer.numbers.patches import Codes, patches_of
from seamsight.viewer.numbers.silhouettes import Indices, Surface, clipped, outline, surface_of
from seamsight.viewer.numbers.ways import CLOSE, Leg, Rectangle, aperture_of, legs_to

PLACES = 7  # of mm, to which what is bent twice agrees
FLAT = 1e-9  # share of the depth of a hull by which corners may leave its sides
MORE = 0.15  # share of an image by which a grooved lens may show it farther out than a thin one
PIECES = 24  # of a lens's longer side, that borders are cut into at first
STRAIGHT = 1e-3  # mm; a piece of a border that bends by less is straight
ROUNDS = 14  # of halving pieces, at most
SHIFT = 1e-3  # mm; to feel which way round the picture runs
FAR = 20.0  # times an image's size; farther out, where a ray lands does not matter
ASLANT = 0.2  # sine by which a face may be turned away that rays bent otherwise still meet
FEW_TRIANGLES = 500  # of a part behind a lens, each of which is bent by itself

NOWHERE = np.empty((0, 4))

Bending: TypeAlias = Callable[[Array, Array | None], Array]
"""From points (n, k) to places (n, 2), told near which they are if that is known."""


@dataclass(frozen=True, eq=False)
class Bend:
    """A grooved lens as an eye looks through it.

    Attributes
    ----------
    lens : PlacedLens
    eye : (3,) float64, lens frame
    plane : Rectangle
        The image, or whatever it looks at.
    low, high : (2,) float64
        What is looked at of the lens's plane, mm from the aperture's middle.
    patches : tuple of Region
        Of the lens's plane: where light passes, and the picture runs one way round.
    """

    lens: PlacedLens
    eye: Array
    plane: Rectangle
    low: Array
    high: Array
    patches: tuple[Region, ...]

    @property
    def step(self) -> float:
        """How long pieces of a border are at first, mm."""
        return float((self.high - self.low).max()) / PIECES

    def onto_plane(self, region: Region) -> tuple[Region, float]:
        """Return where a region of the lens's plane shows, and the area, mm², of doubt."""

        def bend(places: Array, _: Array | None) -> Array:
            return landings(self.lens, self.eye, self.plane, places)

        shown = []
        unsure = 0.0
        for patch in self.patches:
            rings, doubt = bent(rings_of(region ^ patch), bend, self.step)
            shown.append(region_within(rings))
            unsure += doubt
        return joined(shown), unsure

    def from_behind(self, points: Array, near: Array | None) -> Array:
        """Return through which places (n, 2) rays go to points (n, 3), rig frame, behind it."""
        there = move(inverse(self.lens.rig_from_lens), points)
        return lens_intercepts(self.lens, self.eye, there, near=near)[:, [0, 2]]


def bend_of(lens: PlacedLens, eye: Array, plane: Rectangle) -> Bend:
    """Return a grooved lens as an eye (3,), rig frame, looks at a rectangle through it."""
    here = move(inverse(lens.rig_from_lens), eye)
    half = aperture_of(lens).size / 2
    low, high = _reach(lens, here, plane)

    def runs(places: Array) -> Codes:
        at, right, up = (
            landings(lens, here, plane, places + shift)
            for shift in ((0.0, 0.0), (SHIFT, 0.0), (0.0, SHIFT))
        )
        (ax, az), (bx, bz) = (right - at).T, (up - at).T
        return np.asarray(np.sign(np.nan_to_num(ax * bz - az * bx)), np.int8)

    return Bend(lens, here, plane, low, high, patches_of(runs, low, high, half))


def _reach(lens: PlacedLens, eye: Array, plane: Rectangle) -> tuple[Array, Array]:
    """Return between which corners (2,) of a lens's plane an eye (3,), lens frame, looks.

    They hold the aperture; and where the rectangle is the own image, parallel to the lens, all that
    would show it, by the thin lens law and some more.
    """
    half = aperture_of(lens).size / 2
    lens_from_plane = inverse(lens.rig_from_lens) @ plane.rig_from_plane
    if not _parallel(lens_from_plane):
        return -half, half
    corners = move(inverse(lens.rig_from_lens), plane.corners(0.0))
    places = thin_lens_intercepts(eye, corners, lens.optic.focal_length)[:, [0, 2]]
    low, high = places.min(axis=0), places.max(axis=0)
    more = MORE * (high - low)
    return np.fmin(low - more, -half), np.fmax(high + more, half)


def _parallel(lens_from_plane: Array) -> bool:
    return bool(np.abs(lens_from_plane[:3, :3] - np.eye(3)).max() < FLAT)


def landings(lens: PlacedLens, eye: Array, plane: Rectangle, places: Array) -> Array:
    """Return which places (n, 2) of a rectangle an eye (3,) sees through places (n, 2) of a lens.

    The eye is in the lens's frame. Not a number where no light passes, or the ray does not run
    towards the rectangle's front; held within some times its size.
    """
    lens_from_plane = inverse(lens.rig_from_lens) @ plane.rig_from_plane
    far = FAR * plane.size.max()
    if _parallel(lens_from_plane):
        right, behind, up = lens_from_plane[:3, 3]
        depth = np.full(len(places), behind)
        shown = image_intercepts(lens, eye, places, depth)[:, :2] - [right, up]
        return np.asarray(np.clip(shown, -far, far))

    # two planes behind the lens tell the ray, which then meets the plane
    depth = np.full(len(places), -np.sign(eye[1]))
    near, on = (
        np.insert(image_intercepts(lens, eye, places, at)[:, :2], 1, at, axis=1)
        for at in (depth * 0, depth)
    )
    plane_from_lens = inverse(lens_from_plane)
    start = move(plane_from_lens, near)
    ways = move(plane_from_lens, on) - start
    with np.errstate(divide="ignore", invalid="ignore"):
        ahead = -start[:, 1] / ways[:, 1]
        ahead[~((ways[:, 1] > 0) & (ahead > 0))] = np.nan
        shown = (start + ways * ahead[:, None])[:, [0, 2]]
    return np.asarray(np.clip(shown, -far, far))


def bent(rings: Sequence[Array], bend: Bending, step: float) -> tuple[list[Array], float]:
    """Return rings (n, k) as rings (m, 2) after a bend, and the area that they may be wrong by.

    Edges are cut into pieces of at most a step, and these halved while they bend. A piece that
    departs by s from its chord c and is cut in its middle leaves an area of 2/3 c s/4 out. Points
    whose bend is not a number are left out.
    """
    if not rings:
        return [], 0.0
    points = np.concatenate([_cut(ring, step) for ring in rings])
    owner = np.repeat(np.arange(len(rings)), [_pieces(ring, step).sum() for ring in rings])
    shown = bend(points, None)
    at = np.arange(len(points))
    unsure = 0.0
    for _ in range(ROUNDS):
        after = _following(owner)[at]
        middles = (points[at] + points[after]) / 2
        chords = (shown[at] + shown[after]) / 2
        there = bend(middles, chords)
        off = np.linalg.norm(there - chords, axis=1)
        lengths = np.linalg.norm(shown[at] - shown[after], axis=1)
        curved = off > STRAIGHT
        unsure += float(np.nansum((off * lengths)[~curved])) / 6

        # put all middles between; look next at both halves only where the border was curved
        behind = at + 1
        points = np.insert(points, behind, middles, axis=0)
        shown = np.insert(shown, behind, there, axis=0)
        owner = np.insert(owner, behind, owner[at])
        new = behind + np.arange(len(behind))
        at = np.sort(np.concatenate([new[curved] - 1, new[curved]]))
        if not len(at):
            break
    shown = shown.round(PLACES)  # so that borders of two regions along one edge agree
    clear = np.isfinite(shown).all(axis=1)
    counts = np.bincount(owner[clear], minlength=len(rings))
    return ring_by_ring(shown[clear], counts.tolist()), unsure


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


def leg_behind(lens: PlacedLens, eye: Array, plane: Rectangle) -> Leg | None:
    """Return about what way rays run from a grooved lens, taken as thin, to a rectangle.

    Its last plane is the lens's. Whatever the rays meet stands within the hull of aperture and
    rectangle.
    """
    legs = legs_to(eye, [as_thin(lens)], plane.rig_from_plane)
    if legs is None or aperture_of(lens).depth_of(eye) >= 0:
        return None
    image_from_lens = legs[1].projection @ lens.rig_from_lens[:, [0, 2, 3]]
    projection = np.linalg.solve(image_from_lens, legs[1].projection)
    aperture = aperture_of(lens).corners(lens.optic.thickness)
    hull = _hull_between(aperture, plane.corners(-CLOSE))
    inside = np.concatenate([legs[1].inside, hull])
    if lens.optic.grooves == "pilot":  # rays leave by the flat face, so far behind the lens's plane
        inside[0, 3] -= lens.optic.thickness / acrylic_index(D_LINE)
    return dataclasses.replace(
        legs[1], projection=np.asarray(projection), inside=inside, exact=False
    )


def _hull_between(first: Array, second: Array) -> Array:
    """Return half-spaces (k, 4) that bound the hull of two rectangles' corners (4, 3) at its sides.

    They lie along an edge of one and a corner of the other, and have all corners on one side.
    """
    corners = np.concatenate([first, second])
    found = []
    for edged, other in ((first, second), (second, first)):
        along = np.roll(edged, -1, axis=0) - edged
        normals = np.cross(along[:, None], other[None] - edged[:, None])
        depths = np.einsum("ijk,ijlk->ijl", normals, corners - edged[:, None, None])
        reach = np.abs(depths).max(axis=2, keepdims=True) * FLAT
        offsets = -np.einsum("ijk,ik->ij", normals, edged)
        planes = np.concatenate([normals, offsets[:, :, None]], axis=2)
        found += [planes[(depths >= -reach).all(axis=2)], -planes[(depths <= reach).all(axis=2)]]
    return np.concatenate(found)


def shadows_behind(obstacles: Obstacles, bend: Bend, leg: Leg, window: Region) -> list[Shadow]:
    """Return through which places, within a window of the lens's plane, parts behind it are met."""
    if window.is_empty():
        return []
    found = []
    for part in obstacles.reaching_into(leg.inside):
        surface = obstacles.surface(part)
        if (surface.corners @ leg.inside[0] < 0).any():
            # rays shifted within the sheet may start inside a solid and meet its far side alone
            surface = dataclasses.replace(surface, solid=np.zeros(len(surface.faces), bool))
        if len(surface.faces) <= FEW_TRIANGLES:
            region, unsure = _shadow_of_flats(surface, bend, leg)
        else:
            points, lengths, _ = outline(surface, leg.apex, leg.inside, leg.sides).rings()
            rings, unsure = bent(ring_by_ring(points, lengths), bend.from_behind, bend.step)
            region = region_within(rings)
        region = region ^ window
        if not region.is_empty():
            found.append(Shadow(part, leg, region, unsure))
    return found


def _shadow_of_flats(surface: Surface, bend: Bend, leg: Leg) -> tuple[Region, float]:
    """Return through which places of a lens a surface is met, each flat surface bent by itself.

    What a thin lens would show edge on, and so as nothing, a grooved one may show.
    """
    faces = surface.faces[_towards(surface, leg.apex)]
    pieces, _ = clipped(surface.corners[faces], leg.inside)
    cut = surface_of(pieces[:, :, :3])
    regions = []
    unsure = 0.0
    for number in range(len(cut.flats)):
        of_flat = cut.flat_of_face == number
        points, lengths, _ = outline(cut, cut.flats[number], NOWHERE, NOWHERE, of_flat).rings()
        rings, doubt = bent(ring_by_ring(points, lengths), bend.from_behind, bend.step)
        regions.append(region_within(rings))
        unsure += doubt
    return joined(regions), unsure


def _towards(surface: Surface, apex: Array) -> npt.NDArray[np.bool_]:
    """Return which triangles (f,) may be met from about an apex: of solids none that face away."""
    ways = apex[3] * surface.corners[surface.faces[:, 0], :3] - apex[:3]
    lengths = np.linalg.norm(ways, axis=1) * np.linalg.norm(surface.planes[:, :3], axis=1)
    return np.asarray(~surface.solid | (surface.planes @ apex > -ASLANT * lengths))
