"""The field that is really seen, against trigonometry."""

import math

import pytest

from seamsight.viewer.numbers.margins import SIDES

HALF_PUPILS = 31.5


def degrees(*tangents):
    low, high = (math.degrees(math.atan(tangent)) for tangent in tangents)
    return high - low


@pytest.fixture
def visible_of(numbers_of):
    def visible(rig, **head):
        return numbers_of(rig, **head).screens["screen"].visible

    return visible


def test_a_bare_screen_is_seen_between_its_edges(rig_of, screen_at, visible_of):
    found = visible_of(rig_of(screen=[screen_at()]))
    for eye in ("both", "either"):
        assert found[eye]["h"] == pytest.approx(degrees(-200 / 600, 200 / 600), abs=1e-6)
        assert found[eye]["v"] == pytest.approx(degrees(-150 / 600, 150 / 600), abs=1e-6)
    left = degrees((-200 + HALF_PUPILS) / 600, (200 + HALF_PUPILS) / 600)
    assert found["left"]["h"] == found["right"]["h"] == pytest.approx(left, abs=1e-6)


def test_a_board_takes_away_what_it_hides_of_the_middle_row(rig_of, screen_at, visible_of):
    # half way, thin, from x = 50 on: each eye at x loses what is right of 100 - x
    board = {"name": "board", "size": [400, 0.01, 900], "centre": [250, 300, 0]}
    found = visible_of(rig_of(screen=[screen_at()], board=[board]))
    ends = {"left": 131.5, "right": 68.5, "both": 68.5, "either": 131.5}
    places = {"left": -HALF_PUPILS, "right": HALF_PUPILS, "both": 0.0, "either": 0.0}
    for eye, end in ends.items():
        x = places[eye]
        expected = degrees((-200 - x) / 600, (end - x) / 600)
        assert found[eye]["h"] == pytest.approx(expected, abs=1e-3)  # of its 0.01 mm


def test_a_small_lens_shows_what_its_edges_let_through(lensed, numbers_of):
    # the aperture's edges, as the eye has them: its visible field ends there
    rig = lensed(600.0, 450.0, 1.5, width=300, height=200)
    screen = numbers_of(rig).screens["screen"]
    assert all(max(screen.margin[side].values()) < 0 for side in SIDES)
    for eye, x in (("left", -HALF_PUPILS), ("right", HALF_PUPILS)):
        field = degrees((-150 - x) / 600, (150 - x) / 600)
        assert screen.visible[eye]["h"] == pytest.approx(field, abs=1e-5)
        assert screen.visible[eye]["v"] == pytest.approx(degrees(-100 / 600, 100 / 600), abs=0.2)


def test_nothing_seen_of_the_middle_row_is_no_field(rig_of, screen_at, visible_of):
    rail = {"name": "rail", "size": [900, 5, 60], "centre": [0, 300, 0]}
    found = visible_of(rig_of(screen=[screen_at()], board=[rail]))
    assert found["both"]["h"] == 0.0
    assert found["both"]["v"] == pytest.approx(degrees(-0.25, 0.25), abs=1e-6)


def test_from_behind_there_is_none(rig_of, screen_at, numbers_of):
    screen = numbers_of(rig_of(screen=[screen_at()]), offset=[0, 700, 0]).screens["screen"]
    assert screen.visible is None
    assert "visible" in screen.reasons
