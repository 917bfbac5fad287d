"""Rigs that few would build, but that must end in true numbers all the same."""

import json
import math

import numpy as np
import pytest

from seamsight.scene import OutputError, RigError, build, read_rig
from seamsight.scene.export import exported
from seamsight.scene.frames import rotation
from seamsight.viewer import Projection

GROOVED = {"screen": "screen", "distance": 100, "width": 560, "height": 400, "model": "grooved"}


@pytest.mark.parametrize("conjugates", ["rig", "infinity"])
@pytest.mark.parametrize("focal_length", [110, 200])
@pytest.mark.parametrize("sideways", [0, 400])
def test_lenses_that_shut_still_give_numbers(
    rig_of, screen_at, numbers_of, focal_length, conjugates, sideways
):
    lens = GROOVED | {"focal_length": focal_length, "conjugates": conjugates}
    rig = rig_of(screen=[screen_at(width=500, centre=[0, 400, 0])], lens=[lens])
    whole = numbers_of(rig, offset=[sideways, 0, 0]).as_json()
    assert "NaN" not in json.dumps(whole, allow_nan=False)
    assert whole["screens"]["screen"]["span"]["h"] > 0


def test_what_another_s_lens_hides_is_not_hidden_by_itself(rig_of, screen_at, numbers_of):
    near = screen_at("near", width=50, height=50, centre=[0, 320, 0])
    lens = {"screen": "near", "focal_length": 450, "distance": 20, "width": 200, "height": 900}
    hidden = numbers_of(rig_of(screen=[near, screen_at("far")], lens=[lens])).hidden_by["far"]
    assert "far" not in hidden
    assert "near lens" in hidden


def test_no_lip_stands_where_there_is_no_bezel(rig_of, screen_at, numbers_of):
    screen = screen_at(bezel={"right": 20, "top": 20, "bottom": 20}, lip=20)
    seen = numbers_of(rig_of(screen=[screen]), offset=[-500, 0, 0]).screens["screen"]
    assert seen.margin["left"]["mid"] == 0
    assert seen.seen["both"] == pytest.approx(1, abs=1e-6)


@pytest.mark.parametrize("elevation", [-30, 20, 45])
def test_a_pitched_picture_s_scale_tells_true_azimuths(elevation):
    picture = Projection("rectilinear", 600, 400, 60.0, azimuth=10.0, elevation=elevation)
    x, y = picture.columns()[-1]
    right, forward, _ = rotation(math.radians(10), math.radians(elevation), 0) @ np.array(
        [x, y, 0.0]
    )
    assert picture.azimuth_at(599) == pytest.approx(math.degrees(math.atan2(right, forward)))
    assert picture.column_at(picture.azimuth_at(599)) == pytest.approx(599)


def test_too_many_tables_are_one_problem(write_rig):
    text = "".join(
        f'[[screen]]\nname = "s{n}"\nwidth = 9\nheight = 9\npixels = [9, 9]\ncentre = [{20 * n}, 900, 0]\n'
        for n in range(65)
    )
    with pytest.raises(RigError, match="screen must have at most 64 items"):
        read_rig(write_rig(text))


@pytest.mark.parametrize("kind", ["glb", "obj", "stl"])
def test_an_empty_rig_is_not_exported(rig_of, kind):
    with pytest.raises(OutputError, match="nothing"):
        exported(build(rig_of()), kind)


def test_a_gap_needs_touching_units(problems_of):
    screen = "screen = { width = 9, height = 9, pixels = [9, 9] }"
    (told,) = problems_of(
        f'[[bank]]\nname = "b"\ncount = 2\nradius = 600\ntoe = 40\ngap = 3\n{screen}\n'
    )
    assert 'gap goes with toe = "touch"' in told


def test_a_ring_of_screens_has_as_many_seams_as_screens(rig_of, numbers_of):
    screen = {"width": 400, "height": 300, "pixels": [800, 600]}
    ring = {"name": "ring", "count": 12, "radius": 1000, "toe": 30, "screen": screen}
    arc = ring | {"count": 6}
    assert [len(numbers_of(rig_of(bank=[bank])).seams) for bank in (ring, arc)] == [12, 5]


def test_a_gap_wider_than_the_arc_is_refused(problems_of):
    screen = "screen = { width = 9, height = 9, pixels = [9, 9] }"
    (told,) = problems_of(f'[[bank]]\nname = "b"\ncount = 2\nradius = 600\ngap = 5000\n{screen}\n')
    assert "gap must be below twice the radius, 1200 (got 5000)" in told
