"""How often builds go wrong, why, and what would do."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.rig import Head
from seamsight.viewer.studies.tolerance import LARGEST_FACTOR, Study
from seamsight.viewer.studies.tolerance_errors import GROUPS

NAMES = [group.name for group in GROUPS]
EXACT = {"position": 0, "angle": 0, "focal_length": 0, "lens_size": 0, "toe": 0}


@pytest.fixture(scope="module")
def chances_of(rig_of, screen_at):
    """Return a function from tolerances to what goes wrong with two bare screens, by its key."""

    def chances(builds=256, wanted=0.9, apart=40, **tolerance):
        screens = [
            screen_at(name, centre=[x, 600, 0], shows="world")
            for name, x in (("left", -200 - apart / 2), ("right", 200 + apart / 2))
        ]
        rig = rig_of(screen=screens, tolerance=tolerance)
        study = Study(build(rig), Head(name="design"), builds, wanted)
        done: list[int] = []
        found = study.chances(done.append)
        assert done == sorted(done)
        assert done[-1] <= study.work
        return {chance.fault.key: chance for chance in found}

    return chances


def test_exact_builds_are_as_designed(chances_of):
    found = chances_of(builds=64, **EXACT)
    assert list(found) == ["shown", "shown_more", "lost", "lost_more", "breaks_1", "breaks_5"]
    shown = found.pop("shown")
    assert (shown.chance, shown.factor) == (1.0, None)
    assert shown.design == pytest.approx(np.degrees(np.arctan(40 / 600)), abs=0.05)
    assert {chance.chance for chance in found.values()} == {0.0}
    assert {chance.factor for chance in found.values()} == {LARGEST_FACTOR}
    assert {share.total for share in shown.matters.values()} == {0.0}


def test_the_same_every_time(chances_of):
    assert chances_of(builds=64, position=1.0) == chances_of(builds=64, position=1.0)


def test_what_the_rig_as_designed_is_free_of_counts_at_all(chances_of):
    found = chances_of(builds=64, apart=0, **EXACT | {"position": 1.0})
    assert 0.3 < found["shown"].chance < 0.8
    assert 0 < found["shown"].factor < 1
    assert (found["shown_more"].chance, found["shown_more"].single) == (0.0, None)


def test_where_no_tolerance_alone_will_do_the_others_are_told(chances_of):
    # angles alone: what is left is more than enough to break lines
    found = chances_of(builds=64, position=1.0, angle=0.25)["breaks_1"]
    assert found.single is None
    assert found.factor < found.rest < 1


def test_the_tolerance_found_is_the_one_at_which_enough_builds_are_right(chances_of):
    # A line breaks by |z1 - z2| / 600, with z uniform in ± t: a triangle, of which 0.9 lie within
    # 2 t (1 - sqrt(0.1)). 5′ are 0.873 mm there, so that t is 0.638 mm.
    found = chances_of(builds=1024, **EXACT | {"position": 1.0})["breaks_5"]
    right = np.tan(np.radians(5 / 60)) * 600 / (2 * (1 - np.sqrt(0.1)))
    assert found.factor == pytest.approx(right, rel=0.04)
    assert found.single == (NAMES.index("screen positions"), pytest.approx(right, rel=0.04))
    assert found.chance == pytest.approx((1 - 0.8727 / 2) ** 2, abs=0.02)
    assert found.worst == ("left | right", found.chance, None)
    # nothing else is off
    assert found.matters[NAMES.index("screen positions")].total == pytest.approx(1, abs=0.05)


def test_larger_tolerances_are_told_where_builds_are_right(chances_of):
    fine = chances_of(builds=512, **EXACT | {"position": 0.3})["breaks_5"]
    assert fine.factor == pytest.approx(0.638 / 0.3, rel=0.08)
    assert fine.single is None


def test_wanting_more_asks_for_smaller_tolerances(chances_of):
    factors = [
        chances_of(builds=64, wanted=wanted, **EXACT | {"position": 1.0})["breaks_5"].factor
        for wanted in (0.5, 0.95)
    ]
    assert factors[0] > 1.2 * factors[1]


def test_one_screen_has_no_seam(rig_of, screen_at):
    rig = rig_of(screen=[screen_at(shows="world")])
    study = Study(build(rig), Head(name="design"), 64, 0.9)
    assert [chance.fault.key for chance in study.chances(lambda done: None)] == [
        "lost",
        "lost_more",
    ]
