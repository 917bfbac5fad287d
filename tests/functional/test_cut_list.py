"""`seamsight cut-list`: tables, JSON, CSV, sheets as picture and DXF, and what it refuses."""

import json
import time

import pytest
from PIL import Image


@pytest.fixture(scope="module")
def main_sample(sample_rigs):
    return sample_rigs / "harbour_floatplane.toml"


def test_the_main_sample_in_three_seconds(call, main_sample, tmp_path):
    start = time.process_time()
    out = ["--layout", "a.png", "--layout", "a.dxf", "--csv", "a.csv", "--door", "800x2000"]
    text = call("cut-list", main_sample, *out).stdout
    assert time.process_time() - start < 3
    assert "main panel" in text
    with Image.open(tmp_path / "a.png") as picture:
        assert "cut-list" in picture.info["Command"]
    assert (tmp_path / "a.dxf").read_bytes().rstrip().endswith(b"EOF")
    assert len((tmp_path / "a.csv").read_text("utf-8").splitlines()) == 17


def test_json(call, main_sample):
    told = json.loads(call("cut-list", main_sample, "--sheet", "2440x1220", "--json").stdout)
    assert sum(part["count"] for part in told["parts"]) == 35
    assert {mount["screen"] for mount in told["mounts"]} == {"outside.1", "outside.2", "outside.3"}
    assert told["without_mass"] == ["glare shield", "control wheel", "throttle quadrant", "seat"]
    kerfs = {layout["kerf"] for layout in told["sheets"]}
    assert kerfs == {3.2}


def test_sheets_of_one_material(call, main_sample):
    words = ["--sheet", "3 x 1.5 m", "--sheet", "foam=1000x500", "--kerf", "foam=0", "--json"]
    told = json.loads(call("cut-list", main_sample, *words).stdout)
    by_material = {layout["material"]: layout for layout in told["sheets"]}
    assert by_material["foam"]["sheet"] == [1000, 500]
    assert (by_material["foam"]["kerf"], by_material["plywood"]["kerf"]) == (0, 3.2)
    assert by_material["plywood"]["sheet"] == [3000, 1500]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--kerf", "-1"], "must be from 0 to 50 mm"),
        (["--kerf", "oak=1"], "no material 'oak'"),
        (["--sheet", "2440"], "2440x1220"),
        (["--sheet", "plywod=2440x1220"], 'mean "plywood"?'),
        (["--door", "800"], "800x2000"),
        (["--layout", "a.pdf"], "must end in .png or .dxf"),
        (["--csv", "a.txt"], "must end in .csv"),
    ],
)
def test_wrong_usage(call, little_rig, tmp_path, words, said):
    assert said in " ".join(call("cut-list", little_rig, *words, status=2).stderr.split())
    assert list(tmp_path.iterdir()) == [little_rig]


def test_a_sheet_smaller_than_a_board(call, little_rig, tmp_path):
    words = ["--sheet", "300x200", "--layout", "a.png", "--csv", "a.csv"]
    done = call("cut-list", little_rig, *words, status=1)
    assert len(done.stderr.splitlines()) == 1
    assert "höhe [bold], 400 × 300 mm, does not fit on a plywood sheet" in done.stderr
    assert list(tmp_path.iterdir()) == [little_rig]


def test_a_file_that_is_there_stays(call, little_rig, tmp_path):
    (tmp_path / "a.csv").write_text("mine")
    done = call("cut-list", little_rig, "--csv", "a.csv", "--layout", "a.png", status=1)
    assert "--force" in done.stderr
    assert (tmp_path / "a.csv").read_text() == "mine"
    assert not (tmp_path / "a.png").exists()


def test_a_wrong_rig(call, tmp_path):
    (tmp_path / "rig.toml").write_text("format = 1\n")
    assert "rig.toml" in call("cut-list", "rig.toml", status=1).stderr


def test_people_read_it_on_a_narrow_terminal(call, little_rig, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    text = call("cut-list", little_rig).stdout
    assert all(len(line) <= 60 for line in text.splitlines())
    assert "Caution:" in text


def test_a_rig_without_boards(call, little_rig, tmp_path):
    text = little_rig.read_text("utf-8").partition("[[board]]")[0].replace("in the ceiling", "up")
    little_rig.write_text(text, "utf-8")
    assert "no boards or plates to cut" in call("cut-list", little_rig).stdout
    done = call("cut-list", little_rig, "--layout", "a.png", status=1)
    assert done.stderr == "this rig has no board or plate that is cut from a sheet\n"
    assert list(tmp_path.iterdir()) == [little_rig]
