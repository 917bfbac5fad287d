"""Each number is told once: its words and digits, its place in the JSON, its meaning."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamsight.viewer.numbers.quantities import (
    ARCMIN,
    COLUMNS,
    DEGREES,
    DIOPTRES,
    HIDDEN,
    MEANINGS,
    MISSING_ALONG,
    MM,
    OF_RIG,
    OF_SCREEN,
    OF_SEAM,
    OFF,
    PERCENT,
    TIMES,
    WEIGHTY,
    YES_OR_NO,
    in_words,
    number_words,
    scene_seams,
    with_number_table,
)

README = Path(__file__).parents[4] / "README.md"


@pytest.fixture(scope="module")
def whole(rig_of, screen_at, numbers_of):
    """Return the JSON of a rig that has every number.

    It has two screens of one scene, a grooved lens, a mark.
    """
    places = {"left": [-205, 600, 0], "right": [205, 600, 0]}
    screens = [screen_at(name, centre=at, shows="world") for name, at in places.items()]
    lens = {"focal_length": 450, "distance": 100, "width": 400, "height": 300, "model": "grooved"}
    mark = {"name": "hub", "at": [3, 504, -330], "want": [0, 500, -330]}
    rig = rig_of(screen=screens, lens=[lens | {"screen": "left"}], mark=[mark])
    return numbers_of(rig).as_json()


def test_the_readme_s_table_is_what_the_numbers_mean(request):
    text = README.read_text("utf-8")
    if request.config.getoption("--regenerate"):
        README.write_text(with_number_table(text), "utf-8")
    assert text.count("<!-- numbers -->") == 1
    assert with_number_table(README.read_text("utf-8")) == README.read_text("utf-8")


def test_every_key_of_the_json_has_one_meaning(whole):
    explained = [key for keys, _ in MEANINGS for key in keys]
    assert len(explained) == len(set(explained))
    of_rig = whole.keys() - {"rig", "head", "screens"}
    assert set(explained) == of_rig | whole["screens"]["left"].keys()
    of_seams = dict(MEANINGS)["seams",]
    assert all(f"`{key}`" in of_seams for key in whole["seams"][0])


def test_every_number_is_in_the_json(whole):
    (seam,) = scene_seams(whole)
    trees = {
        **dict.fromkeys(OF_RIG, whole),
        **dict.fromkeys(OF_SCREEN, whole["screens"]["left"]),
        **dict.fromkeys(OF_SEAM, seam),
        OFF: whole["marks"]["hub"],
        HIDDEN: whole["hidden_by"]["left"]["left lens"],
    }
    assert [
        quantity.words for quantity, tree in trees.items() if quantity.value(tree) is None
    ] == []


def test_what_is_shown_is_among_the_numbers():
    assert {quantity for column in COLUMNS for quantity in column} <= set(OF_SCREEN)
    assert set(WEIGHTY) <= {*OF_SCREEN, *OF_SEAM}


def test_words_of_two_numbers_of_one_place_differ():
    for place in (OF_RIG, OF_SCREEN, OF_SEAM):
        assert len({quantity.words for quantity in place}) == len(place)


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (98.26, PERCENT, "98.3 %"),
        (-0.724, DEGREES, "−0.72°"),
        (-0.004, DEGREES, "0.00°"),
        (1.5, ARCMIN, "1.50′"),
        (12.04, MM, "12.0 mm"),
        (1.25, DIOPTRES, "1.25 D"),
        (1.5, TIMES, "1.50 ×"),
        (1.0, YES_OR_NO, "yes"),
        (0.0, YES_OR_NO, "no"),
        (None, YES_OR_NO, "–"),
        (None, MM, "–"),
    ],
)
def test_a_value_in_words(value, unit, words):
    assert in_words(value, unit) == words


@given(st.floats(-2000, 2000), st.integers(0, 3))
def test_a_number_in_words_is_the_number_and_never_minus_zero(value, digits):
    words = number_words(value, digits)
    assert float(words.replace("−", "-")) == round(value, digits)
    assert ("−" in words) == (round(value, digits) < 0)
    assert number_words(value, digits, signed=True).lstrip("+") == words


def test_what_counts_as_a_difference_shows():
    for unit in (PERCENT, DEGREES, MM, DIOPTRES, ARCMIN, TIMES):
        assert 10**-unit.digits <= 2 * unit.within + 1e-9


def test_a_border_is_missing_on_each_side_for_itself():
    def screen(needed, present):
        return {"gap_needed": {"left": needed}, "margin": {"left": {"mid": present}}}

    screens = {"a": screen(3.0, 1.0), "b": screen(1.0, 40.0)}
    seam = {"between": ["a", "b"], "sides": ["left", "left"]}
    assert MISSING_ALONG.value(*scene_seams({"screens": screens, "seams": [seam]})) == 2.0
