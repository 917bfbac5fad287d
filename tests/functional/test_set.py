"""`--set` on every command that reads a rig, `--try` of `compare`, and `check` of a moved head."""

import json

import pytest
from PIL import Image

LENS = "[[x]] lens.distance"


def magnification(call, rig, *words):
    numbers = json.loads(call("check", rig, "--json", *words).stdout)
    return numbers["screens"]["[[x]]"]["magnification"]


def test_a_value_counts_instead_of_the_file_s(call, little_rig):
    assert magnification(call, little_rig) == pytest.approx(450 / 300)
    assert magnification(call, little_rig, "--set", f"{LENS}=90") == pytest.approx(450 / 360)
    words = ("--set", f"{LENS}=9 cm", "--set", "[[x]] lens.focal_length== 2 * 300")
    assert magnification(call, little_rig, *words) == pytest.approx(600 / 510)


def test_the_rig_file_is_left_as_it_is(call, little_rig, tmp_path):
    before = (tmp_path / little_rig).read_bytes()
    call("parts", little_rig, "--set", "[[x]].bezel=30")
    assert (tmp_path / little_rig).read_bytes() == before


@pytest.mark.parametrize(
    "words",
    [("heads",), ("parts",), ("export", "rig.glb"), ("overlap", "o.png", "--size", "200x90")],
)
def test_commands_that_read_a_rig_take_it(call, little_rig, words):
    name, *rest = words
    call(name, little_rig, *rest, "--set", "pilot.neck=80")


def test_a_picture_says_what_was_set(call, little_rig, tmp_path):
    words = ("--size", "120x60", "--samples", "1", "--set", f"{LENS}=9 cm")
    call("picture", little_rig, "a.png", *words)
    with Image.open(tmp_path / "a.png") as picture:
        command = picture.info["Command"]
    assert f"'--set={LENS}=9 cm'" in command
    assert "--set" not in call("parts", little_rig).stdout


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("nonsense", "needs PATH=VALUE"),
        ("=3", "needs PATH=VALUE"),
        ("sreen.width=3", "nothing called"),
        (f"{LENS}e=3", "did you mean"),
    ],
)
def test_a_wrong_path_is_wrong_usage(call, little_rig, change, told):
    assert told in call("check", little_rig, "--set", change, status=2).stderr


@pytest.mark.parametrize(
    "change", [f"{LENS}=500", f"{LENS}=-1", f"{LENS}=far", "[[x]].bezel== 1/0"]
)
def test_a_wrong_value_is_a_wrong_rig(call, little_rig, change):
    told = call("check", little_rig, "--set", change, status=1).stderr
    assert told.startswith(str(little_rig))
    assert len(told.splitlines()) == 1


def test_try_makes_a_column_of_each_value(call, little_rig, tmp_path):
    done = call(
        "compare",
        little_rig,
        "sheet.png",
        "--try",
        f"{LENS}=90,120,150",
        "--size",
        "200x90",
        "--json",
    )
    items = json.loads(done.stdout)["items"]
    assert [item["set"] for item in items] == [[f"{LENS}={d}"] for d in (90, 120, 150)]
    found = [item["numbers"]["screens"]["[[x]]"]["magnification"] for item in items]
    assert found == pytest.approx([450 / (450 - d) for d in (90, 120, 150)])
    with Image.open(tmp_path / "sheet.png") as sheet:
        assert f"'--try={LENS}=90,120,150'" in sheet.info["Command"]


def test_try_and_set_and_heads_combine(call, little_rig):
    words = (
        "--try",
        "[[x]].centre=[0, 750, 1150],[0,800,1150]",
        "--head",
        "design",
        "--head",
        "leaning",
    )
    done = call(
        "compare",
        little_rig,
        "s.png",
        *words,
        "--set",
        "pilot.neck=80",
        "--size",
        "200x90",
        "--json",
    )
    items = json.loads(done.stdout)["items"]
    assert [(item["set"][1], item["head"]) for item in items] == [
        ("[[x]].centre=[0, 750, 1150]", "design"),
        ("[[x]].centre=[0, 750, 1150]", "leaning"),
        ("[[x]].centre=[0,800,1150]", "design"),
        ("[[x]].centre=[0,800,1150]", "leaning"),
    ]  # fmt: skip
    assert {item["set"][0] for item in items} == {"pilot.neck=80"}


@pytest.mark.parametrize("text", ["outside", "=1,2", "a="])
def test_a_wrong_try_is_wrong_usage(call, little_rig, text):
    assert (
        "needs PATH=V1,V2" in call("compare", little_rig, "s.png", "--try", text, status=2).stderr
    )


def test_check_takes_a_moved_head_and_no_lenses(call, little_rig):
    def seen(*words):
        return json.loads(call("check", little_rig, "--json", *words).stdout)["screens"]["[[x]]"]

    assert seen()["magnification"] == 1.5
    assert seen("--without-lenses")["magnification"] == 1
    moved = seen("--offset=100,0,0", "--turn=20")
    assert moved["seen"]["both"] < seen()["seen"]["both"]
    # a head position of the rig, moved on
    leaning = seen("--head", "leaning", "--offset=40,-10,0", "--turn=0")
    assert leaning["seen"] == pytest.approx(seen()["seen"])


def test_a_log_entry_stores_the_rig_with_what_was_set(call, little_rig, tmp_path):
    call("log", "add", "log", "--rig", little_rig, "--text", "Nearer.", "--set", f"{LENS}=90")
    [stored] = (tmp_path / "log").glob("*/rig/*.toml")
    assert "distance = 90\n" in stored.read_text("utf-8")
    assert "distance = 150\n" in (tmp_path / little_rig).read_text("utf-8")
