"""`seamsight signals`: tables for people, JSON for programs, a drawing, and what it refuses."""

import json

import pytest

OUTPUT = '\n[[output]]\nname = "[[socket]]"\nlink = "HDMI 1.2"\nscreens = ["[[x]]"]\n'


@pytest.fixture
def rig(little_rig):
    little_rig.write_text(little_rig.read_text("utf-8") + OUTPUT, "utf-8")
    return little_rig


def test_the_main_sample_fits(call, sample_rigs):
    told = json.loads(call("signals", sample_rigs / "harbour_floatplane.toml", "--json").stdout)
    assert told.keys() == {"rig", "outputs", "desktop", "unfed", "advice"}
    assert told["desktop"]["size"] == [5040, 1850]
    assert told["desktop"]["screens"]["outside.3"] == [3360, 0, 1680, 1050]
    assert told["unfed"] == []
    assert all(output["fits"] and output["exact"] for output in told["outputs"].values())
    [edid] = told["advice"]
    assert (edid["output"], edid["kind"]) == ("DP 1", "edid")
    wide, part = told["outputs"]["DP 1"]["links"]
    assert {one["standard"]: one["clock"] for one in wide["timings"]} == {
        "CVT": 441.0,
        "CVT-RB": 336.75,
        "CVT-RB2": 331.776,
    }
    assert part["screens"] == ["outside.1", "outside.2", "outside.3"]
    assert part["limit"] == 165


def test_people_get_tables_and_what_to_change(call, rig, monkeypatch):
    monkeypatch.setenv("COLUMNS", "70")
    text = call("signals", rig, "--set", "[[socket]].pixels=[2560, 1440]").stdout
    assert all(len(line) <= 70 for line in text.splitlines())
    words = " ".join(text.split())
    assert "[[socket]]: 2560 × 1440 at 60 Hz does not fit HDMI 1.2" in words
    assert 'Use link = "HDMI 1.4" or faster, or lower refresh to 30 Hz.' in words
    assert "Write pixels = [168, 105]" in words
    assert "upper bound" in words


def test_the_drawing(call, rig, tmp_path):
    call("signals", rig, "--picture", "desktop.png")
    assert (tmp_path / "desktop.png").read_bytes().startswith(b"\x89PNG")
    assert "exists" in call("signals", rig, "--picture", "desktop.png", status=1).stderr
    call("signals", rig, "--picture", "desktop.png", "--force")


def test_wrong_usage(call, rig):
    assert ".png" in call("signals", rig, "--picture", "desktop.jpg", status=2).stderr
    assert "refresh" in call("signals", rig, "--set", "[[socket]].refesh=3", status=2).stderr


def test_a_rig_without_outputs(call, little_rig):
    assert "no [[output]]" in call("signals", little_rig, status=2).stderr


def test_a_wrong_rig_ends_in_1_and_writes_nothing(call, rig, tmp_path):
    rig.write_text(rig.read_text("utf-8").replace("HDMI 1.2", "HDMI 7"), "utf-8")
    done = call("signals", rig, "--picture", "desktop.png", status=1)
    assert 'output "[[socket]]": link must be' in done.stderr
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == [rig]
