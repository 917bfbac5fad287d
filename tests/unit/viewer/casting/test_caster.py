"""The first triangle that a ray meets, against trimesh's own engine (numpy and an r-tree)."""

import dataclasses

import numpy as np
import pytest
import trimesh
from trimesh.ray.ray_triangle import RayMeshIntersector

from seamsight.scene import build, read_rig
from seamsight.viewer import Projection, eyes_of, head_named, measure, see
from seamsight.viewer.casting import caster
from seamsight.viewer.casting.caster import Caster

NEAR = 0.01  # mm; two faces this close, or an edge this close to the ray, may be told either way
NO_ENGINE = "no ray engine for this machine"


@pytest.fixture
def without_engine(monkeypatch):
    monkeypatch.setattr(caster, "HAS_ENGINE", False)


@pytest.fixture(params=["engine", "search"])
def both_ways(request):
    if request.param == "search":
        request.getfixturevalue("without_engine")
    elif not caster.HAS_ENGINE:
        pytest.skip(NO_ENGINE)


@pytest.fixture
def first_faces(both_ways):
    def cast(triangles, origins, directions):
        surfaces = np.arange(len(triangles), dtype=np.int32)
        return Caster(triangles, surfaces).first_faces(origins, directions)

    return cast


def trimesh_first_faces(triangles, origins, directions):
    mesh = trimesh.Trimesh(
        triangles.reshape(-1, 3), np.arange(len(triangles) * 3).reshape(-1, 3), process=False
    )
    faces, rays, places = RayMeshIntersector(mesh).intersects_id(
        origins, directions, return_locations=True
    )
    away = np.einsum("ij,ij->i", places - origins[rays], directions[rays])
    found = np.full(len(origins), -1)
    for hit in np.argsort(-away):  # the nearest is written last
        found[rays[hit]] = faces[hit]
    return found


def planes_met(triangles, origins, directions):
    """Return how far along each ray its triangle's plane is met."""
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.einsum("ij,ij->i", triangles[:, 0] - origins, normals) / np.einsum(
            "ij,ij->i", directions, normals
        )


def edge_distances(triangles, origins, directions):
    """Return how near each ray passes to the nearest of its triangle's edges."""
    found = np.full(len(triangles), np.inf)
    for start, stop in ((0, 1), (1, 2), (2, 0)):
        # drop the direction's share, so that the ray is a point and the edge a flat segment
        a, b = (corner - origins for corner in (triangles[:, start], triangles[:, stop]))
        a, b = (c - np.einsum("ij,ij->i", c, directions)[:, None] * directions for c in (a, b))
        along = b - a
        lengths = np.maximum(np.einsum("ij,ij->i", along, along), 1e-300)
        share = np.clip(-np.einsum("ij,ij->i", a, along) / lengths, 0, 1)
        found = np.minimum(found, np.linalg.norm(a + share[:, None] * along, axis=1))
    return found


def check_against_trimesh(first_faces, triangles, origins, directions):
    origins, directions = (
        np.float32(origins),
        np.float32(directions),
    )  # all must start from the same numbers
    ours = first_faces(triangles, origins, directions)
    triangles, origins = np.float32(triangles).astype(float), origins.astype(float)
    directions = directions / np.linalg.norm(directions.astype(float), axis=1, keepdims=True)
    theirs = trimesh_first_faces(triangles, origins, directions)
    assert (theirs >= 0).any()
    differ = np.flatnonzero(ours != theirs)
    rays = origins[differ], directions[differ]
    met, edges = [], []
    for faces in (ours[differ], theirs[differ]):
        met.append(np.where(faces >= 0, planes_met(triangles[faces], *rays), np.inf))
        edges.append(np.where(faces >= 0, edge_distances(triangles[faces], *rays), np.inf))
    with np.errstate(invalid="ignore"):
        excused = (np.abs(met[0] - met[1]) < NEAR) | (np.minimum(*edges) < NEAR)
    assert excused.all(), (
        f"{(~excused).sum()} of {len(origins)} rays, the first is {differ[~excused][0]}"
    )
    assert len(differ) < 0.02 * len(origins)


def random_rays(random, count, low, high):
    """Rays from and to anywhere in a box."""
    origins, targets = random.uniform(low, high, (2, count, 3))
    directions = targets - origins
    return origins, directions / np.linalg.norm(directions, axis=1, keepdims=True)


@pytest.mark.parametrize("size", [2, 60, 700])
def test_soup_of_random_triangles(first_faces, size):
    random = np.random.default_rng(size)
    middles = random.uniform(-1000, 1000, (2000, 1, 3))
    triangles = middles + random.normal(scale=size, size=(2000, 3, 3))
    towards = random.integers(0, 2000, 1500)
    origins, _ = random_rays(random, 1500, -1000, 1000)
    directions = (
        triangles[towards].mean(axis=1) + random.normal(scale=size, size=(1500, 3)) - origins
    )
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    check_against_trimesh(first_faces, triangles, origins, directions)


