"""`seamsight panel`: tables for people, JSON for programs, pictures, and what it refuses."""

import json

import pytest
from PIL import Image

RIG = """\
format = 1
name = "dash"

[pilot]
eye_point = [0, 0, 1200]

[[head]]
name = "leaning"
offset = [-120, 30, 0]

[[plate]]
name = "panel"
size = [300, 150]
thickness = 3
centre = [0, 550, 1000]
pitch = -20
holes = [
  { shape = "circle", at = [-50, 0], diameter = 57, name = "speed" },
  { shape = "rect", at = [60, 0], size = [60, 45] },
  { shape = "circle", at = [-130, -60], diameter = 12, name = "switch" },
]

[[screen]]
name = "gauges"
on = "panel"
centre = [0, 6, 0]
diagonal = "8 in"
aspect = "16:9"
pixels = [800, 450]
shows = "card"
"""
ANOTHER = """
[[screen]]
name = "clock"
on = "panel"
centre = [-130, 6, -60]
width = 30
height = 30
pixels = [100, 100]
shows = "black"
"""


@pytest.fixture
def rig(tmp_path):
    path = tmp_path / "dash.toml"
    path.write_text(RIG, "utf-8")
    return path


def test_json_has_its_names(call, rig):
    told = json.loads(call("panel", rig, "--json").stdout)
    assert [hole["hole"] for hole in told["holes"]] == ["speed", "hole 2"]
    assert told["without_screen"] == [{"plate": "panel", "hole": "switch"}]
    keys = {"plate", "hole", "screen", "window", "desktop", "all_heads", "px_per_mm", "filled"}
    for hole in told["holes"]:
        assert hole.keys() == keys | {"stand_off", "hidden", "heads"}
        assert hole["window"].keys() == {"x", "y", "width", "height"}
        assert hole["window"] == hole["heads"]["design"]["either"]
        assert hole["desktop"] is None
        assert list(hole["heads"]) == ["design", "leaning"]
        assert hole["heads"]["leaning"].keys() == {"left", "right", "both", "either", "past_px"}
    # 57 mm of 177.1 mm with 800 pixels
    assert told["holes"][0]["window"]["width"] == pytest.approx(57 * 800 / 177.1, abs=12)
    assert told["holes"][0]["stand_off"] == pytest.approx(4.5)


def test_people_get_tables(run, rig):
    text = run("panel", rig, env={"COLUMNS": "80"}).stdout
    assert "4.52" in text
    assert "leaning" in text
    assert "No screen can be seen through these holes of panel: switch." in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_desktop_pixels_once_there_is_an_output(call, rig):
    output = (
        '[[output]]\nname = "1"\nlink = "HDMI 2.0"\nscreens = ["gauges"]\ndesktop = [100, 50]\n'
    )
    rig.write_text(RIG + output, "utf-8")
    hole = json.loads(call("panel", rig, "--json").stdout)["holes"][0]
    assert hole["desktop"]["x"] == hole["window"]["x"] + 100
    place = f"{hole['desktop']['x']}, {hole['desktop']['y']}"
    assert place in call("panel", rig).stdout


def test_pictures(call, rig, tmp_path):
    words = ("--picture", "holes.png", "--mask", "mask.png")
    assert call("panel", rig, *words).stdout.endswith("holes.png\nmask.png\n")
    for name in ("holes", "mask"):
        with Image.open(tmp_path / f"{name}.png") as picture:
            assert picture.size == (800, 450)
            assert picture.info["Command"].startswith(f"seamsight panel {rig} --screen=gauges --")
    assert "exists" in call("panel", rig, *words, status=1).stderr
    call("panel", rig, *words, "--force")


def test_which_screen_to_draw(call, rig, tmp_path):
    rig.write_text(RIG + ANOTHER, "utf-8")
    assert "say which" in call("panel", rig, "--mask", "a.png", status=2).stderr
    assert "gauges" in call("panel", rig, "--mask", "a.png", "--screen", "gauge", status=2).stderr
    assert not (tmp_path / "a.png").exists()
    call("panel", rig, "--mask", "a.png", "--screen", "clock")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (RIG.partition("[[screen]]")[0], "no hole of this rig has a screen behind it"),
        (RIG.partition("[[plate]]")[0], "no plate of this rig has a hole"),
        (RIG.replace("[0, 6, 0]", "[0, -40, 0]"), "no hole of this rig has a screen behind it"),
    ],
)
def test_a_rig_that_it_can_do_nothing_with(call, rig, text, said, tmp_path):
    rig.write_text(text, "utf-8")
    assert said in call("panel", rig, "--mask", "mask.png", status=1).stderr
    assert not (tmp_path / "mask.png").exists()


@pytest.mark.parametrize("words", [("--head", "design"), ("--mask", "mask.jpg")])
def test_wrong_usage(call, rig, words):
    call("panel", rig, *words, status=2)
