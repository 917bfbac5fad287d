"""What is counted by rays, held to the exact areas where these exist too."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.polygons import region_about
from seamsight.viewer.numbers.areas import eye_areas
from seamsight.viewer.numbers.counted import counted_through

EYE = np.array([-20.0, 0.0, 15.0])


@pytest.fixture
def placed(rig_of, screen_at):
    def make(board=(), **lens):
        optic = {"screen": "screen", "focal_length": 450, "distance": 150} | lens
        return build(rig_of(screen=[screen_at()], lens=[optic], board=list(board)))

    return make


def counted(assembly, eye=EYE, half=(200, 150)):
    screen = assembly.screens[0]
    return counted_through(assembly, screen, eye, screen.lens, region_about(half))


def test_the_own_thin_lens_shows_what_its_exact_area_says(placed):
    assembly = placed(width=240, height=200)
    region, unsure = counted(assembly)
    exact = eye_areas(assembly, assembly.screens[0], EYE).through
    assert abs(region.area() - exact.area()) <= unsure
    assert region.area() == pytest.approx(exact.area(), rel=2e-3)
    # what is counted lies between rays' ends, so within what is seen
    assert (region - exact).area() < 1


def test_a_post_parts_what_is_counted_and_adds_doubt(placed):
    post = {"name": "post", "size": [20, 5, 900], "centre": [0, 300, 0]}
    bare, with_post = placed(width=240, height=200), placed([post], width=240, height=200)
    region, unsure = counted(with_post)
    exact = eye_areas(with_post, with_post.screens[0], EYE).through
    assert abs(region.area() - exact.area()) <= unsure
    assert unsure > counted(bare)[1]
    assert len(region.decompose()) == 2


def test_nothing_is_counted_outside_the_window(placed):
    assembly = placed(width=900, height=700)
    region, _ = counted(assembly, half=(50, 40))
    # in cells of the lens, whose rays end some millimetres apart
    assert region.area() == pytest.approx(100 * 80, rel=0.08)
    assert (region - region_about([50, 40])).is_empty()


def test_from_behind_a_wall_nothing_is_counted(placed):
    wall = {"name": "wall", "size": [3000, 10, 3000], "centre": [0, 200, 0]}
    region, unsure = counted(placed([wall], width=240, height=200))
    assert region.is_empty()
    assert unsure == 0
