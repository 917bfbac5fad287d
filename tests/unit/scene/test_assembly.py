"""All parts together: in which one a point lies, and which way their faces look."""

import numpy as np
import trimesh

from seamsight.scene import build, read_rig
from seamsight.scene.assembly import part_around, parts_around


def test_many_points_get_the_answer_of_each_alone(sample):
    assembly = build(read_rig(sample))
    low, high = assembly.triangles.min(axis=(0, 1)), assembly.triangles.max(axis=(0, 1))
    points = np.random.default_rng(4).uniform(low, high, (1500, 3))
    # and some that are inside for certain, a little behind faces of boards, meshes and screens
    faces = np.random.default_rng(5).integers(0, len(assembly.triangles), 500)
    behind = assembly.triangles[faces].mean(axis=1) - 0.2 * assembly.face_normals[faces]
    points = np.concatenate([points, behind])
    names = [assembly.solids[n][0] if n >= 0 else None for n in parts_around(assembly, points)]
    assert names == [part_around(assembly, point) for point in points]
    assert len({*names}) > 10


def test_points_inside_are_trimesh_s(rig_of):
    # trimesh asks rays instead of summing angles
    board = {"size": [300, 40, 60], "yaw": 30, "roll": 50, "pitch": -20}
    boards = [board | {"name": "near", "centre": [0, 0, 0]}]
    boards += [board | {"name": "far", "centre": [60, 300, 20], "yaw": -40}]
    assembly = build(rig_of(board=boards))
    points = np.random.default_rng(6).uniform(-200, 400, (2000, 3))
    found = parts_around(assembly, points)
    for number, (_, triangles) in enumerate(assembly.solids):
        mesh = trimesh.Trimesh(*trimesh.triangles.to_kwargs(triangles).values())
        np.testing.assert_array_equal(found == number, mesh.contains(points))
    assert set(found) == {-1, 0, 1}


def test_no_points_and_no_parts(rig_of):
    assert parts_around(build(rig_of()), np.zeros((3, 3))).tolist() == [-1, -1, -1]
    board = {"name": "board", "size": [300, 40, 60], "centre": [0, 0, 0]}
    assert parts_around(build(rig_of(board=[board])), np.empty((0, 3))).shape == (0,)


def test_face_normals_are_trimesh_s(sample):
    assembly = build(read_rig(sample))
    normals, valid = trimesh.triangles.normals(assembly.triangles)
    np.testing.assert_allclose(assembly.face_normals[valid], normals, atol=1e-9)


def test_corners_make_up_the_triangles(sample):
    assembly = build(read_rig(sample))
    corners, of = assembly.corners
    assert (corners[of] == assembly.triangles.astype(np.float32)).all()
    assert len(corners) < 3 * len(of)
