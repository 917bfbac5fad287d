"""Through a grooved lens: where regions of its plane show, and what hides them from behind it.

A grooved lens images no point on a point, so that no one matrix does. Regions are kept in the
lens's plane, and their borders, cut finely, are bent onto the image place by place. Where facets
fold the picture back, or let nothing pass, the lens's plane is parted first: within each part the
picture runs one way round, and then the border of a region bent is the border of what is seen
through it (the winding number of the bent border counts how often a place is shown).
"""

import dataclasses
import functools
import itertools
from collections.abc import Sequence
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
    region_about,
    region_within,
    ring_by_ring,
    rings_of,
)
from seamsight.viewer.casting.lens_kernel import show, turn
from seamsight.viewer.casting.sightlines import (
    as_thin,
    lens_intercepts,
    optics_of,
    thin_lens_intercepts,
)
from seamsight.viewer.numbers.obstacles import Obstacles, Shadow
from seamsight.viewer.numbers.patches import Codes, last_within, patches_of
from seamsight.viewer.numbers.rings import Rim, bent
from seamsight.viewer.numbers.silhouettes import Surface, clipped, outline, surface_of
from seamsight.viewer.numbers.ways import CLOSE, Leg, Rectangle, aperture_of, legs_to

CLOSE_PLACES = 6  # of mm, to which corners of a region are those of another that it was cut from
FLAT = 1e-9  # share of the depth of a hull by which corners may leave its sides
MORE = 0.15  # share of an image by which a grooved lens may show it farther out than a thin one
PIECES = 24  # of a lens's longer side, that borders are cut into at first
FAR = 20.0  # times an image's size; farther out, where a ray lands does not matter
ASLANT = 0.2  # sine by which a face may be turned away that rays bent otherwise still meet
FEW_TRIANGLES = 500  # of a part behind a lens, each of which is bent by itself
STARTS = (1.0, 0.85, 0.7, 0.5, 0.25)  # shares of the thin lens's place, to look from for the true
BESIDE = 4.0  # times as far out as is looked at: where no light passes for certain

NOWHERE = np.empty((0, 4))

Mask: TypeAlias = npt.NDArray[np.bool_]


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
    """

    lens: PlacedLens
    eye: Array
    plane: Rectangle
    low: Array
    high: Array

    @functools.cached_property
    def patches(self) -> dict[int, Region]:
        """Where light passes the lens's plane and the picture is upright (1), or reversed (-1)."""
        return patches_of(self._runs, self.low, self.high, aperture_of(self.lens).size / 2)

    def _runs(self, places: Array) -> Codes:
        """Return which way round the picture runs about places (n, 2)."""
        return self._turns(places, self._plane_from_lens, np.zeros(len(places)))

    def _turns(self, places: Array, plane_from_lens: Array, depth: Array) -> Codes:
        """Return the same for depths (n,) behind a plane, of whose frame a matrix tells."""
        out = np.empty(len(places), np.int8)
        places = np.ascontiguousarray(places)
        turn(self.eye, places, plane_from_lens, depth, self._optics, out)
        return out

    @functools.cached_property
    def _plane_from_lens(self) -> Array:
        return inverse(self.plane.rig_from_plane) @ self.lens.rig_from_lens

    @functools.cached_property
    def _optics(self) -> Array:
        return np.array(optics_of(self.lens), np.float64)

    def landings(self, places: Array) -> Array:
        """Return which places (n, 2) of the rectangle are seen through places (n, 2) of the lens.

        Not a number where no light passes, or the ray does not run towards the rectangle's front;
        held within some times its size.
        """
        far = FAR * float(self.plane.size.max())
        out = np.empty((len(places), 2))
        places = np.ascontiguousarray(places)
        show(self.eye, places, self._plane_from_lens, far, self._optics, out)
        return out

    @property
    def step(self) -> float:
        """How long pieces of a border are at first, mm."""
        return float((self.high - self.low).max()) / PIECES

    def onto_plane(self, region: Region) -> tuple[Region, float]:
        """Return where a region of the lens's plane shows, and the area, mm², of doubt."""
        shown = []
        unsure = 0.0
        for code, patch in self.patches.items():
            rings = rings_of(region ^ patch)
            rim = Rim(self._rims(rings, patch), functools.partial(self._last, code))
            places, doubt = bent(rings, lambda at, _: self.landings(at), self.step, rim)
            shown.append(region_within(places))
            unsure += doubt
        return joined(shown), unsure

    def _rims(self, rings: Sequence[Array], patch: Region) -> list[Mask]:
        """Return which edges of rings are chords of a patch's border, from cell to cell.

        They are aslant; what is level or upright is where the region ends, or what is looked at.
        """
        corners = np.concatenate(rings_of(patch)).round(CLOSE_PLACES) @ [1, 1j]
        rims = []
        for ring in rings:
            shared = np.isin(ring.round(CLOSE_PLACES) @ [1, 1j], corners)
            aslant = (np.abs(ring - np.roll(ring, -1, axis=0)) > CLOSE).all(axis=1)
            rims.append(shared & np.roll(shared, -1) & aslant)
        return rims

    def _last(self, code: int, middles: Array, way: Array) -> Array:
        """Return the last places (n, 2) within a patch along ways out from middles, or back.

        A middle stays where it is if a patch does not end so near.
        """

        def inside(places: Array) -> Mask:
            return np.asarray(self._runs(places) == code)

        # from middles within go out, from others back
        here = inside(middles)
        there = middles + np.where(here[:, None], way, -way)
        differ = here != inside(there)
        goes_out = here[:, None]
        near = np.where(goes_out, middles, there)
        far = np.where(goes_out, there, middles)
        places = middles.copy()
        places[differ] = last_within(inside, near[differ], far[differ])
        return places

    def onto_lens(self, rings: Sequence[Array]) -> tuple[list[Array], float]:
        """Return through which places rays go to rings (n, 3), rig frame, of points behind it.

        As rings (m, 2), and the area, mm², by which they may be wrong.
        """
        return bent(rings, self._from_behind, self.step, beside=self._beside)

    def _from_behind(self, points: Array, near: Array | None) -> Array:
        """Return through which places (n, 2) rays go to points (n, 3), rig frame, behind it.

        Not a number where none does so the right way up.
        """
        there = move(inverse(self.lens.rig_from_lens), points)
        thin = self._thin_places(there)
        places = np.full((len(points), 2), np.nan)
        for start in (*([] if near is None else [near]), *(share * thin for share in STARTS)):
            lost = np.flatnonzero(np.isnan(places[:, 0]))
            if not len(lost):
                break
            goal = there[lost]
            found = lens_intercepts(self.lens, self.eye, goal, near=start[lost])[:, [0, 2]]
            upright = self._turns(found, np.eye(4), np.ascontiguousarray(goal[:, 1])) > 0
            places[lost[upright]] = found[upright]
        return places

    def _beside(self, points: Array) -> Array:
        """Return places (n, 2) far out, on the side where the thin lens would show points (n, 3).

        A ring of points of which some are not seen goes through them, and so round all it hides.
        Sides are told from the place straight ahead of the eye, where light passes: an eye close to
        the lens sees little else, and a wall beside that place must not go round it.
        """
        ahead = np.clip(self.eye[[0, 2]], self.low, self.high)
        ways = self._thin_places(move(inverse(self.lens.rig_from_lens), points)) - ahead
        far = BESIDE * np.abs([self.low, self.high]).max()
        return np.asarray(ahead + ways * far / np.linalg.norm(ways, axis=1, keepdims=True))

    def _thin_places(self, there: Array) -> Array:
        return thin_lens_intercepts(self.eye, there, self.lens.optic.focal_length)[:, [0, 2]]


