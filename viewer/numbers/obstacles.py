"""What is in the way of rays: parts, and their shadows on a plane."""

import threading
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.polygons import (
    Region,
    bounds_of,
    joined,
    rectangle,
    region_within,
    ring_by_ring,
)
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.numbers.silhouettes import Surface, outcodes, outline, surface_of
from seamsight.viewer.numbers.ways import Leg

TOUCHING = 1e-4  # mm; parts that reach no deeper into each other count as apart
MANY_EDGES = 6000  # of an outline; from there on halves of a window are joined faster
SMALLEST = 1e-2  # mm; no smaller window is halved
SMALL = 64  # triangles; parts of no more are looked at all at once
SPLITTERS = 6  # largest flat surfaces of a part along which it may be parted from another


@dataclass(frozen=True, eq=False)
class Shadow:
    """What a part hides of a plane.

    Attributes
    ----------
    part : int
    leg : Leg
        The rays that it is in the way of.
    region : Region
        mm, on the last plane of their way.
    unsure : float
        Area, mm², by which the region may be wrong; 0 where it is exact.
    """

    part: int
    leg: Leg
    region: Region
    unsure: float = 0.0


class Obstacles:
    """The parts of an assembly, made ready for casting shadows as they are asked for.

    It does not hold the assembly itself, so that both go when nobody needs the assembly any more.

    Attributes
    ----------
    small : Surface
        All parts of few triangles.
    """

    def __init__(self, assembly: Assembly) -> None:
        self._triangles = [part.triangles for part in assembly.parts]
        self._boxes = np.array([_box(part) for part in self._triangles]).reshape(-1, 8, 4)
        self._large = np.array([len(part) for part in self._triangles]) > SMALL

        # parts of few triangles become one surface
        simple = ~self._large[assembly.part_of_face]
        owners = assembly.part_of_face[simple].astype(np.int64)
        self.small = surface_of(assembly.triangles[simple], owners)

        self._surfaces: dict[int, Surface] = {}
        self._casters: dict[int, Caster] = {}
        self._splits: dict[tuple[int, int], Array | None] = {}

    def surface(self, part: int) -> Surface:
        """Return a part's triangles as a surface."""
        if part not in self._surfaces:
            self._surfaces[part] = surface_of(self._triangles[part])
        return self._surfaces[part]

    def caster(self, part: int) -> Caster:
        """Return what finds the triangles of one part that rays meet."""
        if part not in self._casters:
            triangles = self._triangles[part]
            self._casters[part] = Caster(triangles, np.zeros(len(triangles), np.int32))
        return self._casters[part]

    def depths(self, plane: Array) -> tuple[Array, Array]:
        """Return from where to where each part's box reaches behind a plane (4,), (p,) each."""
        depths = self._boxes @ plane
        return depths.min(axis=1), depths.max(axis=1)

    def large_reaching_into(self, half_spaces: Array) -> list[int]:
        """Return the same of parts of many triangles alone."""
        return [part for part in self.reaching_into(half_spaces) if self._large[part]]

    def reaching_into(self, half_spaces: Array) -> list[int]:
        """Return the ids of the parts whose boxes reach into all half-spaces (m, 4)."""
        outside = np.all(self._boxes @ half_spaces.T < 0, axis=1)
        return [int(part) for part in np.flatnonzero(~np.any(outside, axis=1))]

    def split(self, first: int, second: int) -> Array | None:
        """Return a plane (4,) with one part on its positive side, another on its negative.

        None if none is found.
        """
        if (first, second) not in self._splits:
            plane = splitting_plane(self.surface(first), self.surface(second))
            self._splits[first, second] = plane
            self._splits[second, first] = None if plane is None else -plane
        return self._splits[first, second]


def obstacles_of(assembly: Assembly) -> Obstacles:
    """Return an assembly's parts made ready, at the first call; kept as long as the assembly."""
    with _lock:
        obstacles = _obstacles.get(assembly)
        if obstacles is None:
            obstacles = _obstacles[assembly] = Obstacles(assembly)
    return obstacles


_obstacles: WeakKeyDictionary[Assembly, Obstacles] = WeakKeyDictionary()
_lock = threading.Lock()


