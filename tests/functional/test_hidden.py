"""`seamsight hidden`: a closed mesh, slices, what it says of each part, and what it refuses."""

import io
import json

import numpy as np
import pytest
import trimesh
from PIL import Image

from seamsight.viewer.pictures.room_slices import HIDDEN

RIG = """\
format = 1
name = "shelf"
[pilot]
eye_point = [0, 0, 0]
[[head]]
name = "aside"
offset = [300, 0, 0]
[[board]]
name = "front"
size = [300, 12, 200]
centre = [0, 400, 0]
[[board]]
name = "bracket"
size = [40, 40, 40]
centre = [0, 500, 120]
[[board]]
name = "cable duct"
size = [40, 40, 40]
centre = [0, 500, 0]
"""
COARSE = ("--step", "25", "--reach", "30,20,20")


@pytest.fixture
def shelf(tmp_path):
    (tmp_path / "shelf.toml").write_text(RIG, "utf-8")
    return "shelf.toml"


def test_a_closed_mesh_and_json_with_its_fixed_names(call, shelf, tmp_path):
    told = json.loads(call("hidden", shelf, "room.stl", *COARSE, "--json").stdout)
    mesh = trimesh.load_mesh(io.BytesIO((tmp_path / "room.stl").read_bytes()), file_type="stl")
    assert mesh.is_watertight
    assert mesh.volume / 1e6 == pytest.approx(told["litres"], rel=1e-4)

    keys = ("rig", "heads", "reach", "turn", "step", "looked_from", "left_out", "rays", "litres")
    assert list(told) == [*keys, "parts"]
    assert (told["heads"], told["reach"], told["turn"]) == (["design"], [30, 20, 20], 20)
    parts = {part["part"]: part for part in told["parts"]}
    seen = {name: part["seen"] for name, part in parts.items()}
    assert seen == {"front": True, "bracket": True, "cable duct": False}
    assert parts["bracket"]["head"]["offset"] == [0, 0, 0]
    assert parts["bracket"]["through"] is None
    assert parts["bracket"]["move"]["way"] == "down"
    assert parts["front"]["move"] is None
    nothing = {"head": None, "eye": None, "through": None, "move": None, "share": 0}
    assert parts["cable duct"] | nothing == parts["cable duct"]


def test_all_heads_hide_less_and_a_mesh_is_in_metres(call, shelf, tmp_path):
    words = (*COARSE, "--json")
    one = json.loads(call("hidden", shelf, "one.glb", *words).stdout)
    both = json.loads(call("hidden", shelf, "both.glb", *words, "--all-heads").stdout)
    assert both["heads"] == ["design", "aside"]
    assert both["litres"] < 0.8 * one["litres"]
    content = io.BytesIO((tmp_path / "one.glb").read_bytes())
    mesh = trimesh.load_mesh(content, file_type="glb")
    assert mesh.is_watertight
    assert mesh.volume * 1000 == pytest.approx(one["litres"], rel=1e-4)


def test_people_get_a_picture_and_a_table(run, shelf, tmp_path):
    (tmp_path / "room.png").write_bytes(b"mine")
    assert "exists" in run("hidden", shelf, "room.png", *COARSE, status=1).stderr
    assert (tmp_path / "room.png").read_bytes() == b"mine"

    words = (*COARSE, "--force")
    text = run("hidden", shelf, "room.png", *words, env={"COLUMNS": "80"}).stdout
    assert text.startswith("room.png\n")
    assert "Not seen: cable duct." in text
    assert "mm down" in text
    assert "no way in 200 mm" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    with Image.open(tmp_path / "room.png") as picture:
        assert "seamsight hidden" in picture.info["Command"]
        assert (np.asarray(picture) == HIDDEN).all(axis=2).sum() > 1000


@pytest.mark.parametrize(
    "words",
    [
        ("room.obj",),
        ("room",),
        ("room.stl", "--reach=-60,40,40"),
        ("room.stl", "--reach=60,40"),
        ("room.stl", "--reach=60,40,5000"),
        ("room.stl", "--turn=-5"),
        ("room.stl", "--step=0"),
        ("room.stl", "--step=nan"),
        ("room.stl", "--head=nobody"),
    ],
    ids=" ".join,
)
def test_wrong_usage(call, shelf, words, tmp_path):
    call("hidden", shelf, *words, status=2)
    assert not list(tmp_path.glob("room*"))


def test_too_fine_a_step(call, shelf):
    told = call("hidden", shelf, "room.stl", "--step", "0.5", status=2).stderr
    assert "cubes" in told
    assert "use a step of about" in told


def test_nothing_to_hide_behind(call, tmp_path):
    (tmp_path / "bare.toml").write_text(RIG.partition("[[board]]")[0], "utf-8")
    assert "no parts" in call("hidden", "bare.toml", "room.stl", status=2).stderr


def test_a_head_inside_a_part(call, little_rig):
    words = ("--head", "in the ceiling", "--reach", "0,0,0")
    assert "inside" in call("hidden", little_rig, "room.stl", *words, status=1).stderr
