"""Each number that cannot be told has its reason."""

import pytest

from seamsight.viewer.numbers.comfort import Comfort
from seamsight.viewer.numbers.reasons import Angles, reasons_from_before, reasons_from_behind

KNOWN: Angles = {"h": 40.0, "v": 30.0}
AT_EASE = Comfort(
    binocular={"vertical": 1.0, "vergence": 2.0},
    focus={"centre": 1.0, "tangential": 1.1, "sagittal": 0.9},
    swim=3.0,
)


def test_where_all_is_known_no_reason_is_given():
    assert reasons_from_before(KNOWN, KNOWN, AT_EASE) == {}


@pytest.mark.parametrize(
    ("span", "edges"),
    [
        ({"h": None, "v": 30.0}, "left and right edges"),
        ({"h": 40.0, "v": None}, "bottom and top edges"),
        ({"h": None, "v": None}, "left and right and bottom and top edges"),
    ],
)
def test_dark_edges_leave_no_angle_between_them(span, edges):
    reasons = reasons_from_before(span, KNOWN, AT_EASE)
    assert reasons.keys() == {"span", "frustum", "angular"}
    assert all(f"the middle of the image's {edges} passes" in words for words in reasons.values())


def test_what_two_eyes_do_not_see_is_told_by_name():
    blind = Comfort(focus={"centre": None, "tangential": None, "sagittal": None})
    reasons = reasons_from_before(KNOWN, {"h": None, "v": 1.0}, blind)
    assert reasons.keys() == {"arcmin_per_px", "focus", "binocular", "swim"}
    assert "the image's middle" in reasons["focus"]


def test_from_behind_one_reason_holds_for_all(rig_of, screen_at, numbers_of):
    reasons = reasons_from_behind()
    assert len(set(reasons.values())) == 1
    screen = numbers_of(rig_of(screen=[screen_at()]), offset=[0, 700, 0]).screens["screen"]
    known = screen.as_json()
    assert screen.reasons == reasons
    assert all(known[name] is None for name in reasons)