def shadow_of(
    surface: Surface, leg: Leg, window: Region, chosen: npt.NDArray[np.bool_] | None = None
) -> Region:
    """Return what a surface, or chosen triangles (f,) of it, hides of a window from a leg's rays.

    A window in which its outline has many edges is halved until they are few: to join many takes
    far longer.
    """
    around = outline(surface, leg.apex, leg.inside, leg.sides, chosen)
    low, high = bounds_of(window)
    if around.size <= MANY_EDGES or (high - low).max() < SMALLEST:
        points, lengths, _ = around.rings()
        return region_within(ring_by_ring(leg.project(points), lengths)) ^ window

    # halve the longer side
    axis = int(np.argmax(high - low))
    lower, upper = high.copy(), low.copy()
    lower[axis] = upper[axis] = (low[axis] + high[axis]) / 2

    halves = []
    for ends in ((low, lower), (upper, high)):
        half = leg.narrowed(*ends)
        within = np.bitwise_and.reduce(outcodes(surface, half.sides)[surface.faces.T]) == 0
        rows = np.flatnonzero(within if chosen is None else within & chosen)
        halves.append(shadow_of(surface.portion(rows), half, window ^ rectangle(*ends)))
    return joined(halves)


def shadows(obstacles: Obstacles, leg: Leg, window: Region) -> list[Shadow]:
    """Return the shadows of all parts that hide something of a window from a leg's rays."""
    if window.is_empty():
        return []
    leg = leg.about(*bounds_of(window))
    regions = _shadows_of_small(obstacles, leg, window)
    for part in obstacles.large_reaching_into(np.concatenate([leg.inside, leg.sides])):
        regions[part] = shadow_of(obstacles.surface(part), leg, window)
    return [
        Shadow(part, leg, regions[part]) for part in sorted(regions) if not regions[part].is_empty()
    ]


def _shadows_of_small(obstacles: Obstacles, leg: Leg, window: Region) -> dict[int, Region]:
    """Return what parts of few triangles hide of a window, all looked at at once, by their ids."""
    points, lengths, owners = outline(obstacles.small, leg.apex, leg.inside, leg.sides).rings()
    rings: dict[int, list[Array]] = {}
    for owner, ring in zip(
        owners.tolist(), ring_by_ring(leg.project(points), lengths), strict=True
    ):
        rings.setdefault(owner, []).append(ring)
    return {part: region_within(of_part) ^ window for part, of_part in rings.items()}


def _box(triangles: Array) -> Array:
    """Return the corners (8, 4), homogeneous, of the box around triangles."""
    ends = np.stack([triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))])
    pick = np.indices((2, 2, 2)).reshape(3, 8)
    return np.column_stack([ends[pick[0], 0], ends[pick[1], 1], ends[pick[2], 2], np.ones(8)])


def splitting_plane(first: Surface, second: Surface) -> Array | None:
    """Return a plane with the first surface on its positive side, the second on its negative.

    None if none is found. Its normal is sought among the axes, the normals of the largest flat
    surfaces, and what is square to two of them: all that can part two boxes (Gottschalk, Lin &
    Manocha, SIGGRAPH 1996, 171).
    """
    mine, others = (of.flats[of.flats_by_size[:SPLITTERS], :3] for of in (first, second))
    crossed = np.cross(mine[:, None], others[None]).reshape(-1, 3)
    plane = _widest_parting(first, second, np.concatenate([np.eye(3), mine, others]))
    # hardly ever needed, and far more of them
    return _widest_parting(first, second, crossed) if plane is None else plane


def _widest_parting(first: Surface, second: Surface, normals: Array) -> Array | None:
    """Return that plane (4,) square to one of some normals (n, 3), or None, that parts the most."""
    length = np.linalg.norm(normals, axis=1)
    normals = normals[length > 1e-6] / length[length > 1e-6, None]
    if not len(normals):
        return None

    here, there = (of.corners[:, :3] @ normals.T for of in (first, second))
    lows = np.concatenate([here.min(axis=0), -here.max(axis=0)])
    highs = np.concatenate([there.max(axis=0), -there.min(axis=0)])
    best = int(np.argmax(lows - highs))
    if lows[best] - highs[best] < -TOUCHING:
        return None
    sense = 1.0 if best < len(normals) else -1.0
    return np.append(sense * normals[best % len(normals)], -(lows[best] + highs[best]) / 2)
