"""Published body measures, where shoulders are, and which seat each pilot needs."""

import numpy as np
import pytest

from seamsight.scene.rig import Head, Pilot
from seamsight.viewer.studies.body import BODIES, EYES_OVER_SHOULDERS, seats, shoulders_of


def test_measures_are_the_published_ones():
    # ANSUR II (2012), column eyeheightsitting of the public files: p5, p50 women; p5, p50, p95 men
    assert [body.eye_height for body in BODIES] == [698, 748, 750, 804, 860]
    # British adults aged 19-65, "Online Anthropometry", dimensions 25 (shoulder-grip length) and
    # 18 (biacromial breadth)
    assert [body.arm for body in BODIES] == [555, 600, 610, 665, 715]
    assert [body.shoulders for body in BODIES] == [325, 355, 365, 400, 430]
    # NUREG-0700 rev. 3, Table 11.4, cm: eyes and shoulders over the seat, 5th woman, 95th man
    for eyes, shoulders in ((72.4, 50.9), (86.2, 64.6)):
        assert pytest.approx(10 * (eyes - shoulders), abs=2) == EYES_OVER_SHOULDERS


@pytest.mark.parametrize(("body", "measured", "sigma"), [(1, 747.7, 30.4), (3, 804.5, 33.2)])
def test_percentiles_lie_about_the_published_mean(body, measured, sigma):
    # ANSUR II means and standard deviations, women and men; 5th percentile: 1.645 sigma below
    assert BODIES[body].eye_height == pytest.approx(measured, abs=1)
    assert BODIES[body - 1].eye_height == pytest.approx(measured - 1.645 * sigma, abs=1)


def test_shoulders_move_with_the_head_but_do_not_turn():
    pilot = Pilot(eye_point=(10, 20, 1150), neck=90)
    head = Head(name="aside", offset=(-50, 30, 5), turn=40, nod=-20)
    left, right = shoulders_of(pilot, head, BODIES[0])
    assert left == pytest.approx([-40 - 162.5, -40, 940])
    assert right == pytest.approx([-40 + 162.5, -40, 940])


def test_seats():
    found = seats(Pilot(eye_point=(0, 0, 1150), seat=403))
    # 1150 less ANSUR II's seated eye heights
    assert [seat.surface for seat in found] == [452, 402, 400, 346, 290]
    assert [seat.higher for seat in found] == [49, -1, -3, -57, -113]
    assert np.all([seat.higher is None for seat in seats(Pilot(eye_point=(0, 0, 1150)))])
