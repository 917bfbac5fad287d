"""`seamsight check`: tables and words for people, one JSON object for programs."""

import json
import math

import pytest
import trimesh
from rich.cells import cell_len

from seamsight.scene import read_rig

SIDES = {"left", "right", "top", "bottom"}
EYES = {"left", "right", "mid"}
SCREEN_KEYS = {
    "magnification": None,
    "image_distance": None,
    "image_dioptres": None,
    "outside": None,
    "span": {"h", "v"},
    "visible": {"left", "right", "both", "either"},
    "arcmin_per_px": {"h", "v"},
    "seen": {"left", "right", "both", "either"},
    "through": None,
    "unsure": {"seen", "hidden_by"},
    "margin": SIDES,
    "gap_needed": SIDES,
    "frustum": {"left", "right", "bottom", "top", "yaw", "pitch", "roll"},
}


@pytest.fixture(scope="module")
def checked(command, sample):
    return command("check", sample, "--json")


@pytest.fixture(scope="module")
def numbers(checked):
    return json.loads(checked.stdout)


def test_no_sample_has_a_minus_zero_or_a_warning(checked):
    assert "-0.0," not in checked.stdout and "-0.0\n" not in checked.stdout
    # what stands on standard error is progress alone
    assert all(line.startswith("seamsight: ") for line in checked.stderr.splitlines())


def test_numbers_of_every_sample_have_their_fixed_names(numbers):
    assert numbers.keys() >= {"rig", "head", "screens", "hidden_by", "cautions"}
    assert numbers["head"] == "design"
    assert numbers["screens"].keys() == numbers["hidden_by"].keys()
    for screen in numbers["screens"].values():
        assert screen.keys() >= SCREEN_KEYS.keys()
        for key, keys in SCREEN_KEYS.items():
            assert keys is None or screen[key].keys() == keys
        assert all(by_eye.keys() == EYES for by_eye in screen["margin"].values())


def test_shares_of_every_sample_add_up(numbers):
    for name, screen in numbers["screens"].items():
        seen = screen["seen"]
        assert 0 <= seen["both"] <= min(seen["left"], seen["right"])
        assert max(seen["left"], seen["right"]) <= seen["either"] <= 1 + 1e-9
        assert math.isclose(
            seen["both"] + seen["either"], seen["left"] + seen["right"], abs_tol=1e-9
        )
        mean = (seen["left"] + seen["right"]) / 2
        assert math.isclose(mean + sum(numbers["hidden_by"][name].values()), 1, abs_tol=1e-6)


def test_text_names_every_screen_of_every_sample(run, sample, numbers):
    text = run("check", sample, env={"COLUMNS": "120"}).stdout
    for name in numbers["screens"]:
        assert f"\n {name} " in text  # whole, at the start of a table's row


def test_seams_of_every_sample_stand_between_neighbours(numbers):
    for seam in numbers["seams"]:
        assert set(seam["between"]) <= numbers["screens"].keys()
        assert seam.keys() >= {
            "between",
            "dark",
            "lost",
            "both_whole",
            "gap_present",
            "gap_needed",
            "facing",
        }
        assert seam["dark"].keys() == EYES


HEADS = ("design", "leaning")


def test_a_named_head_is_the_one_that_is_measured(run, little_rig):
    design, leaning = (
        json.loads(run("check", little_rig, "--json", "--head", name).stdout) for name in HEADS
    )
    assert (design["head"], leaning["head"]) == HEADS
    moved = [numbers["screens"]["[[x]]"]["image_distance"] for numbers in (design, leaning)]
    assert math.isclose(moved[0], 600 + 1.5 * 150)  # e + M d
    # the eyes swing 10 degrees about the neck, 100 mm behind them, 10 mm further on
    assert math.isclose(moved[1], moved[0] - 10 + 100 * (1 - math.cos(math.radians(10))))


def test_names_with_brackets_and_umlauts_come_through(run, little_rig):
    assert 'Größe [[x]], head position "design"\n' in run("check", little_rig).stdout
    assert json.loads(run("check", little_rig, "--json").stdout)["rig"] == "Größe [[x]]"
    assert [row["name"] for row in json.loads(run("parts", little_rig, "--json").stdout)][
        -1
    ] == "höhe [bold]"
    assert " höhe [bold] " in run("parts", little_rig).stdout


