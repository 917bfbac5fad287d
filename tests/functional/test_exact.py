"""`seamsight exact`: tables and sentences for people, JSON for programs, and what it refuses."""

import json

import pytest

FEW = ("--builds", "64")


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


def test_json_has_its_fixed_names(run, careful_rig):
    told = json.loads(run("exact", careful_rig, *FEW, "--json").stdout)
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
    assert list(told["faults"]) == ["shown", "lost", "breaks_1", "breaks_5"]
    for fault in told["faults"].values():
        assert fault.keys() == {
            *("design", "at_all", "beyond", "asked", "worst", "matters", "factor", "single")
        }
        assert fault["matters"].keys() == {"screen_positions", "screen_angles"}
        assert 0 <= fault["beyond"] <= fault["at_all"] <= 1
    assert told["faults"]["breaks_1"]["beyond"] > 0.9


def test_people_get_tables_and_sentences(run, careful_rig):
    text = run("exact", careful_rig, *FEW, env={"COLUMNS": "80"}).stdout
    assert "64 builds were tried" in text
    assert "screen positions" in text
    assert "±2 mm" in text
    assert "lens" not in text.partition("tolerance  ")[2]  # there are none
    assert all(len(line) <= 80 for line in text.splitlines())
    assert run("exact", careful_rig, *FEW, env={"COLUMNS": "80"}).stdout == text


def test_a_tolerance_can_be_set(run, little_rig, careful_rig):
    exact = [f"--set=tolerance.{key}=0" for key in ("position", "angle", "toe")]
    told = json.loads(run("exact", careful_rig, *FEW, *exact, "--json").stdout)
    assert {fault["beyond"] for fault in told["faults"].values()} == {0.0}
    text = run("exact", careful_rig, *FEW, *exact).stdout
    assert "In 100 of 100 builds no eye loses a strip of an image: exact enough." in text


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
def test_wrong_usage(run, careful_rig, words, said):
    done = run("exact", careful_rig, *words, status=2, env={"COLUMNS": "200"})
    assert said in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize("value", ["-1", "1e9", "true", "'much'"])
def test_a_wrong_tolerance(run, careful_rig, value):
    done = run("exact", careful_rig, "--set", f"tolerance.position={value}", status=1)
    assert "tolerance: position" in done.stderr


def test_a_rig_without_an_outside_view(run, little_rig):
    assert "no screen of the outside view" in run("exact", little_rig, status=2).stderr


def test_a_rig_without_a_seam(run, tmp_path, sample_rigs):
    text = run("exact", sample_rigs / "desk_lens.toml", *FEW).stdout
    assert "There is no seam" in text
    assert "breaks" not in text
