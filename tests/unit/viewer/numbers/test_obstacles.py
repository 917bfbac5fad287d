"""Parts made ready, and their shadows, against closed forms and another library's polygons."""

import gc
import weakref

import numpy as np
import pytest
import shapely
import trimesh
from scipy.optimize import linprog

from seamsight.scene import build
from seamsight.scene.polygons import region_about
from seamsight.viewer.numbers.obstacles import (
    MANY_EDGES,
    obstacles_of,
    shadow_of,
    shadows,
    splitting_plane,
)
from seamsight.viewer.numbers.silhouettes import surface_of
from seamsight.viewer.numbers.ways import legs_to

EYE = np.zeros(3)
IMAGE = region_about((200, 150))


def board(name, size, centre, **keys):
    return {"name": name, "size": size, "centre": centre, **keys}


@pytest.fixture
def leg_of():
    """Return a function from an assembly to the straight way to its first screen."""
    return lambda assembly: legs_to(EYE, [], assembly.screens[0].rig_from_screen)[0]


def test_parts_are_made_ready_once_and_go_with_their_assembly(rig_of, screen_at):
    assembly = build(rig_of(screen=[screen_at()]))
    ready = weakref.ref(obstacles_of(assembly))
    assert obstacles_of(assembly) is ready()
    del assembly
    gc.collect()
    assert ready() is None


def test_each_part_casts_its_own_shadow(rig_of, screen_at, leg_of):
    boards = [
        board("near", [40, 10, 30], [0, 305, 0]),
        board("far", [40, 10, 30], [0, 505, 0]),
        board("behind", [40, 10, 30], [0, 705, 0]),
        board("beside", [40, 10, 30], [400, 305, 0]),
    ]
    assembly = build(rig_of(screen=[screen_at()], board=boards))
    cast = shadows(obstacles_of(assembly), leg_of(assembly), IMAGE)
    found = {assembly.parts[one.part].name: one.region.area() for one in cast}
    assert found == {
        "near": pytest.approx(80 * 60),
        "far": pytest.approx(48 * 36),
    }
    assert shadows(obstacles_of(assembly), leg_of(assembly), IMAGE - IMAGE) == []


def test_a_heap_of_many_edges_casts_its_union(rig_of, screen_at, leg_of):
    rng = np.random.default_rng(8)
    heap = rng.uniform(-120, 120, (6000, 1, 3)) * [1, 0.3, 1] + [0, 400, 0]
    heap = heap + rng.uniform(-3, 3, (6000, 3, 3))
    assert 3 * len(heap) > 2 * MANY_EDGES
    flat = heap[:, :, [0, 2]] / heap[:, :, 1:2] * 600
    image = shapely.box(-200, -150, 200, 150)
    union = shapely.unary_union([shapely.Polygon(ring) for ring in flat]) & image

    assembly = build(rig_of(screen=[screen_at()]))
    leg = leg_of(assembly).about(np.array([-200.0, -150]), np.array([200.0, 150]))
    assert shadow_of(surface_of(heap), leg, IMAGE).area() == pytest.approx(union.area, rel=1e-8)


def can_be_parted(first, second):
    """Return whether any plane parts two sets of points: linear programming finds one if any."""
    rows = np.vstack([-np.insert(first, 3, 1, axis=1), np.insert(second, 3, 1, axis=1)])
    found = linprog(np.zeros(4), rows, -np.ones(len(rows)), bounds=(None, None))
    return found.status == 0


def test_a_plane_between_two_boxes_is_found_where_there_is_one(rig_of, screen_at):
    rng = np.random.default_rng(1)
    found = []
    for _ in range(150):
        turns = [trimesh.transformations.random_rotation_matrix(rng.random(3)) for _ in range(2)]
        one, other = (trimesh.creation.box((30, 20, 10), turn).triangles for turn in turns)
        other = other + rng.uniform(-25, 25, 3)
        plane = splitting_plane(surface_of(np.array(one)), surface_of(np.array(other)))
        ends = [np.unique(of.reshape(-1, 3), axis=0) for of in (one, other)]
        assert (plane is not None) == can_be_parted(*ends)
        if plane is not None:
            assert (ends[0] @ plane[:3] + plane[3] >= -1e-4).all()
            assert (ends[1] @ plane[:3] + plane[3] <= 1e-4).all()
        found.append(plane is not None)
    assert 20 < sum(found) < 130
