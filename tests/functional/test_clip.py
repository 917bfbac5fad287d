"""`seamsight clip`: its options, files and errors."""

import pytest
from PIL.WebPImagePlugin import WebPImageFile

SMALL = ("--size", "96x64", "--seconds", "1")


def _lasts(path):
    """Return for how long a clip runs, ms; frames that are alike count as one that lasts longer."""
    with WebPImageFile(path) as read:
        time = 0
        for number in range(read.n_frames):
            read.seek(number)
            read.load()
            time += read.info["duration"]
        assert read.n_frames > 10
        return time


def _width(path):
    with WebPImageFile(path) as read:
        return read.width


def test_swaying_or_through_heads_it_writes_a_clip(call, little_rig, tmp_path):
    for name, options in {
        "a.webp": ["--seconds", "1.5"],
        "b.webp": ["--head", "design", "--head", "leaning"],
    }.items():
        assert call("clip", little_rig, name, *SMALL, *options).stdout == f"{name}\n"
    assert _lasts(tmp_path / "a.webp") == 1500
    assert _lasts(tmp_path / "b.webp") == 1000


def test_eye_size_and_lenses_change_it(call, little_rig, tmp_path):
    call("clip", little_rig, "both.webp", *SMALL)
    call("clip", little_rig, "left.webp", *SMALL, "--eye", "left")
    call("clip", little_rig, "bare.webp", *SMALL, "--eye", "left", "--without-lenses")
    assert _width(tmp_path / "both.webp") == 2 * 96 + 4
    assert _width(tmp_path / "left.webp") == 96
    assert (tmp_path / "bare.webp").read_bytes() != (tmp_path / "left.webp").read_bytes()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["c.gif"], "c.gif"),
        (["c.webp", "--head", "leaning"], "two head positions or more"),
        (["c.webp", "--head", "leaning", "--head", "leaning"], "identical"),
        (["c.webp", "--head", "design", "--head", "leanig"], 'did you mean "leaning"?'),
        (["c.webp", "--size", "63x64"], "63x64"),
        (["c.webp", "--size", "1921x64"], "1921x64"),
        (["c.webp", "--size", "640"], "640"),
        (["c.mp4", "--size", "97x64"], "even"),
        (["c.webp", "--seconds", "0.5"], "--seconds"),
        (["c.webp", "--seconds", "31"], "--seconds"),
        (["c.webp", "--seconds", "nan"], "--seconds"),
        (["c.webp", "--eye", "third"], "third"),
        (["c.webp", "--size", "1920x1080", "--seconds", "20"], "do not fit in memory"),
    ],
)
def test_wrong_usage_ends_in_2(call, little_rig, tmp_path, words, said):
    done = call("clip", little_rig, *words, status=2)
    assert said in done.stderr
    assert list(tmp_path.iterdir()) == [little_rig]


def test_a_way_through_a_part_ends_in_1_with_one_line(call, little_rig, tmp_path):
    done = call(
        "clip",
        little_rig,
        "c.webp",
        "--head",
        "design",
        "--head",
        "in the ceiling",
        *SMALL,
        status=1,
    )
    assert len(done.stderr.splitlines()) == 1
    assert 'through "höhe [bold]"' in done.stderr
    assert list(tmp_path.iterdir()) == [little_rig]


def test_an_existing_clip_stays_without_force(call, little_rig, tmp_path):
    (tmp_path / "c.webp").write_text("mine")
    assert "--force" in call("clip", little_rig, "c.webp", status=1).stderr
    assert (tmp_path / "c.webp").read_text() == "mine"