@pytest.mark.parametrize(
    ("content", "told"),
    [(None, "is missing: no such file"), (b"solid", "contains no triangles")],
)
def test_a_mesh_replaced_while_its_rig_is_read_is_told_in_one_line(
    call, little_rig, monkeypatch, content, told
):
    mesh = little_rig.with_name("box.stl")
    mesh.write_bytes(trimesh.creation.box((40, 40, 40)).export(file_type="stl"))
    with little_rig.open("a") as text:
        text.write('[[mesh]]\nname = "box"\nfile = "box.stl"\ncentre = [0, 300, 1000]\n')

    def read_and_replaced(file, changes):
        rig = read_rig(file, changes)
        mesh.unlink() if content is None else mesh.write_bytes(content)
        return rig

    monkeypatch.setattr("seamsight.cli.options.read_rig", read_and_replaced)
    lines = call("check", little_rig, status=1).stderr.splitlines()
    assert len(lines) == 1 and lines[0].startswith(f"{mesh} {told}")


@pytest.mark.parametrize("columns", [60, 80, 100, 120])
def test_text_fits_any_width_and_loses_no_name(call, monkeypatch, sample, numbers, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    text = call("check", sample, "--all").stdout
    lines = text.splitlines()
    assert max(cell_len(line.rstrip()) for line in lines) <= columns
    assert "…" not in text and "\x1b" not in text
    for name in numbers["screens"]:
        assert all(word in text for word in name.split())


def test_the_answer_takes_ten_lines_at_most(call, monkeypatch, sample):
    monkeypatch.setenv("COLUMNS", "80")
    lines = call("check", sample).stdout.splitlines()
    assert 2 <= lines.index("") <= 11
    assert lines[0].endswith('head position "design"')


def test_cautions_are_a_line_each_and_in_full_when_asked(call, monkeypatch, sample, numbers):
    monkeypatch.setenv("COLUMNS", "80")
    short = call("check", sample).stdout
    after = short.splitlines()[short.splitlines().index("Cautions") + 1 :]
    assert len(after) == len(numbers["cautions"])
    assert all(line.startswith("  ") and line.endswith(".") for line in after)
    full = " ".join(call("check", sample, "--cautions").stdout.split())
    assert all(caution in full for caution in numbers["cautions"])


IN_THE_WAY = """
[[board]]
name = "shelf"
size = [100, 100, 20]
centre = [0, 760, 1000]
"""


def test_strict_ends_with_an_error_after_printing(run, little_rig):
    before = little_rig.read_text("utf-8").replace("focal_length = 450", "focal_length = 900")
    little_rig.write_text(before, "utf-8")
    plain = run("check", little_rig)
    assert "before you build" not in plain.stdout
    assert run("check", little_rig, "--strict").stdout == plain.stdout

    little_rig.write_text(before + IN_THE_WAY, "utf-8")
    lines = run("check", little_rig).stdout.splitlines()
    [told] = [line for line in lines if "run into each other" in line]
    assert told.startswith(f"  Line {before.count(chr(10)) + 2}: ")
    for options in ((), ("--json",)):
        ended = run("check", little_rig, "--strict", *options, status=1)
        assert "run into each other" in ended.stdout
        [line] = [line for line in ended.stderr.splitlines() if not line.startswith("seamsight:")]
        assert line == f"{little_rig}: 1 thing to check before you build (--strict)"


def test_a_link_that_is_too_slow_is_told_with_its_line(run, little_rig):
    before = little_rig.read_text("utf-8")
    output = '\n[[output]]\nname = "DP 1"\nscreens = ["[[x]]"]\nlink = "HDMI 1.2"\n'
    large = output + "pixels = [3840, 2160]\n"
    little_rig.write_text(before + large, "utf-8")
    text = " ".join(run("check", little_rig).stdout.split())
    line = before.count(chr(10)) + 5
    assert f"Line {line}: the links of DP 1 cannot carry what it sends" in text
    little_rig.write_text(before + output, "utf-8")
    assert "DP 1" not in run("check", little_rig).stdout


def test_notes_of_every_sample_have_their_fixed_names(numbers):
    for note in numbers["notes"]:
        assert note.keys() == {"kind", "names", "text", "amount", "line"}
        assert note["kind"] in ("clash", "unit", "misfit")
        assert note["line"] >= 1 and not note["text"].endswith(".")
