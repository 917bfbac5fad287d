"""`seamsight exact`: tables and sentences for people, JSON for programs, and what it refuses."""

import json

import pytest

FEW = ("--builds", "64")
KEYS = ["shown", "shown_more", "lost", "lost_more", "breaks_1", "breaks_5"]


@pytest.fixture
def careful_rig(tmp_path):
    """Return a rig file with two bare screens, and a tolerance of its own."""
    file = tmp_path / "rig.toml"
    screens = "".join(
        f'[[screen]]\nname = "{name}"\nwidth = 400\nheight = 300\npixels = [800, 600]\n'
        f"bezel = 19\ncentre = [{x}, 600, 0]\n"
        for name, x in (("left", -220), ("right", 220))
    )
    file.write_text(
        'format = 1\nname = "wall"\n[pilot]\neye_point = [0, 0, 0]\n'
        f'[tolerance]\nposition = "2 mm"\n{screens}'
        '[[head]]\nname = "behind"\noffset = [0, 900, 0]\n',
        "utf-8",
    )
    return file


def test_json_has_its_fixed_names(call, careful_rig):
    told = json.loads(call("exact", careful_rig, *FEW, "--json").stdout)
    assert list(told) == ["rig", "head", "builds", "wanted", "tolerance", "faults"]
    assert told["tolerance"] == {
        "position": 2.0,
        "angle": 0.25,
        "focal_length": 5.0,
        "lens_size": 1.0,
        "toe": 0.25,
        "board_position": 2.0,
        "board_angle": 0.25,
    }
    assert list(told["faults"]) == KEYS
    for fault in told["faults"].values():
        assert fault.keys() == {
            *("design", "chance", "worst", "matters", "factor", "single", "rest")
        }
        assert fault["matters"].keys() == {"screen_positions", "screen_angles"}
        assert fault["worst"].keys() == {"place", "chance", "part"}
        assert 0 <= fault["worst"]["chance"] <= fault["chance"] <= 1
    assert told["faults"]["breaks_1"]["chance"] > 0.9


def test_people_get_tables_and_sentences(call, careful_rig, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    text = call("exact", careful_rig, *FEW).stdout
    assert "64 builds were tried" in text
    assert "screen positions" in text
    assert "±2 mm" in text
    assert "lens" not in text.partition("tolerance  ")[2]  # there are none
    assert all(len(line) <= 80 for line in text.splitlines())
    assert call("exact", careful_rig, *FEW).stdout == text


def test_a_tolerance_can_be_set(call, careful_rig):
    exact = [f"--set=tolerance.{key}=0" for key in ("position", "angle", "toe")]
    told = json.loads(call("exact", careful_rig, *FEW, *exact, "--json").stdout)
    chances = [fault["chance"] for fault in told["faults"].values()]
    assert chances == [1.0, 0.0, 0.0, 0.0, 0.0, 0.0]  # bezels show in the rig as designed
    text = call("exact", careful_rig, *FEW, *exact).stdout
    assert "In all builds no eye loses a strip of an image: exact enough." in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--builds", "1000"), "power of two"),
        (("--builds", "32"), "from 64 to 65536"),
        (("--builds", "131072"), "from 64 to 65536"),
        (("--builds", "-64"), "power of two"),
        (("--wanted", "1"), "below 1"),
        (("--wanted", "0"), "above 0"),
        (("--wanted", "nan"), "above 0"),
        (("--head", "nobody"), "nobody"),
        (("--head", "behind"), "in front of both eyes"),
        (("--set", "tolerance.postion=1"), 'did you mean "position"?'),
    ],
)
def test_wrong_usage(call, careful_rig, words, said):
    done = call("exact", careful_rig, *words, status=2)
    assert said in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize("value", ["-1", "1e9", "true", "'much'"])
def test_a_wrong_tolerance(call, careful_rig, value):
    done = call("exact", careful_rig, "--set", f"tolerance.position={value}", status=1)
    assert "tolerance: position" in done.stderr


def test_a_rig_without_an_outside_view(call, little_rig):
    assert "no screen of the outside view" in call("exact", little_rig, status=2).stderr


def test_a_rig_without_a_seam(call, sample_rigs):
    text = call("exact", sample_rigs / "desk_lens.toml", *FEW).stdout
    assert "There is no seam" in text
    assert "breaks" not in text
