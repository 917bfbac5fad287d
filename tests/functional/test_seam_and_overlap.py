"""`seamsight seam` and `seamsight overlap`: pictures that explain what two eyes make of a rig."""

import shlex

import numpy as np
import pytest
from PIL import Image

RIG = "harbour_floatplane.toml"


@pytest.fixture
def start(call, tmp_path):
    """A copy of the main sample in the folder where commands run."""
    call("start", tmp_path / RIG, "--from", "harbour_floatplane")


def test_overlap_of_every_sample_shows_both_single_eyes_and_neither(call, sample, tmp_path):
    out = tmp_path / "overlap.png"
    assert call("overlap", sample, out, "--size", "240x105").stdout == f"{out}\n"
    with Image.open(out) as picture:
        colours, counts = np.unique(
            np.asarray(picture)[30:120, 50:250].reshape(-1, 3), axis=0, return_counts=True
        )
    assert len(colours[counts > 20]) >= 4


@pytest.mark.parametrize(
    "words",
    [
        ("overlap", "--size=240x105", "--head=leaning left"),
        ("overlap", "--size=240x105", "--without-lenses", "--field=80", "--aim=20,-3"),
        ("seam",),
        ("seam", "--facing", "--between=outside.3,outside.2"),
        ("seam", "--without-lenses", "--head=tall pilot"),
    ],
)
@pytest.mark.usefixtures("start")
def test_the_stored_command_makes_the_same_file_again(call, tmp_path, words):
    command, *options = words
    call(command, RIG, "out.png", *options)
    first = (tmp_path / "out.png").read_bytes()
    with Image.open(tmp_path / "out.png") as picture:
        picture.load()
        again = shlex.split(picture.info["Command"])
    (tmp_path / "out.png").unlink()
    call(*again[1:])
    assert (tmp_path / "out.png").read_bytes() == first


@pytest.mark.usefixtures("start")
def test_facing_the_seam_and_another_seam_change_the_picture(call, tmp_path):
    def seam(*options: str) -> bytes:
        call("seam", RIG, "seam.png", "--force", *options)
        return Image.open(tmp_path / "seam.png").tobytes()

    usual = seam()
    assert usual not in (seam("--facing"), seam("--between=outside.2,outside.3"))


@pytest.mark.parametrize(
    "between", ["outside.1", "outside.1,outside.9", "outside.1,outside.1", ",", "map,main panel"]
)
@pytest.mark.usefixtures("start")
def test_a_seam_needs_two_screens(call, tmp_path, between):
    assert (
        "outside.1, outside.2"
        in call("seam", RIG, "seam.png", f"--between={between}", status=2).stderr
    )
    assert not (tmp_path / "seam.png").exists()


def test_a_rig_with_one_screen_has_no_seam(call, little_rig):
    assert (
        "no two screens of this rig are neighbours"
        in call("seam", little_rig, "seam.png", status=2).stderr
    )
