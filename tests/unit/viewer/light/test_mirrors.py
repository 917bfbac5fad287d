"""What flat mirrors send on, and how much of the light."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.light.mirrors import COATED, mirrors_of, reflections

LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 400}


@pytest.fixture
def rig(rig_of, screen_at):
    return rig_of(screen=[screen_at()], lens=[LENS])


def test_a_lens_and_the_screen_behind_it_both_mirror(rig):
    assert [mirror.name for mirror in mirrors_of(build(rig))] == ["screen lens", "screen"]


def test_matt_screens_do_not_and_coated_ones_little(rig_of, screen_at):
    matt = rig_of(screen=[screen_at(surface="matt")])
    assert mirrors_of(build(matt)) == []
    glossy, coated = (
        mirrors_of(build(rig_of(screen=[screen_at(surface=surface)])))[0]
        for surface in ("glossy", "coated")
    )
    share = glossy.reflectance(np.ones(1))
    assert share == pytest.approx((0.52 / 2.52) ** 2)
    assert coated.reflectance(np.ones(1)) == pytest.approx(share * COATED)


def test_a_sheet_mirrors_what_does_not_pass_it(rig):
    # T of an acrylic sheet with all bounces at n = 1.49, computed apart with transfer matrices
    lens = mirrors_of(build(rig))[0]
    for degrees, passes in ((0, 0.925437), (45, 0.909750), (70, 0.730807), (85, 0.247639)):
        share = lens.reflectance(np.cos(np.radians([degrees])))
        assert share == pytest.approx(1 - passes, abs=2e-3)  # our index is 1.4915


def test_the_angle_of_reflection_is_that_of_incidence(rig):
    assembly = build(rig)
    lens, _ = mirrors_of(assembly)
    found = reflections(assembly, lens, np.array([30.0, 0, 0]), np.array([[100.0, -50.0]]))
    # the lens plane is 450 away: the ray comes back with its forward part turned round
    onto = np.array([70.0, 450, -50]) / np.linalg.norm([70, 450, -50])
    assert found.seen.all()
    assert found.origins == pytest.approx(np.array([[100.0, 450, -50]]))
    assert found.onward == pytest.approx((onto * [1, -1, 1])[None])


def test_behind_a_lens_a_screen_sends_light_back_out_of_it(rig_of, screen_at):
    # by hand: to the image's middle along the axis, and back along it into the lamp at the eye
    lamp = {"name": "lamp", "centre": [0, -80, 0], "yaw": 180, "size": [40, 40], "luminance": 900}
    assembly = build(rig_of(screen=[screen_at()], lens=[LENS], lamp=[lamp]))
    screen = mirrors_of(assembly)[1]
    found = reflections(assembly, screen, np.zeros(3), np.array([[0.0, 0.0], [190.0, 0.0]]))
    assert found.seen.all()
    assert assembly.parts[found.parts[0]].name == "lamp"
    assert found.parts[1] < 0
