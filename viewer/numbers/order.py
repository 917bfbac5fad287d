"""Which of several parts that hide the same places rays meet first."""

import dataclasses
import heapq
import itertools
from collections.abc import Sequence

import numpy as np

from seamsight.scene.frames import Array
from seamsight.scene.polygons import Region, bounds_of, joined, rectangle, region_within
from seamsight.viewer.numbers.obstacles import SPLITTERS, TOUCHING, Obstacles, Shadow, shadow_of
from seamsight.viewer.numbers.silhouettes import Surface
from seamsight.viewer.numbers.ways import Leg

FEW_FLATS = 60  # flat surfaces of a part that are looked at one by one
RASTER = 96  # cells to a side, where two finely modelled parts reach through each other


def first_met(obstacles: Obstacles, cast: Sequence[Shadow]) -> list[Shadow]:
    """Return of shadows, all of one leg, what each part hides as the first that rays meet.

    Together they fill the union of the shadows. Parts that lie behind others as a whole are met
    after them, and parts that a plane parts are met in one order everywhere: both is exact. Where
    parts reach through each other, the flat surfaces of the one that has fewer tell, exactly too,
    where it is met first; of two that both have many, a raster of rays, which is unsure.
    """
    left = _not_behind(obstacles, cast)
    regions = [one.region for one in left]
    unsure = [one.unsure for one in left]

    # of what two parts hide, take from each where the other is met first
    for here, there in itertools.combinations(range(len(left)), 2):
        both = regions[here] ^ regions[there]
        if not both.is_empty():
            before, doubt = _met_before(obstacles, left[there], left[here], both)
            regions[here] = regions[here] - before
            regions[there] = regions[there] - (both - before)
            for number in (here, there):
                unsure[number] += doubt

    return [
        dataclasses.replace(one, region=region, unsure=doubt)
        for one, region, doubt in zip(left, regions, unsure, strict=True)
    ]


def _not_behind(obstacles: Obstacles, cast: Sequence[Shadow]) -> list[Shadow]:
    """Return shadows without what parts hide that lie nearer to where the rays start as a whole."""
    if len(cast) < 2:
        return list(cast)
    nearest, farthest = obstacles.depths(cast[0].leg.depth)
    covered = region_within([])
    waiting: list[tuple[float, int]] = []
    found: list[Shadow] = []

    # go on from part to part by where they begin, and count as covered what has ended before
    for one in sorted(cast, key=lambda shadow: nearest[shadow.part]):
        while waiting and waiting[0][0] <= nearest[one.part] + TOUCHING:
            covered = covered + found[heapq.heappop(waiting)[1]].region
        region = one.region - covered
        if not region.is_empty():
            heapq.heappush(waiting, (float(farthest[one.part]), len(found)))
            found.append(dataclasses.replace(one, region=region))
    return found


def _met_before(
    obstacles: Obstacles, other: Shadow, mine: Shadow, both: Region
) -> tuple[Region, float]:
    """Return where, of what both parts hide, rays meet the other first, and the area of doubt."""
    plane = obstacles.split(other.part, mine.part)
    if plane is not None:
        return (both if plane @ mine.leg.apex > 0 else region_within([])), 0.0
    here, there = (len(obstacles.surface(one.part).flats) for one in (mine, other))
    if here <= there:
        before, unsure = _met_before_flats(obstacles, other, mine, both)
    else:
        after, unsure = _met_before_flats(obstacles, mine, other, both)
        before = both - after
    return before, unsure if mine.leg.exact else float(both.area())


def _met_before_flats(
    obstacles: Obstacles, other: Shadow, flat: Shadow, window: Region
) -> tuple[Region, float]:
    """Return where, within a window, rays meet another part before one with flat surfaces.

    What of the other part lies before a plane that has all of the flat part behind it is met before
    it; what lies behind a plane that has all of it in front is not. What is left lies within a
    convex part, or between the edges of others.
    """
    here, there = obstacles.surface(flat.part), obstacles.surface(other.part)
    leg = whole = flat.leg.narrowed(*bounds_of(window))
    found = [region_within([])]
    for plane in here.flats[here.flats_by_size[:SPLITTERS]]:
        near = np.sign(plane @ leg.apex) * plane
        if not near.any():
            continue
        depths = here.corners @ near
        reach = leg
        if (depths < TOUCHING).all():
            found.append(shadow_of(there, leg.within(near), window))
            leg = leg.within(-near)
        if (depths > -TOUCHING).all():
            if leg is not reach:  # all of it lies in this plane: that is all
                return joined(found), 0.0
            leg = leg.within(near)

    # what lies neither before such a plane nor behind one
    before = joined(found)
    rest = shadow_of(there, leg, window - before)
    if rest.is_empty():
        return before, 0.0
    if len(here.flats) > FEW_FLATS:
        region, unsure = _before_by_rays(obstacles, other, flat, rest)
    else:
        region = rest - _flats_before(here, whole, there, leg, rest)
        unsure = 0.0
    return before + region, unsure


def _flats_before(flat: Surface, leg: Leg, other: Surface, piece: Leg, window: Region) -> Region:
    """Return where, within a window, rays meet a flat surface before all of a piece of another.

    They meet something of the other part first where some of it lies before the flat surface's
    plane.
    """
    found = []
    for number, plane in enumerate(flat.flats):
        side = np.sign(plane @ leg.apex)
        covered = shadow_of(flat, leg, window, flat.flat_of_face == number)
        if side and not covered.is_empty():
            found.append(covered - shadow_of(other, piece.within(side * plane), covered))
    return joined(found)


def _before_by_rays(
    obstacles: Obstacles, other: Shadow, mine: Shadow, window: Region
) -> tuple[Region, float]:
    """Return where, within a window, a raster of rays meets the other first; and the doubt."""
    low, high = bounds_of(window)
    step = (high - low) / RASTER
    cell = np.stack(np.meshgrid(*[np.arange(RASTER)] * 2), axis=2).reshape(-1, 2)
    origins, directions = mine.leg.rays_to(low + (cell + 0.5) * step)
    here, there = (
        _distances(obstacles, part, origins, directions) for part in (mine.part, other.part)
    )
    first = np.pad((there < here).reshape(RASTER, RASTER), ((0, 0), (1, 1))).astype(np.int8)

    # cells side by side become one rectangle
    row, start = np.nonzero(np.diff(first, axis=1) == 1)
    _, stop = np.nonzero(np.diff(first, axis=1) == -1)
    lows = low + np.stack([start, row], axis=1) * step
    highs = low + np.stack([stop, row + 1], axis=1) * step
    runs = [rectangle(*ends) for ends in zip(lows, highs, strict=True)]
    borders = (np.diff(first, axis=0) != 0).sum() + 2 * len(row)
    return joined(runs) ^ window, float(borders * step[0] * step[1] / 2)


def _distances(obstacles: Obstacles, part: int, origins: Array, directions: Array) -> Array:
    """Return how far along rays (n, 3) a part is met first, infinite where it is not."""
    faces = obstacles.caster(part).first_faces(
        origins.astype(np.float32), directions.astype(np.float32)
    )
    planes = obstacles.surface(part).planes[faces]
    above = np.einsum("ij,ij->i", origins, planes[:, :3]) + planes[:, 3]
    along = np.einsum("ij,ij->i", directions, planes[:, :3])
    return np.where(faces < 0, np.inf, -above / np.where(along == 0, 1.0, along))
