"""`seamsight views`: tables for people, JSON for programs, and what it refuses."""

import json

import pytest
from PIL import Image

WALL = """\
format = 1
name = "wall"
[pilot]
eye_point = [0, 0, 1200]
"""
SCREEN = """\
[[screen]]
name = "{name}"
width = 600
height = 337.5
pixels = [192, 108]
centre = [{x}, 700, 1200]
shows = {shows}
"""


def wall(*shows):
    screens = [
        SCREEN.format(name=name, x=x, shows=show)
        for name, x, show in zip("abc", (-625, 0, 625), shows, strict=False)
    ]
    return WALL + "".join(screens)


def part(number):
    return f'{{ wide = "world", field = 90, part = {number}, of = 3 }}'


@pytest.fixture
def write(tmp_path):
    def write(text):
        path = tmp_path / "wall.toml"
        path.write_text(text, "utf-8")
        return path

    return write


def test_json_has_its_fixed_names(call, write):
    told = json.loads(call("views", write(wall(*map(part, (1, 2, 3)))), "--json").stdout)
    assert list(told["screens"]) == ["a", "b", "c"]
    view = {"h", "v", "left", "right", "up", "down", "yaw", "pitch", "roll", "projection"}
    for screen in told["screens"].values():
        assert screen.keys() == view | {"residual", "symmetric"}
        assert screen["symmetric"].keys() == view | {"error"}
        assert [len(row) for row in screen["projection"]] == [4, 4, 4, 4]
    assert told["screens"]["b"]["h"] == pytest.approx(46.397181, abs=1e-6)
    keys = {"field", "zoom", "parts", "yaw", "pitch", "error", "steps"}
    for name in ("wide", "wide_middle", "rig_wide"):
        assert told[name].keys() == keys
    assert told["rig_wide"]["field"] == pytest.approx(90)
    assert told["wide"]["parts"] == 3
    assert list(told["wide"]["error"]) == ["a", "b", "c"]
    assert [step["between"] for step in told["wide"]["steps"]] == [["a", "b"], ["b", "c"]]
    assert told["wide"]["steps"][0].keys() == {"between", "degrees", "px"}
    assert told["parallax"].keys() == {"distance", "each_eye", "head_100_mm"}


def test_people_get_tables(run, write):
    path = write(wall(*map(part, (1, 2, 3))))
    text = run("views", path, env={"COLUMNS": "80"}).stdout
    assert "Off-axis (asymmetric) views" in text
    assert "46.397" in text
    assert "2.333333" in text  # 700 / 300
    assert "as the rig has it" in text
    assert "leave out 8 pixels" in text  # 25 of 600 mm with 192 pixels
    assert "No setting mends this: both eyes look at one flat picture 700 mm away" in " ".join(
        text.split()
    )
    assert all(len(line) <= 80 for line in text.splitlines())


def test_one_screen_has_no_wide_view(call, write):
    path = write(wall('"world"'))
    assert "wide" not in call("views", path).stdout
    assert json.loads(call("views", path, "--json").stdout)["wide"] is None


def test_a_screen_from_behind_is_named(call, write):
    text = wall('"world"', '"world"').replace("[0, 700", "[0, -700")
    assert "b: no view" in call("views", write(text)).stdout


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (wall(part(1), part(2)), "part 3 of 3 of the wide picture"),
        (wall(part(1), part(1), part(3)), 'is on "a" and "b"'),
    ],
)
def test_a_rig_that_it_can_do_nothing_with(call, write, text, said):
    assert said in call("views", write(text), status=1).stderr


@pytest.mark.parametrize("text", [wall('"card"'), WALL])
def test_a_rig_without_the_outside_view_is_wrong_usage(call, write, text):
    assert "no screen of the outside view" in call("views", write(text), status=2).stderr


@pytest.mark.parametrize("words", [("--head", "design"), ("--set", "nonsense")])
def test_wrong_usage(call, write, words):
    call("views", write(wall('"world"')), *words, status=2)


def test_the_picture_says_how_wrong_each_kind_of_view_is(call, write, tmp_path):
    path = write(wall(*map(part, (1, 2, 3))))
    assert call("views", path, "--picture", "views.png").stdout.endswith("views.png\n")
    with Image.open(tmp_path / "views.png") as picture:
        assert picture.info["Command"] == f"seamsight views {path} --picture=views.png"
        assert picture.height > 300
    assert "exists" in call("views", path, "--picture", "views.png", status=1).stderr
    call("views", path, "--picture", "views.png", "--force", "--json")
    call("views", path, "--picture", "views.jpg", status=2)


def test_check_says_how_wrong_the_rig_s_wide_view_is(call, write):
    text = " ".join(call("check", write(wall(*map(part, (1, 2, 3))))).stdout.split())
    assert "The wide outside view of 90° is up to" in text
