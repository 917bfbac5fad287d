"""Each number is told once: its words and digits, its place in the JSON, its meaning."""

from pathlib import Path

import pytest

from seamsight.viewer.numbers.quantities import (
    COLUMNS,
    HIDDEN,
    MEANINGS,
    MISSING_ALONG,
    OF_RIG,
    OF_SCREEN,
    OF_SEAM,
    OFF,
    WEIGHTY,
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


def test_a_border_is_missing_on_each_side_for_itself():
    def screen(needed, present):
        return {"gap_needed": {"left": needed}, "margin": {"left": {"mid": present}}}

    screens = {"a": screen(3.0, 1.0), "b": screen(1.0, 40.0)}
    seam = {"between": ["a", "b"], "sides": ["left", "left"]}
    assert MISSING_ALONG.value(*scene_seams({"screens": screens, "seams": [seam]})) == 2.0
