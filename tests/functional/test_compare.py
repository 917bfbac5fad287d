"""`seamsight compare`: what is held against what, the sheet's own command, and wrong usage."""

import json
import math
import shlex

import numpy as np
import pytest
from PIL import Image

SMALL = ("--size", "300x150")


def facts(path):
    with Image.open(path) as picture:
        picture.load()
        return picture.info


@pytest.fixture
def wider(little_rig, tmp_path):
    """Return the little rig with a wider lens, in a file of its own."""
    path = tmp_path / "wider.toml"
    path.write_text(little_rig.read_text("utf-8").replace("width = 517", "width = 560"), "utf-8")
    return path


def test_all_combinations_are_held_against_the_first(call, little_rig, wider):
    words = ("--with", wider, "--head=design", "--head=leaning", "--lenses=both")
    told = call("compare", little_rig, "sheet.png", *SMALL, "--eye=left", *words, "--json")
    found = json.loads(told.stdout)
    chosen = [(item["item"], item["file"], item["head"], item["lenses"]) for item in found["items"]]
    assert chosen == [
        (letter, str(file), head, lenses)
        for letter, (file, head, lenses) in zip(
            "ABCDEFGH",
            [
                (file, head, on)
                for file in (little_rig, wider)
                for head in ("design", "leaning")
                for on in (True, False)
            ],
            strict=True,
        )
    ]
    assert "sheet.png" in told.stderr
    assert all(len(row["values"]) == len(row["verdicts"]) == 8 for row in found["rows"])


def test_the_numbers_are_those_of_check(call, little_rig, wider):
    found = json.loads(
        call("compare", little_rig, "sheet.png", *SMALL, "--with", wider, "--json").stdout
    )
    for item, file in zip(found["items"], (little_rig, wider), strict=True):
        checked = json.loads(call("check", file, "--json").stdout)
        for screen in checked["screens"].values():
            screen["lens_models"] = None  # `check` alone asks for them
        assert item["numbers"] == {
            key: value for key, value in checked.items() if key != "cautions"
        }
    row = next(row for row in found["rows"] if row["what"] == "lost at the right, left + right eye")
    # half of 43 mm more lens, seen on the screen: by a thin lens, where the edge is at
    # a + d ((a - x) / e - a / f), it is 21.5 (1 + d/e - d/f) wider
    gain = 21.5 * (1 + 150 / 600 - 150 / 450)
    lost = [
        max(0.0, -found["items"][0]["numbers"]["screens"]["[[x]]"]["margin"]["right"][eye])
        for eye in ("left", "right")
    ]
    assert row["values"] == pytest.approx(
        [sum(lost), sum(max(0.0, width - gain) for width in lost)]
    )
    assert row["verdicts"] == ["", "better"]


def test_the_table_says_in_words_what_is_better(call, little_rig, wider):
    told = call("compare", little_rig, "sheet.png", *SMALL, "--with", wider)
    lines = told.stdout.split("\n")
    assert lines[0] == "sheet.png"
    assert lines[1].startswith("  A: rig.toml · Größe [[x]] · design:")
    assert any(line.startswith("  B: wider.toml · Größe [[x]] · design:") for line in lines)
    assert any("seen by both eyes" in line and line.rstrip().endswith("(better)") for line in lines)
    assert any(line.startswith("  Rows not shown: ") for line in lines)


def test_eyes_stand_side_by_side_and_items_one_below_the_other(call, little_rig):
    sizes = {}
    for eye in ("left", "both"):
        call("compare", little_rig, "sheet.png", *SMALL, "--lenses=both", f"--eye={eye}", "--force")
        with Image.open("sheet.png") as sheet:
            sizes[eye] = sheet.size
    assert sizes["both"][0] > 1.9 * 300 and sizes["left"][1] > 2 * 150


@pytest.mark.parametrize(
    "options", [("--lenses=both", "--eye=mid"), ("--head=leaning", "--head=design")]
)
def test_the_stored_command_makes_the_same_sheet_again(call, little_rig, tmp_path, options):
    out = tmp_path / "it's a sheet.png"
    call("compare", little_rig.name, out.name, *SMALL, *options)
    first = out.read_bytes()
    words = shlex.split(facts(out)["Command"])
    assert words[:2] == ["seamsight", "compare"]
    out.unlink()
    call(*words[1:])
    assert out.read_bytes() == first


def test_lens_models_are_held_to_the_ideal_one(call, little_rig):
    words = ("compare", little_rig, "sheet.png", *SMALL, "--eye=mid", "--lens-models")
    found = json.loads(call(*words, "--json").stdout)
    checked = json.loads(call("check", little_rig, "--json").stdout)["screens"]["[[x]]"]
    models = [model["lens"] for model in checked["lens_models"]]
    assert [item["lens_model"] for item in found["items"]] == models
    assert models[0] == "ideal" and checked["lens_models"][0]["in_rig"] and len(models) == 5
    rows = {row["what"]: row for row in found["rows"] if row["where"] == "[[x]]"}
    for what, key in (
        ("distortion at the image's edge", "distortion"),
        ("blur in the corners", "blur"),
    ):
        values = [model[key] for model in checked["lens_models"]]
        if key == "blur":
            values = [value["corner"] for value in values]
        assert rows[what]["values"] == pytest.approx(values, abs=1e-4)
    assert rows["light in the corners"]["values"][0] == 100
    assert set(rows["light in the corners"]["verdicts"][1:]) == {"worse"}
    sheet = shlex.split(facts("sheet.png")["Command"])
    assert "--lens-models" in sheet


