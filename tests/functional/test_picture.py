"""`seamsight picture`: what its options change, and that the file tells how it was made."""

import shlex
from importlib.metadata import version

import numpy as np
import pytest
from PIL import Image

SMALL = ("--size", "800x350", "--samples", "1")


@pytest.fixture
def pixels(call, little_rig, tmp_path):
    """Return a small picture of the little rig, as an array; (h, w, 3)."""

    def pixels(*options: str) -> np.ndarray:
        out = tmp_path / "picture.png"
        assert call("picture", little_rig, out, "--force", *SMALL, *options).stdout == f"{out}\n"
        with Image.open(out) as picture:
            return np.asarray(picture)

    return pixels


@pytest.fixture
def usual(pixels):
    return pixels("--eye", "mid")


def test_every_sample_is_drawn_for_both_eyes(run, sample, tmp_path):
    run("picture", sample, tmp_path / "eyes.png", *SMALL)
    with Image.open(tmp_path / "eyes.png") as picture:
        both = np.asarray(picture)
    upper, lower = np.split(both, 2)
    assert (upper != lower).any(-1).mean() > 0.02
    assert len(np.unique(upper.reshape(-1, 3), axis=0)) > 100


@pytest.mark.parametrize(
    "options",
    [
        "--eye=left",
        "--eye=right",
        "--head=leaning",
        "--offset=0,100,0",
        "--without-lenses",
        "--projection=rectilinear",
        "--field=50",
        "--aim=5,-3",
        "--samples=2",
    ],
)
def test_an_option_changes_the_picture(pixels, usual, options):
    assert (pixels("--eye=mid", options) != usual).any(-1).mean() > 0.01


def test_a_dark_room_is_darker(pixels, usual):
    dark = pixels("--eye=mid", "--room=dark")  # one line of its caption more
    assert dark[-len(usual) :].mean() < 0.8 * usual.mean()


@pytest.mark.parametrize("options", ["--turn=20", "--nod=-15", "--tilt=10"])
def test_a_turned_face_turns_a_rectilinear_picture(pixels, options):
    straight = pixels("--eye=mid", "--projection=rectilinear")
    assert (pixels("--eye=mid", "--projection=rectilinear", options) != straight).any(
        -1
    ).mean() > 0.05


def test_what_is_left_out_is_what_the_help_says(pixels, usual):
    spelt_out = (
        "--head=design",
        "--offset=0,0,0",
        "--turn=0",
        "--nod=0",
        "--tilt=0",
        "--projection=equirectangular",
    )
    assert np.array_equal(pixels("--eye=mid", *spelt_out), usual)


def test_an_offset_adds_to_a_heads_own(pixels):
    by_offset = pixels(
        "--eye=mid", "--head=leaning", "--offset=40,-10,0", "--turn=0", "--field=80", "--aim=0,0"
    )
    upright = pixels("--eye=mid", "--field=80", "--aim=0,0")
    caption = 30
    assert np.array_equal(by_offset[caption:], upright[caption:])


def test_both_is_left_above_right(pixels):
    both, left, right = pixels("--eye=both"), pixels("--eye=left"), pixels("--eye=right")
    assert np.array_equal(both, np.concatenate([left, right]))


def test_size_is_that_of_each_eyes_picture(pixels, usual):
    larger = pixels("--eye=mid", "--size=900x390")
    assert np.subtract(larger.shape, usual.shape).tolist() == [40, 100, 0]


@pytest.mark.parametrize(
    "options",
    [
        ("--eye=mid",),
        ("--eye=mid", "--room=dark"),
        ("--eye=left", "--head=leaning", "--without-lenses"),
        (
            "--projection=rectilinear",
            "--head=leaning",
            "--offset=-7.25,0,1e-3",
            "--nod=-3",
            "--tilt=2.5",
        ),
        ("--eye=right", "--field=33.3333333333", "--aim=-1.1,0.7"),
    ],
)
def test_the_stored_command_makes_the_same_file_again(run, little_rig, tmp_path, options):
    out = tmp_path / "it's a picture.png"
    run("picture", little_rig.name, out.name, *SMALL, *options)
    first = out.read_bytes()
    words = shlex.split(_facts(out)["Command"])
    assert words[0] == "seamsight"
    out.unlink()
    run(*words[1:])
    assert out.read_bytes() == first


def test_the_file_tells_where_it_comes_from(run, little_rig, tmp_path):
    run("picture", little_rig, tmp_path / "a.png", *SMALL, "--head", "leaning")
    facts = _facts(tmp_path / "a.png")
    assert facts["Software"] == f"seamsight {version('seamsight')}"
    assert facts["Title"] == "Größe [[x]]"
    assert facts["Rig"] == str(little_rig)
    assert facts["Head"].startswith("leaning: ")


def _facts(path) -> dict[str, str]:
    with Image.open(path) as picture:
        picture.load()
        return {str(key): str(value) for key, value in picture.info.items()}
