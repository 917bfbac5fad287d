"""Which cautions a rig calls for."""

import pytest

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of, measure
from seamsight.viewer.numbers.cautions import (
    ESCAPE,
    EYES,
    HEAT,
    HEAVY,
    OPENED,
    SICKNESS,
    SUN,
    WORKSHOP,
    cautions,
)

BOARD = {"name": "board", "size": [100, 10, 60], "centre": [50, 900, 0]}
LENS = {"screen": "screen", "focal_length": 450, "distance": 100, "width": 500, "height": 400}
HOUSED = {"bezel": 12}  # an opened monitor has no bezel


def cautions_of(rig, *, lenses=True, **head):
    assembly = build(rig, lenses=lenses)
    return cautions(assembly, measure(assembly, eyes_of(rig, Head(name="here", **head))))


@pytest.mark.parametrize(
    ("tables", "called_for"),
    [
        ({}, []),
        ({"board": [BOARD]}, [HEAVY, WORKSHOP, ESCAPE]),
        ({"screen": [HOUSED]}, [HEAVY, HEAT]),
        ({"screen": [{}]}, [OPENED, HEAVY, HEAT]),
        ({"screen": [HOUSED], "lens": [LENS]}, [SUN, HEAVY, HEAT, EYES]),
        ({"screen": [HOUSED | {"width": 800}]}, [HEAVY, HEAT, SICKNESS]),
    ],
)
def test_a_rig_calls_for_its_cautions_in_their_order(rig_of, screen_at, tables, called_for):
    screens = [screen_at(**keys) for keys in tables.get("screen", [])]
    assert cautions_of(rig_of(**tables | {"screen": screens})) == called_for


@pytest.mark.parametrize(("far", "apart"), [(1100, True), (700, False)])
def test_images_at_different_distances_tire_the_eyes(rig_of, screen_at, far, apart):
    # 1000 / 600 - 1000 / 1100 = 0.76 dioptres, 1000 / 600 - 1000 / 700 = 0.24; each seen slightly
    # aslant
    near = screen_at("near", width=100, height=80, centre=[-110, 600, 0])
    other = screen_at("other", width=100, height=80, centre=[110, far, 0])
    assert (EYES in cautions_of(rig_of(screen=[near, other]))) is apart


def test_lenses_left_out_of_the_picture_still_catch_the_sun(rig_of, screen_at):
    rig = rig_of(screen=[screen_at(**HOUSED)], lens=[LENS])
    assert cautions_of(rig, lenses=False) == [SUN, HEAVY, HEAT]


def test_images_that_cannot_be_seen_from_here_tire_nobody(rig_of, screen_at):
    assert cautions_of(rig_of(screen=[screen_at(**HOUSED)]), offset=[0, 2000, 0]) == [HEAVY, HEAT]


@pytest.mark.parametrize("caution", [SUN, OPENED, HEAVY, HEAT, WORKSHOP, ESCAPE, EYES, SICKNESS])
def test_each_caution_has_a_short_form_that_fits_a_line(caution):
    assert len(caution.short) <= 78
    assert len(caution.short) < len(caution.full)
