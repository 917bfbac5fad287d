"""`seamsight sun`: sentences and tables for people, JSON for programs, and what it refuses."""

import json

import pytest

NOON = ("--place", "52.5,13.4", "--date", "2026-12-21T12:00+01:00")
LOW = ("--azimuth", "180", "--elevation", "5")


def test_json_has_its_fixed_names(call, little_rig):
    told = json.loads(call("sun", little_rig, *LOW, "--json").stdout)
    assert told["sun"] == {"azimuth": 180, "elevation": 5, "right_of_ahead": -180}
    [lens] = told["lenses"]
    assert list(lens) == [
        *("lens", "through", "from_pilot", "share", "angle", "focus", "focal_length", "burning"),
        *("power", "meets"),
    ]
    assert lens["lens"] == "[[x]] lens"
    assert list(lens["meets"][0]) == ["part", "share", "depth", "before_focus", "times", "flux"]
    assert "starts fires" in told["caution"]


def test_people_always_get_the_caution(run, little_rig):
    text = run("sun", little_rig, *LOW, env={"COLUMNS": "80"}).stdout
    assert "of [[x]] lens, from the pilot's side" in text
    assert "starts fires within seconds" in " ".join(text.split())
    assert all(len(line) <= 80 for line in text.splitlines())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--azimuth", "90", "--elevation", "5"), "It reaches no lens."),
        (("--azimuth", "180", "--elevation", "-5"), "below the horizon"),
        ((*NOON, "--facing", "0"), "14.1° above the horizon"),
    ],
)
def test_where_the_sun_stands(call, little_rig, words, said):
    text = call("sun", little_rig, *words).stdout
    assert said in text
    assert "starts fires" in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "give either"),
        (("--azimuth", "180"), "give either"),
        ((*LOW, *NOON), "give either"),
        (NOON, "--facing"),
        (("--place", "91,0", *NOON[2:], "--facing", "0"), "latitude"),
        (("--place", "9", *NOON[2:], "--facing", "0"), "'9'"),
        ((*NOON[:2], "--date", "2026-12-21T12:00", "--facing", "0"), "offset from UTC"),
        ((*NOON[:2], "--date", "noon", "--facing", "0"), "'noon'"),
        (("--azimuth", "nan", "--elevation", "5"), "--azimuth"),
    ],
)
def test_wrong_usage(call, little_rig, words, said):
    done = call("sun", little_rig, *words, status=2)
    assert said in " ".join(done.stderr.replace("│", " ").split())
    assert done.stdout == ""


def test_a_date_out_of_range_is_a_plain_sentence(call, little_rig):
    words = (*NOON[:2], "--date", "1926-12-21T12:00+01:00", "--facing", "0")
    done = call("sun", little_rig, *words, status=1)
    assert done.stderr == "the sun's place is known for the years 1950 to 2060 (got 1926)\n"


def test_a_rig_without_a_lens(call, little_rig):
    text = little_rig.read_text("utf-8")
    start, end = text.index("[[lens]]"), text.index("[[board]]")
    little_rig.write_text(text[:start] + text[end:], "utf-8")
    assert "no lens" in call("sun", little_rig, *LOW, status=2).stderr
