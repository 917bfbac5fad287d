"""`seamsight head-box`: a table for people, JSON for programs, and what it refuses."""

import json

import pytest

WAYS = ["left", "right", "forward", "back", "up", "down", "turn_left", "turn_right"]


def test_json_has_its_fixed_names(call, bank_rig):
    told = json.loads(call("head-box", bank_rig, "--json").stdout)
    assert (told["rig"], told["head"], told["holds"]) == ("wall", "design", True)
    assert list(told["travel"]) == WAYS
    for way, travel in told["travel"].items():
        assert travel.keys() == {"degrees" if "turn" in way else "mm", "stopped_by"}
    assert told["travel"]["left"]["stopped_by"] == "row.1 lens frame"


def test_people_get_a_table(run, bank_rig):
    text = run("head-box", bank_rig, env={"COLUMNS": "60"}).stdout
    assert "at least 98 %" in text
    assert "row.1 lens frame" in text
    assert all(len(line) <= 60 for line in text.splitlines())


def test_where_it_does_not_hold_it_says_why_and_where_it_does(call, bank_rig):
    text = call("head-box", bank_rig, "--head", "aside").stdout
    assert "This does not hold there: the left eye sees" in text
    assert "mm left" in text
    told = json.loads(call("head-box", bank_rig, "--head", "aside", "--json").stdout)
    assert not told["holds"]
    assert {travel.get("mm", 0) for travel in told["travel"].values()} == {0}


@pytest.mark.parametrize(
    "words", [("--seen", "1.5"), ("--seen", "0"), ("--hide", "wall"), ("--head", "nobody")]
)
def test_wrong_usage(call, bank_rig, words):
    call("head-box", bank_rig, *words, status=2)


def test_a_rig_without_an_outside_view(call, little_rig):
    # its one screen shows a test card
    assert "no screen of the outside view" in call("head-box", little_rig, status=2).stderr
