"""The numbers of screens and lenses square to the eye, against their closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

SIGNS = {
    "left": (0, -1),
    "right": (0, 1),
    "bottom": (2, -1),
    "top": (2, 1),
}  # axis of the rig and way along it

moderate = settings(max_examples=60)
distances = st.floats(200, 1500)
magnifications = st.floats(1.01, 5)
focal_lengths = st.floats(150, 2000)
places = st.tuples(st.floats(-150, 150), st.floats(-50, 50), st.floats(-150, 150))
apertures = st.floats(50, 900)
offsets = st.tuples(st.floats(-60, 60), st.floats(-60, 60))


@pytest.fixture(scope="session")
def lensed(rig_of, screen_at):
    """Return a rig with one screen whose lens plane stands `before` mm ahead of the origin."""

    def make(before, focal_length, magnification, width=517, height=330, **lens):
        behind = focal_length * (1 - 1 / magnification)
        optic = {
            "focal_length": focal_length,
            "magnification": magnification,
            "width": width,
            "height": height,
        }
        screen = screen_at(centre=[0, before + behind, 0])
        return rig_of(screen=[screen], lens=[{"screen": "screen", **optic, **lens}])

    return make


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


@moderate
@given(
    before=distances,
    f=focal_lengths,
    magnification=magnifications,
    mid=places,
    pupils=st.floats(40, 80),
)
def test_gap_needed_is_half_the_pupil_distance_times_d_over_e(
    rig_of, lensed, numbers_of, before, f, magnification, mid, pupils
):
    tables = lensed(before, f, magnification).model_dump(
        exclude_none=True, include={"screen", "lens"}
    )
    rig = rig_of(pilot={"eye_point": [0, 0, 0], "pupil_distance": pupils}, **tables)
    gap = numbers_of(rig, offset=list(mid)).screens["screen"].gap_needed
    expected = pupils / 2 * f * (1 - 1 / magnification) / (before - mid[1])
    assert (gap["left"], gap["right"]) == pytest.approx((expected, expected), rel=1e-9)
    assert (gap["bottom"], gap["top"]) == pytest.approx((0, 0), abs=1e-9)


@moderate
@given(before=distances, f=focal_lengths, magnification=magnifications, mid=places)
def test_image_distance_is_e_plus_m_d(lensed, numbers_of, before, f, magnification, mid):
    found = numbers_of(lensed(before, f, magnification), offset=list(mid)).screens["screen"]
    e, d = before - mid[1], f * (1 - 1 / magnification)
    assert found.magnification == pytest.approx(magnification, rel=1e-12)
    assert found.image_distance == pytest.approx(e + magnification * d, rel=1e-12)


@moderate
@given(before=distances, f=focal_lengths, magnification=magnifications, mid=places, shift=offsets)
def test_frustum_behind_a_lens(lensed, numbers_of, before, f, magnification, mid, shift):
    rig = lensed(before, f, magnification, offset=list(shift))
    frustum = numbers_of(rig, offset=list(mid)).screens["screen"].frustum
    far = before - mid[1] + f * (magnification - 1)  # M d = f (M - 1)
    for side, (axis, sign) in SIGNS.items():
        half, across = (200, shift[0]) if axis == 0 else (150, shift[1])
        expected = (across + magnification * (sign * half - across) - mid[axis]) / far
        assert frustum[side] == pytest.approx(expected, rel=1e-9, abs=1e-12)


@moderate
@given(before=distances, f=focal_lengths, magnification=magnifications)
def test_span_and_pixel_on_the_axis(lensed, numbers_of, before, f, magnification):
    found = numbers_of(lensed(before, f, magnification)).screens["screen"]
    far = before + f * (magnification - 1)
    assert found.span["h"] == pytest.approx(
        2 * math.degrees(math.atan(magnification * 200 / far)), rel=1e-9
    )
    assert found.span["v"] == pytest.approx(
        2 * math.degrees(math.atan(magnification * 150 / far)), rel=1e-9
    )
    pixel = 2 * math.atan(magnification * 0.25 / far) * 60 * 180 / math.pi
    assert (found.arcmin_per_px["h"], found.arcmin_per_px["v"]) == pytest.approx(
        (pixel, pixel), rel=1e-7
    )


def test_pixel_of_one_arcminute_is_where_a_20_20_eye_s_limit_says(rig_of, screen_at, numbers_of):
    # a 20/20 letter is 5' high, 8.87 mm at 20 ft (Snellen; printed on eye charts), its strokes 1': five pixels here
    screen = screen_at(width=8.87 * 10, height=8.87 * 10, pixels=[50, 50], centre=[0, 6096, 0])
    found = numbers_of(rig_of(screen=[screen])).screens["screen"].arcmin_per_px
    assert found["v"] == pytest.approx(1.0, abs=0.001)


@moderate
@given(mid=places)
def test_dioptres_are_of_the_way_to_the_image_s_middle(lensed, numbers_of, mid):
    found = numbers_of(lensed(600, 450, 1.5), offset=list(mid)).screens["screen"]
    assert found.image_dioptres == pytest.approx(1000 / math.dist(mid, (0, 825, 0)), rel=1e-12)


def test_without_a_lens_nothing_is_enlarged(rig_of, screen_at, numbers_of):
    found = numbers_of(rig_of(screen=[screen_at()])).screens["screen"]
    assert (found.magnification, found.image_distance) == (1.0, 600.0)


@pytest.mark.parametrize("forward", [640, 2000])
def test_no_view_from_behind(rig_of, screen_at, numbers_of, forward):
    found = numbers_of(rig_of(screen=[screen_at(body=10)]), offset=[0, forward, 0]).screens[
        "screen"
    ]
    assert (found.span, found.margin, found.frustum, found.image_distance) == (
        None,
        None,
        None,
        None,
    )
    assert found.seen == {"left": 0, "right": 0, "both": 0, "either": 0}


def test_marks_tell_how_far_off_they_are(rig_of, numbers_of):
    mark = {"name": "hub", "at": [3, 504, -330], "want": [0, 500, -330]}
    marks = numbers_of(
        rig_of(mark=[mark | {"within": 5}, mark | {"name": "foot", "within": 4.9}])
    ).marks
    assert (marks["hub"].off, marks["hub"].good, marks["foot"].good) == (5.0, True, False)


def test_a_rig_without_screens_has_no_screens_numbers(rig_of, numbers_of):
    found = numbers_of(rig_of())
    assert (found.screens, found.hidden_by, found.marks) == ({}, {}, {})


# ---- facts of the trade ----


def test_17_inch_behind_1_4_times_looks_like_24_inch(lensed, numbers_of, rig_of, screen_at):
    # common practice: 1.4 times makes a 17-inch screen fill the place of a 24-inch one
    seventeen = {"diagonal": "17 in", "aspect": "5:4", "pixels": [1280, 1024]}
    behind = 450 * (1 - 1 / 1.4)
    screen = {"name": "s", **seventeen, "centre": [0, 600 + behind, 0]}
    optic = {"screen": "s", "focal_length": 450, "magnification": 1.4, "width": 600, "height": 500}
    looks = numbers_of(rig_of(screen=[screen], lens=[optic])).screens["s"]
    # the bare 24-inch screen that stands where the image does
    bare = {"name": "s", **seventeen, "diagonal": "24 in", "centre": [0, looks.image_distance, 0]}
    like = numbers_of(rig_of(screen=[bare])).screens["s"]
    assert looks.span["h"] == pytest.approx(like.span["h"], rel=0.01)
    assert looks.span["v"] == pytest.approx(like.span["v"], rel=0.01)


def test_higher_magnification_makes_the_head_s_place_more_critical(lensed, numbers_of):
    # common practice; each lens as large as its image looks from the design eye point, with an opaque surround
    def lost(magnification, sideways):
        size = [
            magnification * side * 600 / (600 + 450 * (magnification - 1)) for side in (400, 300)
        ]
        rig = lensed(600, 450, magnification, *size, frame={"width": 300, "depth": 5})
        seen = numbers_of(rig, offset=[sideways, 0, 0]).screens["screen"].seen
        return 1 - seen["both"]

    for sideways in (0, 30, 60, 120):
        losses = [lost(magnification, sideways) for magnification in (1.2, 1.5, 2.0)]
        assert losses == sorted(losses)
        assert losses[2] > 1.5 * losses[0]
