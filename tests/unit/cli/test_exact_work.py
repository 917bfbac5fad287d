"""What `exact` says: limits as one would write them, and what would do, as a sentence."""

import dataclasses

import numpy as np
import pytest

from seamsight.cli.exact_work import answer, measured, of_ten
from seamsight.scene.tolerance import Tolerance
from seamsight.viewer.studies.tolerance import FAULTS, Chance, Worst
from seamsight.viewer.studies.tolerance_draws import Share
from seamsight.viewer.studies.tolerance_errors import GROUPS, limits_of

LIMITS = limits_of(Tolerance())
NAMES = [group.name for group in GROUPS]
BOARDS, FOCAL = NAMES.index("board positions"), NAMES.index("focal length")
BY_KEY = {fault.key: fault for fault in FAULTS}
CHANCE = Chance(
    fault=BY_KEY["shown"],
    design=0.0,
    chance=0.25,
    worst=Worst("a | b", 0.2, "a bezel"),
    matters={BOARDS: Share(0.9, 0.8, 1.0), FOCAL: Share(0.1, 0.0, 0.2)},
    factor=0.5,
)


@pytest.mark.parametrize(
    ("name", "value", "told"),
    [
        ("board positions", 1.0, "1 mm"),
        ("board positions", 1.5999, "1.5 mm"),
        ("board positions", 0.0789, "0.078 mm"),
        ("screen angles", 0.29, "0.29°"),
        ("focal length", 18.9, "18 %"),
        ("lens size", 0.0, "0 mm"),
    ],
)
def test_limits_have_two_digits_and_are_never_rounded_up(name, value, told):
    assert measured(NAMES.index(name), value) == told


def test_shares_are_told_as_a_person_would():
    assert [of_ten(share) for share in (0.9, 0.5, 0.95, 0.999)] == [
        *("9 of 10", "5 of 10", "95 of 100", "99.9 %")
    ]


def _told(**changes):
    chance = dataclasses.replace(CHANCE, **changes)
    assert chance.factor is not None
    return answer(chance, chance.factor, 0.9, np.asarray(LIMITS))


def test_one_tolerance_that_would_do_is_told():
    assert _told(single=(BOARDS, 0.5)) == (
        "Place the boards to ±0.5 mm, and in 9 of 10 builds no bezel, bracket or gap shows between "
        "images."
    )


def test_where_one_alone_will_not_do_all_are_told():
    assert _told(factor=0.25, rest=0.8) == (
        "Most is due to board positions, but not all. Build everything 4.0 times as exactly, or "
        "make board positions perfect and all else 1.2 times as exact, and in 9 of 10 builds no "
        "bezel, bracket or gap shows between images."
    )


def test_what_is_enough_is_told():
    assert _told(factor=1.5, chance=0.04).startswith("In 96 of 100 builds no bezel")
    assert _told(factor=8.0, chance=0.0).endswith("between images: exact enough.")
    assert _told(factor=8.0, chance=0.0).startswith("In all builds")


def test_what_can_hardly_be_is_told():
    assert _told(factor=0.0).startswith("Build with hardly any error, and in 9 of 10 builds")
    assert _told(factor=0.05, fault=BY_KEY["breaks_1"]) == (
        "Build everything 20 times as exactly, and in 9 of 10 builds no straight line breaks at a "
        "seam by over 1′."
    )
