"""Slots and notches, by volumes worked out on paper."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.notches import tools_of
from seamsight.scene.shapes import volume

SHELF = {"name": "shelf", "size": [600, 300, 18], "centre": [0, 700, 900]}
# 12 wide, through the shelf, and 40 of it beyond the near edge
RIB = {
    "name": "rib",
    "in": "shelf",
    "notch": 0.3,
    "size": [12, 140, 200],
    "centre": [100, 580, 950],
}


def filled(rig, name):
    return volume(next(part for part in build(rig).parts if part.name == name).triangles)


def test_a_notch_is_as_much_larger_as_it_says(rig_of):
    rig = rig_of(board=[SHELF, RIB])
    assert filled(rig, "shelf") == pytest.approx(600 * 300 * 18 - 12.6 * 100.3 * 18)
    assert filled(rig, "rib") == pytest.approx(12 * 140 * 200)


def test_without_notch_nothing_is_cut(rig_of):
    rib = {key: value for key, value in RIB.items() if key != "notch"}
    rig = rig_of(board=[SHELF, rib])
    assert filled(rig, "shelf") == pytest.approx(600 * 300 * 18)
    assert tools_of(rig) == []


def test_a_notch_of_nothing_is_cut_too(rig_of):
    rig = rig_of(board=[SHELF, RIB | {"notch": 0}])
    assert filled(rig, "shelf") == pytest.approx(600 * 300 * 18 - 12 * 100 * 18)


def test_only_what_it_is_let_into_is_cut(rig_of):
    other = SHELF | {"name": "other"}
    rig = rig_of(board=[SHELF, other, RIB])
    assert filled(rig, "other") == pytest.approx(600 * 300 * 18)


def test_a_plate_is_let_into_the_boards_of_a_row(rig_of):
    bank = {
        "name": "row",
        "count": 1,
        "radius": 600,
        "screen": {"width": 400, "height": 300, "pixels": [800, 600]},
        "lens": {"focal_length": 450, "distance": 150, "width": 420, "height": 320},
        "carcass": {"thickness": 12},
    }
    plate = {
        "name": "divider",
        "in": "row",
        "notch": 0.5,
        "size": [100, 330],
        "thickness": 3,
        "centre": [0, 650, 0],
    }
    found = build(rig_of(bank=[bank], plate=[plate]))
    bare = build(rig_of(bank=[bank]))
    # 5 into each board of 320 between, and its play
    top = next(part for part in found.parts if part.name == "row.1 carcass top")
    before = next(part for part in bare.parts if part.name == "row.1 carcass top")
    lost = volume(before.triangles) - volume(top.triangles)
    assert lost == pytest.approx(101 * 4 * 5.5)


def test_mirror_images_cut_theirs(rig_of):
    left = SHELF | {"name": "left", "mirror": "right", "size": [200, 300, 18]}
    left["centre"] = [-300, 700, 900]
    rib = RIB | {"in": "left", "mirror": "other rib", "centre": [-300, 580, 950]}
    rig = rig_of(board=[left, rib])
    assert filled(rig, "right") == pytest.approx(filled(rig, "left"))
    assert np.isclose(filled(rig, "left"), 200 * 300 * 18 - 12.6 * 100.3 * 18)


def test_nothing_is_let_into_itself(rig_of):
    assert filled(rig_of(board=[SHELF | {"in": "shelf", "notch": 1}]), "shelf") == pytest.approx(
        600 * 300 * 18
    )
