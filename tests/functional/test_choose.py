"""`seamsight choose`: tables for people, JSON for programs, a new rig file, and what it refuses."""

import json
import signal
import subprocess
import sys
import tomllib

import pytest

RIG = """\
format = 1
name = "wall"
[pilot]
eye_point = [0, 0, 0]
[free]
"row.lens.distance" = "100..200"    # what the shelf allows
[[head]]
name = "aside"
offset = [15, 0, 0]
[[bank]]
name = "row"        # three screens
count = 3
radius = "60 cm"
screen = { width = 480, height = 300, pixels = [800, 500] }
lens = { focal_length = 450, magnification = 1.5, width = 524, height = 360 }
"""
GOAL = ("--goal", "magnification")


@pytest.fixture
def row_rig(tmp_path):
    file = tmp_path / "row.toml"
    file.write_text(RIG, "utf-8")
    return file


def test_json_has_its_fixed_names_and_the_file_gives_the_same_numbers(call, row_rig, tmp_path):
    new = tmp_path / "new.toml"
    words = (*GOAL, "--room", "10", "--json")
    told = json.loads(call("choose", row_rig, *words, "--write", new).stdout)
    assert told["possible"] and told["goals"] == ["magnification"] and told["head"] == "design"
    assert told.keys() == {
        *("rig", "head", "heads", "goals", "possible", "now", "changes", "before", "figures"),
        *("at_ends", "constraints", "curve", "all_parts", "tried"),
    }
    assert told["now"] == {"row.lens.distance": pytest.approx(150)}
    seen, room = told["constraints"]
    assert (seen["figure"], room["figure"], room["value"]) == ("seen", "head-room", 10)
    assert room["reached"] and not seen["reached"]
    assert told["figures"]["head-room"] == pytest.approx(10, abs=0.2)
    assert told["all_parts"]["head_room"] == pytest.approx(told["figures"]["head-room"], abs=0.3)

    # comments are kept, and the magnification that the file has is written in place of a distance
    lines = zip(RIG.splitlines(), new.read_text("utf-8").splitlines(), strict=True)
    [(_, line)] = [(before, after) for before, after in lines if before != after]
    assert line.startswith("lens = { focal_length = 450, magnification = ")
    again = json.loads(call("choose", new, *words).stdout)
    for key, value in told["figures"].items():
        assert again["before"][key] == pytest.approx(value, abs=1e-6)
    assert call("choose", row_rig, *GOAL, "--write", new, status=1).stderr.startswith(str(new))


def test_people_get_a_curve_and_a_picture(run, row_rig, tmp_path):
    picture, new = tmp_path / "curve.png", tmp_path / "new.toml"
    two = (*GOAL, "--goal", "head-room", "--picture", picture, "--write", new, "--pick", "1")
    done = run("choose", row_rig, *two, env={"COLUMNS": "80"})
    *lines, path = done.stdout.splitlines()
    assert path == str(new) and all(len(line) <= 80 for line in lines)
    assert "Trade-off curve" in done.stdout and "(middle)" in done.stdout
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert tomllib.loads(new.read_text("utf-8"))["bank"][0]["lens"]["magnification"] > 1.5


def test_constraints_that_exclude_each_other_end_with_1(call, row_rig, tmp_path):
    new = tmp_path / "new.toml"
    words = (*GOAL, "--magnification", "1.5", "--room", "5 cm", "--write", new)
    done = call("choose", row_rig, *words, status=1)
    said = [line for line in done.stderr.splitlines() if not line.endswith("…")]  # no progress
    assert len(said) == 1 and "These exclude each other" in said[0]
    assert "head room at least 50.0 mm" in done.stderr
    assert "magnification at least 1.50 ×" in done.stderr
    assert "Values" in done.stdout and not new.exists()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--goal", "cheap"), "there is no goal 'cheap'"),
        (GOAL * 2, "two different ones"),
        ((*GOAL, "--free", "row.radius=700..600"), "from the lower number to the higher"),
        ((*GOAL, "--free", "row.radius=-1..600"), "must be from 0.01 to 100000"),
        ((*GOAL, "--free", "row.radios=1..600"), 'there is no key "radios"'),
        ((*GOAL, "--free", "row.radius"), "needs PATH=VALUES"),
        ((*GOAL, "--free", "row.lens.magnification=1.1..2"), "make only one of them free"),
        ((*GOAL, "--room", "far"), "is not a length"),
        ((*GOAL, "--magnification", "-1"), "must be above 0"),
        ((*GOAL, "--hide", "seat"), "must be bezel, bracket or frame"),
        ((*GOAL, "--at", "nowhere"), "there is no head position 'nowhere'"),
        ((*GOAL, "--head", "nowhere"), 'there is no head position "nowhere"'),
        ((*GOAL, "--write", "new.txt"), "must end in .toml"),
        ((*GOAL, "--picture", "new.png"), "give a second --goal"),
    ],
)
def test_wrong_usage_ends_with_2(call, row_rig, words, says):
    error = " ".join(call("choose", row_rig, *words, status=2).stderr.replace("│", "").split())
    assert says in error


def test_wrong_rigs_end_with_1(call, row_rig, tmp_path):
    row_rig.write_text(RIG.replace("100..200", "200..100"), "utf-8")
    assert f"{row_rig}:6: " in call("choose", row_rig, *GOAL, status=1).stderr
    row_rig.write_text(RIG, "utf-8")
    assert "an ideal one" in call("choose", row_rig, "--goal", "blur", status=1).stderr
    free = ("--free", "row.gap=0..5", "--write", tmp_path / "new.toml")
    assert (
        "is not written in the rig file" in call("choose", row_rig, *GOAL, *free, status=1).stderr
    )


def test_ctrl_c_says_what_was_best(row_rig):
    words = [*GOAL, "--goal", "head-room", "--free", "row.radius=500..700"]
    command = [sys.executable, "-m", "seamsight.cli", "choose", str(row_rig), *words]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if "searching" in line:
                break
        process.send_signal(signal.SIGINT)
        rest = process.stderr.read()
        assert process.wait(20) == 130
    assert "stopped; the best so far: row.lens.distance = " in rest
    assert "Traceback" not in rest
