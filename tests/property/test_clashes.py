"""Clashes against another program's volumes: trimesh's booleans, pair by pair."""

import itertools

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from seamsight.scene import build, read_rig
from seamsight.scene.frames import angles, rotation, transform
from seamsight.scene.spaces import spaces_of
from seamsight.viewer.numbers.clashes import clashes

PAIRS = 500
SURELY = 0.1  # mm deep; nothing as deep may be missed


def shared_volume(one, other):
    with np.errstate(all="ignore"):  # it divides by the volumes of slivers
        common = trimesh.boolean.intersection([one, other], engine="manifold", check_volume=False)
        return abs(common.volume) if len(common.faces) else 0.0


def anywhere(random):
    """Return a random pose about a place as keys of a rig."""
    axes = Rotation.random(rng=random).as_matrix()
    turns = dict(zip(("yaw", "pitch", "roll"), np.degrees(angles(axes)).tolist(), strict=True))
    centre = np.array([0, 900, 0]) + random.uniform(-60, 60, 3)
    return {"centre": centre.tolist(), **turns}


@pytest.fixture(scope="module")
def boxes():
    """Return pairs of boxes as tables of a rig, turned any way, and as meshes of trimesh."""
    random = np.random.default_rng(7)
    pairs = []
    for _ in range(PAIRS):
        pair = []
        for name in ("a", "b"):
            size = random.uniform(5, 120, 3)
            table = {"name": name, "size": size.tolist(), **anywhere(random)}
            axes = rotation(*np.radians([table["yaw"], table["pitch"], table["roll"]]))
            mesh = trimesh.creation.box(size, transform=transform(axes, table["centre"]))
            pair.append((table, mesh))
        pairs.append(pair)
    return pairs


def test_boxes_clash_where_trimesh_finds_that_they_share_some_space(rig_of, boxes):
    told = 0
    for (table, mesh), (other_table, other_mesh) in boxes:
        found = clashes(build(rig_of(board=[table, other_table])))
        volume = shared_volume(mesh, other_mesh)
        told += len(found)
        if found:
            assert volume > 0
        else:  # a box freed by so little shares no more than that times its largest face
            assert volume < SURELY * 120 * 120 * 3**0.5
            # and what is left of it when it goes back by that much is nothing
            shrunk = other_mesh.copy()
            middle = shrunk.centroid
            shrunk.vertices = middle + (shrunk.vertices - middle) * (
                1 - 2 * SURELY / np.array(other_table["size"]).min()
            )
            assert shared_volume(mesh, shrunk) == 0
    assert 100 < told < PAIRS - 100


def mesh_of(triangles):
    corners = triangles.reshape(-1, 3)
    return trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3))


def test_samples_clash_nowhere_by_trimesh_either(sample):
    assembly = build(read_rig(sample))
    assert clashes(assembly) == []
    shapes = [
        [mesh_of(triangles) for triangles in space.surfaces()] for space in spaces_of(assembly)
    ]
    bounds = [space.bounds for space in spaces_of(assembly)]
    for one, other in itertools.combinations(range(len(shapes)), 2):
        least = np.minimum(bounds[one][1], bounds[other][1])
        if (least > np.maximum(bounds[one][0], bounds[other][0])).all():
            volume = sum(
                shared_volume(*pair) for pair in itertools.product(shapes[one], shapes[other])
            )
            assert volume < 1  # mm3: edges that touch, in rounded figures


SHAFTS = (
    trimesh.creation.icosphere(3, 30.0),
    trimesh.creation.cylinder(12.0, 120.0, sections=40),
    trimesh.creation.torus(40.0, 8.0),
)


@pytest.mark.parametrize("shaft", range(len(SHAFTS)))
def test_meshes_clash_with_drilled_plates_where_trimesh_finds_it(rig_of, tmp_path, shaft):
    SHAFTS[shaft].export(tmp_path / "shaft.stl")
    hole = {"shape": "circle", "at": [10, 0], "diameter": 60}
    plate = {"name": "plate", "size": [100, 90], "thickness": 6, "holes": [hole]}
    random = np.random.default_rng(shaft)
    told = 0
    for _ in range(60):
        mesh = {"name": "shaft", "file": "shaft.stl", **anywhere(random)}
        rig = rig_of(mesh=[mesh], plate=[plate | anywhere(random)])
        assembly = build(rig.read_from(tmp_path / "rig.toml"))
        found = clashes(assembly)
        volume = shared_volume(*(mesh_of(part.triangles) for part in assembly.parts))
        assert len(found) == (volume > 1)
        told += len(found)
    assert 10 < told < 50