def test_built_rig_of_every_kind_of_part(first_faces, rig_of, screen_at):
    hole = {"shape": "circle", "at": [40, 10], "diameter": 60}
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 400}
    board = {"name": "board", "size": [300, 18, 60], "centre": [-50, 300, -100]}
    plate = {"name": "plate", "size": [400, 200], "thickness": 4, "centre": [0, 400, -200]}
    rig = rig_of(
        screen=[screen_at(bezel=15, lip=4, yaw=20, pitch=-10, roll=5)],
        lens=[lens | {"frame": {"width": 20, "depth": 30}}],
        board=[board | {"roll": 30, "yaw": -50}],
        plate=[plate | {"pitch": -20, "holes": [hole]}],
    )
    triangles = build(rig).triangles
    origins, directions = random_rays(
        np.random.default_rng(1), 4000, [-400, -300, -400], [400, 800, 400]
    )
    check_against_trimesh(first_faces, triangles, origins, directions)


def test_sample_rig(first_faces, sample):
    rig = read_rig(sample)
    triangles = build(rig).triangles
    random = np.random.default_rng(2)
    directions = random.normal(size=(1200, 3))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    origins = np.asarray(rig.pilot.eye_point) + random.uniform(-40, 40, (1200, 3))
    check_against_trimesh(first_faces, triangles, origins, directions)


def test_no_triangles_no_faces(first_faces):
    origins, directions = np.zeros((3, 3), np.float32), np.eye(3, dtype=np.float32)
    assert first_faces(np.empty((0, 3, 3)), origins, directions).tolist() == [-1, -1, -1]


def test_what_lies_behind_is_not_met(first_faces):
    triangle = np.array([[[-1, 1, -1], [1, 1, -1], [0, 1, 1]]], float)
    origins, directions = (
        np.zeros((2, 3), np.float32),
        np.array([[0, 1, 0], [0, -1, 0]], np.float32),
    )
    assert first_faces(triangle, origins, directions).tolist() == [0, -1]


def test_no_ray_slips_between_two_triangles(first_faces):
    square = np.array(
        [[[-1, 1, -1], [1, 1, -1], [1, 1, 1]], [[-1, 1, -1], [1, 1, 1], [-1, 1, 1]]], float
    )
    turned = square @ np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0] * 300
    along = np.linspace(0.01, 0.99, 5000)[:, None]
    diagonal = turned[0, 0] + along * (turned[0, 2] - turned[0, 0])
    directions = np.float32(diagonal / np.linalg.norm(diagonal, axis=1, keepdims=True))
    faces = first_faces(turned, np.zeros((5000, 3), np.float32), directions)
    assert (faces >= 0).all()


@pytest.mark.usefixtures("both_ways")
def test_a_stride_finds_the_same_surfaces(sample_rigs):
    assembly = build(read_rig(sample_rigs / "harbour_floatplane.toml"))
    up, right = (
        part.ravel()
        for part in np.meshgrid(np.linspace(-0.9, 0.4, 40), np.linspace(-1, 1, 400), indexing="ij")
    )
    directions = np.stack([np.sin(right), np.cos(right), up], axis=1).astype(np.float32)
    origins = np.tile(np.array([0, 0, 1150], np.float32), (len(up), 1))
    strider = Caster(assembly.triangles, assembly.flat_surfaces)
    surfaces = np.append(assembly.flat_surfaces, -1)
    every = surfaces[strider.first_faces(origins, directions)]
    assert len(np.unique(every)) > 50
    for stride in (2, 3, 7):
        strided = surfaces[strider.first_faces(origins, directions, stride)]
        assert (strided != every).mean() < 0.002


def test_a_rig_looks_and_measures_the_same_without_the_engine(sample, monkeypatch):
    if not caster.HAS_ENGINE:
        pytest.skip(NO_ENGINE)
    rig = read_rig(sample)
    eyes = eyes_of(rig, head_named(rig, "design"))
    projection = Projection("rectilinear", 480, 270, 120.0)

    def seen():
        assembly = build(rig)
        numbers = leaves(dataclasses.asdict(measure(assembly, eyes)))
        return see(assembly, eyes.left, projection), dict(numbers)

    view, numbers = seen()
    monkeypatch.setattr(caster, "HAS_ENGINE", False)
    searched_view, searched_numbers = seen()

    # the engine reckons in single precision, whose last digit is 3e-6 degrees of a direction, and
    # some 1e-4 mm of where an edge falls on an image
    assert searched_numbers.keys() == numbers.keys()
    assert len(numbers) > 50
    for lost, close in ((True, 1e-3), (False, 2e-5)):
        searched, cast = (
            {path: value for path, value in found.items() if ("/lost/" in path) == lost}
            for found in (searched_numbers, numbers)
        )
        assert searched == pytest.approx(cast, rel=0, abs=close, nan_ok=True)
    assert (searched_view.parts != view.parts).mean() < 2e-5


def leaves(value, path=""):
    """Yield each number within dictionaries, lists and tuples, with the way to it."""
    if isinstance(value, dict | list | tuple):
        pairs = value.items() if isinstance(value, dict) else enumerate(value)
        for key, part in pairs:
            yield from leaves(part, f"{path}/{key}")
    elif isinstance(value, int | float):
        yield path, value
