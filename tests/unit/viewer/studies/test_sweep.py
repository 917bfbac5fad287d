"""Shares counted by rays for many eyes, held to the exact areas."""

import numpy as np
import pytest

from seamsight.scene import build, read_rig
from seamsight.viewer.numbers.areas import seen_places
from seamsight.viewer.studies.sweep import seen_shares


@pytest.mark.parametrize("name", ["harbour_floatplane", "three_bare_screens", "desk_lens"])
def test_within_two_thousandths_of_the_exact_areas(sample_rigs, name):
    assembly = build(read_rig(sample_rigs / f"{name}.toml"))
    rng = np.random.default_rng(6)
    count = 2 if name == "desk_lens" else 25
    eyes = assembly.rig.pilot.eye_point + rng.uniform(-1, 1, (count, 3)) * [120, 120, 80]
    shares = seen_shares(assembly, eyes)
    for row, eye in enumerate(eyes):
        for column, screen in enumerate(assembly.outside_screens):
            exact = seen_places(assembly, screen, eye).area() / np.prod(screen.size)
            assert shares[row, column] == pytest.approx(exact, abs=2e-3)


def test_past_a_small_lens_counts_too(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 200, "height": 150}
    assembly = build(rig_of(screen=[screen_at(shows="world")], lens=[lens]))
    eyes = np.zeros((1, 3))
    exact = seen_places(assembly, assembly.screens[0], eyes[0]).area() / (400 * 300)
    assert exact > 0.5
    assert seen_shares(assembly, eyes)[0, 0] == pytest.approx(exact, abs=2e-3)


def test_nothing_is_seen_from_inside_a_part_or_from_behind(rig_of, screen_at):
    box = {"name": "box", "size": [50, 50, 50], "centre": [0, 0, 0]}
    assembly = build(rig_of(screen=[screen_at(shows="world")], board=[box]))
    eyes = np.array([(0.0, 0, 0), (0, 900, 0), (0, -200, 100)])
    shares = seen_shares(assembly, eyes)[:, 0]
    assert shares[:2].tolist() == [0, 0]
    assert shares[2] > 0.5


def test_no_eyes_and_no_outside_view(rig_of, screen_at):
    assembly = build(rig_of(screen=[screen_at()]))
    assert seen_shares(assembly, np.zeros((3, 3))).shape == (3, 0)
    assembly = build(rig_of(screen=[screen_at(shows="world")]))
    assert seen_shares(assembly, np.zeros((0, 3))).shape == (0, 1)
