"""`seamsight lenses`: tables for people, JSON and CSV for programs, and what it refuses."""

import csv
import json

import pytest

KINDS = 5
ROW_KEYS = {
    *("width", "height", "focal_length", "distance", "magnification"),
    *("impossible", "head_room", "runs_into", "kinds"),
}
KIND_KEYS = {"lens", "field", "lost", "dark", "light", "blur", "distortion"}


@pytest.fixture
def row_rig(tmp_path):
    file = tmp_path / "row.toml"
    file.write_text(
        'format = 1\nname = "wall"\n[pilot]\neye_point = [0, 0, 0]\n'
        '[[bank]]\nname = "row"\ncount = 2\nradius = 600\n'
        "screen = { width = 480, height = 300, pixels = [800, 500] }\n"
        "lens = { focal_length = 450, magnification = 1.5, width = 524, height = 328 }\n",
        "utf-8",
    )
    return file


WORDS = ("--size", "524x327.5,20 x 12.5 in", "--focal-length", "450,60 cm,45 cm")


def test_json_has_its_fixed_names(call, row_rig):
    told = json.loads(call("lenses", row_rig, *WORDS, "--json").stdout)
    assert (told["rig"], told["screen"], told["head"]) == ("wall", "row", "design")
    lenses = told["lenses"]
    # 45 cm is 450 mm once more
    tried = [(lens["width"], lens["focal_length"]) for lens in lenses]
    assert tried == [(524, 450), (524, 600), (508, 450), (508, 600)]
    for lens in lenses:
        assert lens.keys() == ROW_KEYS
        assert [kind.keys() == KIND_KEYS for kind in lens["kinds"]] == [True] * len(lens["kinds"])
        assert bool(lens["impossible"]) == (lens["focal_length"] == 600) == (not lens["kinds"])
    # d = f R (1 - w / W) / (R - f), from the thin lens law
    assert lenses[0]["distance"] == pytest.approx(450 * 600 * (1 - 480 / 524) / 150)
    assert lenses[0]["head_room"].keys() == {"left", "right", "forward", "back"}
    assert told["best"]["lens"] in (0, 2) and told["best"]["kind"] != "ideal"


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_people_get_tables_in_any_width(run, row_rig, columns):
    text = run("lenses", row_rig, *WORDS, env={"COLUMNS": str(columns)}).stdout
    assert all(len(line) <= columns for line in text.splitlines())
    words = " ".join(text.split())
    assert "524 × 327.5 mm with a focal length of 600 mm is impossible: no distance" in words
    assert "Both eyes see most through a real lens of" in words
    assert text.count("ideal ") >= 2
    for name in ("524×327.5,", "508×317.5,", "screen", "pilot", "stock,"):
        assert name in words


def test_csv_has_a_row_for_each_kind_of_lens(call, row_rig, tmp_path):
    call("lenses", row_rig, *WORDS, "--csv", "lenses.csv")
    with (tmp_path / "lenses.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 2 * KINDS + 2
    assert sum(row["impossible"] != "" for row in rows) == 2
    assert float(rows[0]["field_h"]) > 40 and rows[0]["kind"] == "ideal"
    before = (tmp_path / "lenses.csv").read_bytes()
    assert "--force" in call("lenses", row_rig, *WORDS, "--csv", "lenses.csv", status=1).stderr
    assert (tmp_path / "lenses.csv").read_bytes() == before
    call("lenses", row_rig, *WORDS, "--csv", "lenses.csv", "--force", "--distance", "keep")
    assert (tmp_path / "lenses.csv").read_bytes() != before


def test_keep_and_set_and_screen(call, row_rig):
    words = ("--size", "524x328", "--focal-length", "450", "--distance", "keep", "--json")
    (lens,) = json.loads(call("lenses", row_rig, *words).stdout)["lenses"]
    assert lens["magnification"] == pytest.approx(1.5)
    weaker = ("--screen", "row", "--set", "row.lens.magnification=1.2")
    (lens,) = json.loads(call("lenses", row_rig, *words, *weaker).stdout)["lenses"]
    assert lens["magnification"] == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--size", "524", "--focal-length", "450"), "'524'"),
        (("--size", "524x20", "--focal-length", "450"), "--size"),
        ((*WORDS, "--csv", "row.toml", "--force"), "must end in .csv"),
        (("--size", "524x328,", "--focal-length", "450"), "--size"),
        (("--size", "524x328", "--focal-length", "near"), "'near'"),
        (("--size", "524x328", "--focal-length", "450,"), "--focal-length"),
        (("--size", "524x328", "--focal-length", "5"), "'5'"),
        (("--size", "524x328"), "--focal-length"),
        ((*WORDS, "--distance", "far"), "'far'"),
        ((*WORDS, "--screen", "rwo"), 'mean "row"'),
        ((*WORDS, "--head", "nobody"), "nobody"),
        (
            (
                *("--size", ",".join(f"{width}x300" for width in range(500, 561))),
                *("--focal-length", "450"),
            ),
            "61 combinations",
        ),
    ],
)
def test_wrong_usage(call, row_rig, words, said):
    done = call("lenses", row_rig, *words, status=2)
    assert said in done.stderr
    assert done.stdout == ""


def test_a_rig_without_lenses(call, row_rig):
    text = row_rig.read_text("utf-8")
    row_rig.write_text("\n".join(text.splitlines()[:-1]), "utf-8")
    assert "no lens" in call("lenses", row_rig, *WORDS, status=2).stderr
