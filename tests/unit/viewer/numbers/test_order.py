"""Which of several parts is met first, on rigs whose truth can be drawn."""

import numpy as np
import pytest
import shapely
import trimesh

from seamsight.scene import build
from seamsight.scene.frames import rotation, transform
from seamsight.scene.polygons import region_about
from seamsight.viewer.numbers.obstacles import obstacles_of, shadows
from seamsight.viewer.numbers.order import first_met
from seamsight.viewer.numbers.ways import legs_to

EYE = np.zeros(3)
IMAGE = region_about((200, 150))


@pytest.fixture
def first_areas(rig_of, screen_at):
    """Return a function from tables to the area, mm², that each part hides first; and the doubt."""

    def find(folder=None, **tables):
        rig = rig_of(screen=[screen_at()], **tables)
        assembly = build(rig.read_from(folder / "rig.toml") if folder else rig)
        obstacles = obstacles_of(assembly)
        legs = legs_to(EYE, [], assembly.screens[0].rig_from_screen)
        assert legs
        met = first_met(obstacles, shadows(obstacles, legs[0], IMAGE))
        areas = {assembly.parts[one.part].name: one.region.area() for one in met}
        return areas, sum(one.unsure for one in met)

    return find


def board(name, size, centre, **keys):
    return {"name": name, "size": size, "centre": centre, **keys}


def test_the_nearer_of_two_boards_is_met_first(first_areas):
    areas, unsure = first_areas(
        board=[
            board("far", [100, 10, 20], [0, 405, 0]),  # on the image 150 x 30
            board("near", [20, 10, 100], [0, 305, 0]),  # 40 x 200
        ]
    )
    assert areas == {
        "near": pytest.approx(40 * 200),
        "far": pytest.approx((150 - 40) * 30),
    }
    assert unsure == 0


def test_of_three_in_a_row_the_last_is_met_beside_the_others(first_areas):
    areas, _ = first_areas(
        board=[
            board("last", [60, 1, 60], [0, 500.5, 0]),  # 72 x 72
            board("first", [10, 1, 10], [0, 200.5, 0]),  # 30 x 30
            board("middle", [20, 1, 20], [0, 300.5, 0]),  # 40 x 40
        ]
    )
    assert areas == {
        "first": pytest.approx(900),
        "middle": pytest.approx(1600 - 900),
        "last": pytest.approx(72**2 - 1600),
    }


def test_of_two_walls_that_cross_each_is_met_first_on_its_side(first_areas):
    # both stand upright and turned by 45 degrees, one to each side, through the same line
    walls = [
        board(name, [100, 0.01, 40], [0, 400, 0], yaw=yaw)
        for name, yaw in (("left near", 45), ("right near", -45))
    ]
    areas, unsure = first_areas(board=walls)
    # a wall from its near end to the middle: depths y from 400 - 100 / sqrt(8) on, x = 400 - y
    reach = 100 / np.sqrt(8)
    near = 400 - reach
    # height on the image 40 x 600 / y over the width from 0 to 600 reach / near
    slopes = np.linspace(0, reach / near, 100_001)
    depth = 400 / (1 + slopes)
    area = np.trapezoid(40 * 600 / depth, slopes) * 600
    # the far half of each shows above and below no nearer wall, but narrower: it is hidden whole
    assert areas == {
        "left near": pytest.approx(area, rel=1e-3),
        "right near": pytest.approx(area, rel=1e-3),
    }
    assert unsure == 0


@pytest.mark.parametrize("tilt", [{"pitch": 45}, {"yaw": 30, "pitch": -20}, {"pitch": 80}])
def test_of_a_post_through_a_wall_what_is_before_the_wall_is_met_first(first_areas, tilt):
    rod = board("rod", [10, 12, 300], [20, 400, 0], **tilt)
    wall = board("wall", [600, 2, 600], [0, 400, 0])
    areas, unsure = first_areas(board=[rod, wall])

    # the part of the rod before the wall's face, cut by another library, is convex
    pose = transform(rotation(*np.radians([tilt.get("yaw", 0), tilt["pitch"], 0])), [20, 400, 0])
    solid = trimesh.creation.box([10, 12, 300], pose)
    before = solid.slice_plane([0, 399, 0], [0, -1, 0]).vertices
    shown = shapely.MultiPoint(before[:, [0, 2]] / before[:, 1:2] * 600).convex_hull
    shown &= shapely.box(-200, -150, 200, 150)
    assert areas["rod"] == pytest.approx(shown.area, rel=1e-6)
    assert areas["rod"] + areas["wall"] == pytest.approx(400 * 300)
    assert unsure == 0


@pytest.mark.parametrize("turn", [0, 25])
def test_two_fine_meshes_that_reach_through_each_other_are_counted(first_areas, tmp_path, turn):
    ball = trimesh.creation.icosphere(3, 60)
    (tmp_path / "ball.stl").write_bytes(ball.export(file_type="stl"))
    balls = [
        {"name": name, "file": "ball.stl", "centre": [x, 400, 0], "roll": turn}
        for name, x in (("left", -20), ("right", 20))
    ]
    areas, unsure = first_areas(folder=tmp_path, mesh=balls)
    # by symmetry each is met first on its side
    assert areas["left"] == pytest.approx(areas["right"], abs=unsure)
    both = sum(areas.values())
    assert 0 < unsure < 0.03 * both
