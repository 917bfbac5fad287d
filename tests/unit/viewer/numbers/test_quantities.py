"""Each number is told once: its words and digits, its place in the JSON."""

from seamsight.viewer.numbers.quantities import (
    COLUMNS,
    HIDDEN,
    MISSING_ALONG,
    OF_RIG,
    OF_SCREEN,
    OF_SEAM,
    OFF,
    WEIGHTY,
    scene_seams,
)


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
