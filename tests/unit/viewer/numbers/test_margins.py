"""How far past its edges an image's plane is seen: closed forms, and many eyes at once."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamsight.scene import build
from seamsight.viewer.numbers.margins import SIDES, in_front, margin, seen_ends

SIGNS = {"left": (0, -1), "right": (0, 1), "bottom": (2, -1), "top": (2, 1)}
"""Axis of the rig, and the way along it."""

moderate = settings(max_examples=60)
distances = st.floats(200, 1500)
magnifications = st.floats(1.01, 5)
focal_lengths = st.floats(150, 2000)
places = st.tuples(st.floats(-150, 150), st.floats(-50, 50), st.floats(-150, 150))
apertures = st.floats(50, 900)
offsets = st.tuples(st.floats(-60, 60), st.floats(-60, 60))


def eye_points(mid):
    """Return where the eyes of a head that looks straight ahead are, 63 mm apart."""
    return {
        eye: np.add(mid, [x, 0, 0]) for eye, x in (("left", -31.5), ("right", 31.5), ("mid", 0))
    }


@moderate
@given(
    before=distances,
    f=focal_lengths,
    magnification=magnifications,
    mid=places,
    width=apertures,
    shift=offsets,
)
def test_margin_behind_a_lens(lensed, numbers_of, before, f, magnification, mid, width, shift):
    rig = lensed(before, f, magnification, width, 300, offset=list(shift))
    margin = numbers_of(rig, offset=list(mid)).screens["screen"].margin
    e, d = before - mid[1], f * (1 - 1 / magnification)
    for side, (axis, sign) in SIGNS.items():
        half, image, across = (width, 400, shift[0]) if axis == 0 else (300, 300, shift[1])
        for eye, place in eye_points(mid).items():
            x0, a = sign * (place[axis] - across), half / 2
            expected = sign * across + a + d * ((a - x0) / e - a / f) - image / 2
            assert margin[side][eye] == pytest.approx(expected, rel=1e-9, abs=1e-7)


@moderate
@given(lip=st.floats(0.1, 30), mid=places)
def test_margin_past_a_bezel_s_lip(rig_of, screen_at, numbers_of, lip, mid):
    rig = rig_of(screen=[screen_at(bezel=12, lip=lip)])
    margin = numbers_of(rig, offset=list(mid)).screens["screen"].margin
    for side, (axis, sign) in SIGNS.items():
        for eye, place in eye_points(mid).items():
            half = 200 if axis == 0 else 150
            expected = lip * (half - sign * place[axis]) / (600 - lip - mid[1])
            assert margin[side][eye] == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_no_lip_stands_where_there_is_no_bezel(rig_of, screen_at, numbers_of):
    screen = screen_at(bezel={"right": 20, "top": 20, "bottom": 20}, lip=20)
    seen = numbers_of(rig_of(screen=[screen]), offset=[-500, 0, 0]).screens["screen"]
    assert seen.margin["left"]["mid"] == 0
    assert seen.seen["both"] == pytest.approx(1, abs=1e-6)


def test_what_both_eyes_see_of_a_row_and_a_column_ends_at_the_image_or_where_the_lip_cuts_it_off(
    rig_of, screen_at
):
    # eyes 300 and 250 mm beyond the left edge, whose lip of 20 mm stands 580 mm ahead: past it,
    # the plane of the image begins 20 * 300 / 580 mm within for the one that is further out
    placed = build(rig_of(screen=[screen_at(bezel=12, lip=20)])).screens[0]
    ends = seen_ends(placed, np.array([[-450.0, 0, 0], [-500, 0, 0]]), ("top", "left", "right"))
    assert ends == pytest.approx(np.array([[0, 150], [20 * 300 / 580 - 200, 0], [200, 0]]))


def test_the_ends_of_what_eyes_far_apart_see_change_places(rig_of, screen_at):
    # each sees a strip at the other's side, behind a hole that stands 500 mm before the image
    lens = {"screen": "screen", "focal_length": 1e5, "distance": 500, "width": 60, "height": 60}
    placed = build(rig_of(screen=[screen_at()], lens=[lens])).screens[0]
    eyes = np.array([[-60.0, 0, 0], [60, 0, 0]])
    left, right = seen_ends(placed, eyes, ("left", "right"))[:, 0]
    assert (left, right) == pytest.approx((120, -120), abs=1)


# ---- many eyes at once ---------------------------------------------------------------------------

SOME_EYES = np.random.default_rng(3).uniform([-400, -200, -300], [400, 200, 300], (25, 3))


@pytest.fixture(params=["bare", "lip", "thin", "grooved", "shut"])
def placed(request, rig_of, screen_at):
    """Return a turned screen: without a lens, behind one, behind one that shuts for many eyes."""
    keys = {"yaw": 20, "pitch": -10, "roll": 3, "centre": [100, 700, 50]}
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 380}
    tables = {
        "bare": {},
        "lip": {},
        "thin": {"lens": [lens]},
        "grooved": {"lens": [lens | {"model": "grooved", "offset": [10, -20]}]},
        "shut": {"lens": [lens | {"model": "grooved", "focal_length": 110, "distance": 100}]},
    }[request.param]
    bezel = {"bezel": {"right": 20, "top": 20}, "lip": 15} if request.param == "lip" else {}
    return build(rig_of(screen=[screen_at(**keys, **bezel)], **tables)).screens[0]


@pytest.mark.parametrize("side", SIDES)
def test_many_eyes_have_the_margins_that_each_has_alone(placed, side):
    together = margin(placed, SOME_EYES, side)
    assert together.shape == (25,)
    alone = [margin(placed, eye[None], side)[0] for eye in SOME_EYES]
    assert together.tolist() == alone


def test_of_no_eyes_there_are_no_margins(placed):
    assert margin(placed, np.empty((0, 3)), "left").shape == (0,)
    assert in_front(placed, np.empty((0, 3))).shape == (0,)


def test_which_of_many_eyes_are_in_front(rig_of, screen_at):
    # the bezel's face stands 15 mm before the image, 600 mm ahead
    placed = build(rig_of(screen=[screen_at(bezel=20, lip=15)])).screens[0]
    eyes = np.array([[0, 0, 0], [0, 584, 0], [90, 586, 9], [0, 700, 0]], float)
    assert in_front(placed, eyes).tolist() == [True, True, False, False]
