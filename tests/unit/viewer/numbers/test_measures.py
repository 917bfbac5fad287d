"""The numbers of screens and lenses square to the eye, against their closed forms."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamsight.scene import build, read_rig
from seamsight.viewer import eyes_of, head_named, measure

SIGNS = {"left": (0, -1), "right": (0, 1), "bottom": (2, -1), "top": (2, 1)}
"""Axis of the rig, and the way along it."""

moderate = settings(max_examples=60)
distances = st.floats(200, 1500)
magnifications = st.floats(1.01, 5)
focal_lengths = st.floats(150, 2000)
places = st.tuples(st.floats(-150, 150), st.floats(-50, 50), st.floats(-150, 150))
offsets = st.tuples(st.floats(-60, 60), st.floats(-60, 60))
GROOVED = {"screen": "screen", "distance": 100, "width": 560, "height": 400, "model": "grooved"}


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
    # a 20/20 letter is 5' high, 8.87 mm at 20 ft (Snellen; printed on eye charts), its strokes 1':
    # five pixels here
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


@pytest.mark.parametrize("conjugates", ["rig", "infinity"])
@pytest.mark.parametrize("focal_length", [110, 200])
@pytest.mark.parametrize("sideways", [0, 400])
def test_lenses_that_shut_still_give_numbers(
    rig_of, screen_at, numbers_of, focal_length, conjugates, sideways
):
    lens = GROOVED | {"focal_length": focal_length, "conjugates": conjugates}
    rig = rig_of(screen=[screen_at(width=500, centre=[0, 400, 0])], lens=[lens])
    whole = numbers_of(rig, offset=[sideways, 0, 0]).as_json()
    assert "NaN" not in json.dumps(whole, allow_nan=False)
    screen = whole["screens"]["screen"]
    dark = None in screen["span"].values()
    assert dark == (screen["frustum"] is None) == ("span" in screen["reasons"])
    assert all(angle is None or angle > 0 for angle in screen["span"].values())


def test_span_and_frustum_of_a_lens_dark_at_the_sides_are_not_an_ideal_one_s(
    rig_of, screen_at, numbers_of
):
    # facets of a stock sheet with its grooves to the pilot, that reflect all light at the sides
    screen = screen_at(width=470, height=290, centre=[0, 980, 0])
    lens = GROOVED | {"focal_length": 420, "distance": 220, "width": 470, "height": 290}
    rig = rig_of(screen=[screen], lens=[lens | {"conjugates": "infinity"}])
    found = numbers_of(rig).screens["screen"]
    assert found.span["h"] is None and found.frustum is None
    # the trace of an independent program gave 29.96 degrees up; an ideal lens would give 27.98
    assert found.span["v"] == pytest.approx(29.96, abs=0.01)
    told = "no light from the middle of the image's left and right edges passes the lens's grooves"
    assert {found.reasons[key] for key in ("span", "frustum", "angular")} == {told}


def test_all_that_needs_an_eye_in_front_has_a_reason_behind(rig_of, screen_at, numbers_of):
    found = numbers_of(rig_of(screen=[screen_at()]), offset=[0, 900, 0]).as_json()
    screen = found["screens"]["screen"]
    of_lenses = {"f_number", "lens_models", "through"}
    missing = {key for key, value in screen.items() if value is None} - of_lenses
    assert screen["reasons"].keys() == missing
    assert set(screen["reasons"].values()) == {"an eye is beside or behind its lens or its bezel"}


def test_numbers_of_two_eyes_that_a_hidden_image_has_not_have_a_reason(
    rig_of, screen_at, numbers_of
):
    board = {"name": "board", "size": [900, 10, 900], "centre": [0, 300, 0]}
    rig = rig_of(
        screen=[screen_at(centre=[0, 700, 0])],
        lens=[GROOVED | {"focal_length": 450}],
        board=[board],
    )
    reasons = numbers_of(rig).screens["screen"].reasons
    assert reasons == {
        "focus": "no corner of the image is seen from the point between the eyes",
        "binocular": "both eyes see no common point of the image through the lens",
        "swim": "no point of the image stays in sight when the head moves sideways",
    }


@pytest.mark.parametrize("side", ["top", "bottom"])
def test_grooves_may_show_both_eyes_more_than_the_point_between(
    rig_of, screen_at, numbers_of, side
):
    screen = screen_at(width=517, height=323, centre=[0, 700, 0])
    lens = GROOVED | {"focal_length": 600, "distance": 260, "width": 500, "height": 310}
    found = numbers_of(rig_of(screen=[screen], lens=[lens])).screens["screen"]
    margins = found.margin[side]
    assert margins["left"] == pytest.approx(margins["right"], abs=1e-6)
    assert found.gap_needed[side] == margins["mid"] - margins["left"] < -0.1
    ideal = numbers_of(rig_of(screen=[screen], lens=[lens | {"model": "thin"}]))
    assert ideal.screens["screen"].gap_needed[side] == pytest.approx(0, abs=1e-9)


def test_what_another_s_lens_hides_is_not_hidden_by_itself(rig_of, screen_at, numbers_of):
    near = screen_at("near", width=50, height=50, centre=[0, 320, 0])
    lens = {"screen": "near", "focal_length": 450, "distance": 20, "width": 200, "height": 900}
    hidden = numbers_of(rig_of(screen=[near, screen_at("far")], lens=[lens])).hidden_by["far"]
    assert "far" not in hidden
    assert "near lens" in hidden


# ---- facts of the trade --------------------------------------------------------------------------


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
    # common practice; each lens as large as its image looks from the design eye point, with an
    # opaque surround
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


# ---- textbooks, from the rig file to the numbers -------------------------------------------------

# OpenStax, University Physics vol. 3, Example 2.4 (b); College Physics 2e, Example 25.7 and the
# problem after it: a lens of f = 10.0 cm and an object nearer than f. Columns: object cm, image cm
# behind the lens, magnification, as printed; the problem prints magnifications only, its image
# distances are 1 / (1 / f - 1 / object).
TEXTBOOK = [(5.00, 10.0, 2.00), (7.50, 30.0, 4.00), (8.50, 56.667, 6.67), (9.50, 190.0, 20.0)]


@pytest.fixture
def magnifier(write_rig):
    """Return a function that measures a 3 cm object under the textbooks' lens, 20 cm away."""

    def numbers(object_distance):
        file = write_rig(f"""
            [[screen]]
            name = "object"
            width = "4 cm"
            height = "3 cm"
            pixels = [400, 300]
            centre = [0, "{20 + object_distance} cm", 0]
            [[lens]]
            screen = "object"
            focal_length = "10 cm"
            distance = "{object_distance} cm"
            width = "20 cm"
            height = "20 cm"
            """)
        rig = read_rig(file)
        return measure(build(rig), eyes_of(rig, head_named(rig, "design"))).screens["object"]

    return numbers


@pytest.mark.parametrize(("object_distance", "image", "magnification"), TEXTBOOK)
def test_magnification_is_the_textbook_s(magnifier, object_distance, image, magnification):
    assert magnifier(object_distance).magnification == pytest.approx(magnification, abs=0.005)


@pytest.mark.parametrize(("object_distance", "image", "magnification"), TEXTBOOK)
def test_image_stands_where_the_textbook_says(magnifier, object_distance, image, magnification):
    assert magnifier(object_distance).image_distance == pytest.approx(200 + 10 * image, abs=0.005)


def test_object_of_3_cm_looks_6_cm_high(magnifier):
    # University Physics 3, Example 2.4 (b): an object of 3.0 cm has an image of 6.0 cm, 10 cm
    # behind the lens
    assert magnifier(5.0).span["v"] == pytest.approx(
        2 * math.degrees(math.atan(3.0 / (20 + 10))), rel=1e-9
    )


def test_image_dioptres_are_the_inverse_of_its_distance(magnifier):
    assert magnifier(5.0).image_dioptres == pytest.approx(1 / 0.30, rel=1e-12)