WRONG = [
    (("--lens-models", "--lenses=both"), "leave out --lenses"),
    ((), "nothing to compare with"),
    (("--head=leaning",), "nothing to compare with"),
    (("--head=design", "--head=design"), "nothing to compare with"),
    (("--head=design", "--head=nowhere"), 'there is no head position "nowhere"'),
    (("--lenses=both", "--match=1,1=2,2"), "needs --photo"),
    (("--lenses=both", "--size=7"), "needs width and height such as 1600x700"),
    (("--photo=seat.png",), "at least 4 matched points (got 0)"),
    (("--photo=seat.png", "--match=1,1"), "needs X,Y=AZ,EL or X,Y=SCREEN top left"),
    (("--photo=seat.png", "--match=1,1=y top left"), 'there is no corner "top left" of "y"'),
    (("--photo=seat.png", "--lenses=both"), "one rig, one head position and one eye"),
    (("--photo=seat.png", "--eye=both"), "one rig, one head position and one eye"),
]


@pytest.mark.parametrize(("options", "words"), WRONG)
def test_wrong_usage_is_told(call, little_rig, tmp_path, options, words):
    Image.new("RGB", (30, 20)).save(tmp_path / "seat.png")
    told = call("compare", little_rig, "sheet.png", *options, status=2)
    assert words in " ".join(told.stderr.split())
    assert not (tmp_path / "sheet.png").exists()


def test_lens_models_need_lenses_and_room_for_them(call, little_rig):
    whole = little_rig.read_text("utf-8")
    little_rig.write_text(whole.partition("[[lens]]")[0], "utf-8")
    told = call("compare", little_rig, "sheet.png", "--lens-models", status=2)
    assert "rig.toml has no lens" in " ".join(told.stderr.split())
    thick = whole.replace("distance = 150", "distance = 5\nthickness = 6")
    little_rig.write_text(thick, "utf-8")
    told = call("compare", little_rig, "sheet.png", "--lens-models", status=2)
    words = "thickness must be below the distance to the screen, 5 (got 6)"
    assert words in " ".join(told.stderr.split())


def test_more_than_twelve_are_too_many(call, little_rig, tmp_path):
    others = []
    for number in range(6):
        others += ["--with", tmp_path / f"{number}.toml"]
    told = call("compare", little_rig, "sheet.png", *others, "--lenses=both", status=2)
    assert "these options combine to 14" in " ".join(told.stderr.split())


def test_a_head_must_be_in_every_rig(call, little_rig, wider):
    wider.write_text(
        wider.read_text("utf-8").replace('name = "leaning"', 'name = "lurking"'), "utf-8"
    )
    told = call("compare", little_rig, "sheet.png", "--with", wider, "--head=leaning", status=2)
    assert 'wider.toml: there is no head position "leaning" in this rig' in " ".join(
        told.stderr.split()
    )


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--with=gone.toml",), "gone.toml: no such file"),
        (("--photo=gone.jpg", "--match=1,1=2,2"), "the photograph gone.jpg cannot be opened"),
        (
            ("--photo=rig.toml", "--match=1,1=2,2"),
            "the photograph rig.toml is not a readable picture",
        ),
        (("--lenses=both", "--head=in the ceiling"), "höhe [bold]"),
    ],
)
def test_a_wrong_file_or_place_is_told_in_one_line(call, little_rig, options, words):
    told = call("compare", little_rig, "sheet.png", *SMALL, *options, status=1)
    assert (
        words in told.stderr.splitlines()[-1] and len(told.stderr.splitlines()) <= 2
    )  # it may say what takes long


def test_an_existing_sheet_is_kept(call, little_rig, tmp_path):
    (tmp_path / "sheet.png").write_bytes(b"mine")
    told = call("compare", little_rig, "sheet.png", "--lenses=both", status=1)
    assert "--force" in told.stderr and (tmp_path / "sheet.png").read_bytes() == b"mine"


def test_a_photograph_is_placed_by_the_corners_of_a_screen(call, little_rig, tmp_path):
    pytest.importorskip("cv2")
    call(
        "picture",
        little_rig,
        "whole.png",
        "--eye=mid",
        "--projection=rectilinear",
        "--size=400x300",
        "--field=60",
    )
    with Image.open("whole.png") as whole:  # the picture itself, without caption and scale
        left = 40
        top = whole.height - 26 - 300
        whole.crop((left, top, left + 400, top + 300)).save("seat.png")
    # thin lens: 22 in at 16:10, 473.9 x 296.2 mm, looks 1.5 times as large, 225 mm behind a lens
    # 600 mm ahead
    per_tangent = 200 / math.tan(math.radians(30))
    half = [
        1.5 * side / 2 / 825 * per_tangent
        for side in (22 * 25.4 * 16 / math.hypot(16, 10), 22 * 25.4 * 10 / math.hypot(16, 10))
    ]
    matches = [
        f"--match={200 + across * half[0]},{150 - up * half[1]}=[[x]] {vertical} {horizontal}"
        for vertical, up in (("top", 1), ("bottom", -1))
        for horizontal, across in (("left", -1), ("right", 1))
    ]
    told = call(
        "compare",
        little_rig,
        "sheet.png",
        "--photo=seat.png",
        *matches,
        "--match=200,150=0,0",
        "--size=400x300",
        "--json",
    )
    found = json.loads(told.stdout)
    assert found["points"] == 5 and max(found["off_px"]) < 0.01 and max(found["off_degrees"]) < 0.01
    words = shlex.split(facts("sheet.png")["Command"])
    first = np.asarray(Image.open("sheet.png"))
    told = call(*words[1:], "--force")
    assert "Placed by 5 points" in told.stdout
    assert np.array_equal(np.asarray(Image.open("sheet.png")), first)
