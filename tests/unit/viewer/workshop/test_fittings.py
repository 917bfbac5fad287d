"""Screens and lenses on boards, and holes to screw screens to, at places worked out by hand."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.fittings import marks, screw_holes

# its housing reaches from 600 back to 640
SCREEN = {
    "name": "s",
    "width": 400,
    "height": 300,
    "pixels": [800, 600],
    "bezel": 10,
    "mounting": "100x100",
    "centre": [50, 600, 20],
}


def plate(away, **keys):
    table = {"name": "back", "size": [500, 400], "thickness": 12, "centre": [0, away, 0]}
    return table | {"material": "plywood"} | keys


@pytest.fixture
def fitted(rig_of):
    def on(**tables):
        assembly = build(rig_of(**tables))
        [piece] = cut_pieces(assembly)
        return assembly, piece

    return on


def test_holes_are_behind_the_screen(fitted):
    holes = list(screw_holes(*fitted(screen=[SCREEN], plate=[plate(647)])))
    middles = {(round(hole.circle.centre[0], 6), round(hole.circle.centre[1], 6)) for hole in holes}
    assert middles == {(0, -30), (100, -30), (100, 70), (0, 70)}
    assert {(hole.circle.radius, hole.screw) for hole in holes} == {(2.25, "M4")}


@pytest.mark.parametrize(
    "other", [plate(660), plate(647, yaw=3), plate(580), plate(647, centre=[900, 647, 0])]
)
def test_no_holes_in_a_plate_that_does_not_carry_it(fitted, other):
    assert not list(screw_holes(*fitted(screen=[SCREEN], plate=[other])))


def test_the_housing_and_the_image_meet_a_plate_before_them(fitted):
    found = {
        mark.name: mark.outline for mark in marks(*fitted(screen=[SCREEN], plate=[plate(590)]))
    }
    assert found.keys() == {"s", "image of s"}
    image = found["image of s"]
    assert image.min(axis=0) == pytest.approx([-150, -130], abs=1e-6)
    assert image.max(axis=0) == pytest.approx([250, 170], abs=1e-6)
    # the housing, 420 wide, is clipped to the plate
    assert np.ptp(found["s"], axis=0) == pytest.approx([410, 320], abs=1e-6)


def test_what_is_far_away_does_not_meet_it(fitted):
    assert not list(marks(*fitted(screen=[SCREEN], plate=[plate(560)])))


def test_a_lens_meets_a_board_above_it(fitted):
    lens = {"screen": "s", "focal_length": 450, "distance": 150, "width": 420, "height": 320}
    board = {"name": "top", "size": [500, 100, 18], "centre": [50, 450, 20 + 160 + 9]}
    found = {
        mark.name: mark.outline
        for mark in marks(*fitted(screen=[SCREEN], lens=[lens], board=[board]))
    }
    # the lens is at 600 - 150 = 450, 2 thick
    assert found["s lens"].min(axis=0) == pytest.approx([-210, 0], abs=1e-6)
    assert found["s lens"].max(axis=0) == pytest.approx([210, 2], abs=1e-6)
