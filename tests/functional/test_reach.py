"""`seamsight reach`: tables for people, JSON for programs, and what it refuses."""

import json

import pytest


@pytest.fixture(scope="module")
def sample_json(command, sample_rigs):
    return json.loads(command("reach", sample_rigs / "harbour_floatplane.toml", "--json").stdout)


def test_json_has_its_fixed_names(sample_json):
    assert list(sample_json) == [
        *("rig", "head", "shoulders", "reach", "eye_height", "seats", "focus", "change"),
        *("over_the_nose", "clear_view"),
    ]
    wheel = sample_json["reach"][0]
    assert list(wheel) == ["name", "kind", "hand", "at", "distance", "reached", "spare"]
    assert (wheel["name"], wheel["reached"], len(wheel["spare"])) == ("control wheel", True, 5)
    assert list(sample_json["seats"][0]) == ["pilot", "eye_height", "surface", "higher"]
    assert list(sample_json["change"]) == ["outside", "inside", "dioptres", "vergence"]
    assert list(sample_json["over_the_nose"]) == ["down", "up", "below"]
    assert list(sample_json["clear_view"]) == ["left", "right"]


def test_the_sample_suits_a_median_woman(sample_json):
    # ANSUR II (2012), public files: the median woman's eyes are 748 mm above the seat
    assert sample_json["eye_height"] == 747
    assert sample_json["seats"][1]["higher"] == pytest.approx(-1)
    names = {one["name"] for one in sample_json["reach"]}
    assert "seat" not in names
    assert "main panel: airspeed" not in names  # a screen is behind it
    assert "main panel: key" in names


def test_people_get_tables(call, sample_rigs, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    text = call("reach", sample_rigs / "harbour_floatplane.toml").stdout
    assert all(len(line) <= 80 for line in text.splitlines())
    said = " ".join(text.split())
    assert "suits a median woman best" in said
    assert "Over the nose, outside images are seen 15.1° down" in said
    assert "a guideline for the windscreens of large aircraft" in said
    assert "outside images fill 39.9 % of it" in said


def test_other_seat_and_head(call, sample_rigs):
    words = ("reach", sample_rigs / "harbour_floatplane.toml", "--json")
    told = json.loads(call(*words, "--set", "pilot.seat=290", "--head", "tall pilot").stdout)
    assert (told["head"], told["eye_height"]) == ("tall pilot", 860)
    assert told["seats"][-1]["higher"] == 0


def test_a_rig_with_nothing_in_it(call, little_rig):
    text = " ".join(call("reach", little_rig).stdout.split())
    assert "There is nothing to reach" in text
    assert "no screen of the outside view" in text
    assert "Add `seat` to [pilot]" in text


def test_an_eye_inside_a_part(call, little_rig):
    said = call("reach", little_rig, "--head", "in the ceiling", status=1).stderr
    assert "an eye would be inside" in said


def test_a_seat_above_the_eyes(call, little_rig):
    said = call("reach", little_rig, "--set", "pilot.seat=1200", status=1).stderr
    assert "seat must be below the design eye point, 1150 (got 1200)" in said


@pytest.mark.parametrize("words", [("--head", "nobody"), ("--set", "pilot.seat"), ("--seat", "3")])
def test_wrong_usage(call, little_rig, words):
    call("reach", little_rig, *words, status=2)
