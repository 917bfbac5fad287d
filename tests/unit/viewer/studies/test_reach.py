"""Which targets there are, how far they are, and who reaches them."""

import numpy as np
import pytest
import trimesh

from seamsight.scene import build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.reach import nearest_point, reaches

HOLE = {"shape": "circle", "at": [30, -20], "diameter": 12}


def found_in(rig, head="design"):
    return {one.target.name: one for one in reaches(build(rig), eyes_of(rig, rig.heads()[head]))}


def mark(*at):
    return [{"name": "knob", "at": list(at), "want": [0, 0, 0]}]


# the right shoulder of a 5th percentile woman is at (162.5, -100, -215), her arm 555 long
@pytest.mark.parametrize(
    ("at", "distance", "reached"),
    [
        ((162.5, 455, -215), 555, True),
        ((162.5, 455.1, -215), 555.1, False),
        ((162.5 + 333, -100 + 444, -215), 555, True),
        ((162.5, -100, 285), 500, True),
    ],
)
def test_distance_to_a_mark(rig_of, at, distance, reached):
    one = found_in(rig_of(mark=mark(*at)))["knob"]
    assert (one.hand, one.reached) == ("right", reached)
    assert one.distance == pytest.approx(distance)
    assert one.spare["5th percentile woman"] == pytest.approx(555 - distance, abs=1e-9)
    assert one.at == pytest.approx(at)


def test_each_pilot_has_shoulders_of_his_own(rig_of):
    one = found_in(rig_of(mark=mark(0, 400, -215)))["knob"]
    # arm less sqrt(500² + (breadth / 2)²)
    assert one.spare == pytest.approx(
        {
            "5th percentile woman": 555 - np.hypot(500, 162.5),
            "median woman": 600 - np.hypot(500, 177.5),
            "5th percentile man": 610 - np.hypot(500, 182.5),
            "median man": 665 - np.hypot(500, 200),
            "95th percentile man": 715 - np.hypot(500, 215),
        }
    )


def test_the_left_hand_takes_what_is_to_the_left_and_leaning_helps(rig_of):
    rig = rig_of(
        mark=mark(-200, 500, -215), head=[{"name": "leaning", "offset": [0, 80, 0], "turn": 30}]
    )
    one, leaning = found_in(rig)["knob"], found_in(rig, "leaning")["knob"]
    assert one.hand == leaning.hand == "left"
    assert one.distance == pytest.approx(np.hypot(600, 37.5))
    assert leaning.distance == pytest.approx(np.hypot(520, 37.5))


def test_holes_without_a_screen_are_touched(rig_of, screen_at):
    plate = {"name": "panel", "size": [300, 200], "thickness": 4, "centre": [0, 500, -200]}
    holes = [
        HOLE | {"name": "switch"},
        {"shape": "rect", "at": [-80, 0], "size": [80, 60], "name": "gauge"},
    ]
    screen = screen_at(width=120, height=90, centre=[-80, 520, -200])
    found = found_in(rig_of(plate=[plate | {"holes": holes}], screen=[screen]))
    assert list(found) == ["panel: switch"]
    # its middle at the plate's front
    assert found["panel: switch"].at == pytest.approx((30, 498, -220))


def test_meshes_are_touched_but_no_seat(sample_rigs):
    from seamsight.scene import read_rig

    found = found_in(read_rig(sample_rigs / "two_seats.toml"))
    meshes = [name for name, one in found.items() if one.target.kind == "mesh"]
    assert meshes == ["left control wheel", "right control wheel", "throttle quadrant"]


def test_nearest_point_is_that_of_another_program():
    # trimesh's closest point on a mesh, outside and inside of it
    mesh = trimesh.creation.icosphere(2, 100.0)
    mesh.apply_scale([1, 2, 0.4])
    for point in np.random.default_rng(4).uniform(-250, 250, (40, 3)):
        [expected], [away], _ = trimesh.proximity.closest_point_naive(mesh, point[None])
        got = nearest_point(np.asarray(mesh.triangles), point)
        assert np.linalg.norm(got - point) == pytest.approx(away, abs=1e-9)
        assert got == pytest.approx(expected, abs=1e-6)


def test_nearest_point_of_triangles_without_area():
    line = np.array([[[0.0, 0, 0], [10, 0, 0], [4, 0, 0]]])
    assert nearest_point(line, np.array([3.0, 5, 0])) == pytest.approx([3, 0, 0])
    assert nearest_point(line, np.array([30.0, 5, 0])) == pytest.approx([10, 0, 0])