def bend_of(lens: PlacedLens, eye: Array, plane: Rectangle) -> Bend:
    """Return a grooved lens as an eye (3,), rig frame, looks at a rectangle through it."""
    here = move(inverse(lens.rig_from_lens), eye)
    return Bend(lens, here, plane, *_reach(lens, here, plane))


def _reach(lens: PlacedLens, eye: Array, plane: Rectangle) -> tuple[Array, Array]:
    """Return between which corners (2,) of a lens's plane an eye (3,), lens frame, looks.

    They hold the aperture; and where the rectangle is the own image, parallel to the lens, all that
    would show it, by the thin lens law and some more.
    """
    half = aperture_of(lens).size / 2
    lens_from_rig = inverse(lens.rig_from_lens)
    turned = (lens_from_rig @ plane.rig_from_plane)[:3, :3] - np.eye(3)
    if np.abs(turned).max() > FLAT:
        return -half, half
    corners = move(lens_from_rig, plane.corners(0.0))
    places = thin_lens_intercepts(eye, corners, lens.optic.focal_length)[:, [0, 2]]
    low, high = places.min(axis=0), places.max(axis=0)
    more = MORE * (high - low)
    return np.fmin(low - more, -half), np.fmax(high + more, half)


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
            rings, unsure = bend.onto_lens(ring_by_ring(points, lengths))
            region = region_within(rings)
        region = region ^ window
        if not region.is_empty():
            found.append(Shadow(part, leg, region, unsure))
    if found and -1 in bend.patches:
        doubt = _seen_reversed_alone(bend, window - joined(one.region for one in found))
        found[0] = dataclasses.replace(found[0], unsure=found[0].unsure + doubt)
    return found


def _seen_reversed_alone(bend: Bend, left: Region) -> float:
    """Return the area, mm², that a region of the lens's plane shows by reversed rays alone.

    Which of these end on parts behind the lens is not looked for.
    """
    upright, reversed_ = (
        bend.onto_plane(left ^ bend.patches.get(code, region_within([])))[0] for code in (1, -1)
    )
    return float(((reversed_ - upright) ^ region_about(bend.plane.size / 2)).area())


def _shadow_of_flats(surface: Surface, bend: Bend, leg: Leg) -> tuple[Region, float]:
    """Return through which places of a lens a surface is met, each flat surface bent by itself.

    What a thin lens would show edge on, and so as nothing, a grooved one may show.
    """
    faces = surface.faces[_towards(surface, leg.apex)]
    pieces, _ = clipped(surface.corners[faces], leg.inside)
    cut = surface_of(pieces[:, :, :3])
    rings: list[Array] = []
    flats = []
    for number in range(len(cut.flats)):
        of_flat = cut.flat_of_face == number
        points, lengths, _ = outline(cut, cut.flats[number], NOWHERE, NOWHERE, of_flat).rings()
        rings += ring_by_ring(points, lengths)
        flats.append(len(lengths))
    places, unsure = bend.onto_lens(rings)
    ends = list(itertools.accumulate(flats, initial=0))
    return joined(
        region_within(places[start:end]) for start, end in itertools.pairwise(ends)
    ), unsure


def _towards(surface: Surface, apex: Array) -> npt.NDArray[np.bool_]:
    """Return which triangles (f,) may be met from about an apex: of solids none that face away."""
    ways = apex[3] * surface.corners[surface.faces[:, 0], :3] - apex[:3]
    lengths = np.linalg.norm(ways, axis=1) * np.linalg.norm(surface.planes[:, :3], axis=1)
    return np.asarray(~surface.solid | (surface.planes @ apex > -ASLANT * lengths))
