"""Tipping, against the moments of a block and a table worked out by hand."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.tipping import GRAVITY, tipping

BLOCK = {"name": "block", "size": [400, 200, 1000], "centre": [0, 900, 500]}


def of(rig, mass, centre):
    return tipping(cut_pieces(build(rig)), mass, np.array(centre))


def test_a_block_tips_about_its_edge(rig_of):
    # F h = m g b / 2
    found = of(rig_of(board=[BLOCK]), 10, [0, 900, 500])
    sideways, to_and_fro = 10 * GRAVITY * 200 / 1000, 10 * GRAVITY * 100 / 1000
    assert found.height == 1000
    assert found.pushes == pytest.approx(
        {
            "towards the pilot": to_and_fro,
            "away from the pilot": to_and_fro,
            "to the left": sideways,
            "to the right": sideways,
        }
    )
    assert found.front_edge is None
    assert found.should_stand == pytest.approx(0.2 * 10 * GRAVITY)
    assert not found.is_stable  # half of that to and fro


def test_a_turned_block_tips_about_its_edges_too(rig_of):
    # pushed along a diagonal of its base, an edge that faces the push at an angle a needs 1 / cos a
    found = of(rig_of(board=[BLOCK | {"size": [300, 300, 1000], "yaw": 45}]), 10, [0, 900, 500])
    assert found.pushes["to the left"] == pytest.approx(10 * GRAVITY * 150 / 1000 * 2**0.5)


def test_a_table_top_that_juts_out_tips_when_leant_on(rig_of):
    top = {"name": "top", "size": [400, 600, 20], "centre": [0, 700, 1010]}
    found = of(rig_of(board=[BLOCK, top]), 10, [0, 900, 500])
    # the base ends at 800, the top at 400: F 400 = m g 100
    assert found.front_edge == pytest.approx(10 * GRAVITY * 100 / 400)


def test_what_is_not_above_its_base_falls_by_itself(rig_of):
    found = of(rig_of(board=[BLOCK]), 10, [0, 700, 500])
    assert set(found.pushes.values()) == {0}
    assert found.front_edge == 0


def test_what_stands_on_one_corner_falls(rig_of):
    found = of(rig_of(board=[BLOCK | {"pitch": 20, "roll": 20}]), 10, [0, 900, 500])
    assert min(found.pushes.values()) == 0


def test_a_heavy_rig_should_stand_no_more_than_the_limit(rig_of):
    assert of(rig_of(board=[BLOCK]), 1000, [0, 900, 500]).should_stand == 250
