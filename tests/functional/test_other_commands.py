"""`heads`, `parts`, `samples`, `start`, `schema`."""

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

PART_KEYS = {"name", "role", "size", "triangles", "mass"}


@pytest.fixture
def written(sample):
    """What a sample's file says, as TOML."""
    return tomllib.loads(sample.read_text("utf-8"))


def test_heads_lists_the_rigs_own_after_design(run, sample, written):
    named = ["design", *(head["name"] for head in written.get("head", []))]
    lines = run("heads", sample).stdout.splitlines()
    assert [line.partition(":")[0] for line in lines] == named


def test_heads_as_json(run, little_rig):
    heads = json.loads(run("heads", little_rig, "--json").stdout)
    assert list(heads) == ["design", "leaning", "in the ceiling"]
    assert heads["leaning"] == {"offset": [-40, 10, 0], "turn": 10, "nod": 0, "tilt": 0}


def test_parts_lists_everything_in_a_sample(run, sample, written):
    rows = json.loads(run("parts", sample, "--json").stdout)
    names = [row["name"] for row in rows]
    assert len(names) == len(set(names))
    solid = [part["name"] for kind in ("board", "plate", "mesh") for part in written.get(kind, [])]
    banked = [
        f"{bank['name']}.{unit}"
        for bank in written.get("bank", [])
        for unit in range(1, bank["count"] + 1)
    ]
    assert {*solid, *banked, *(screen["name"] for screen in written.get("screen", []))} <= set(
        names
    )
    assert all(row.keys() == PART_KEYS and row["triangles"] > 0 for row in rows)


def test_parts_weighs_a_board(run, little_rig):
    board = json.loads(run("parts", little_rig, "--json").stdout)[-1]
    assert board["size"] == [400, 300, 40]
    assert board["mass"] == pytest.approx(
        0.4 * 0.3 * 0.04 * 680, rel=0.2
    )  # kg; plywood weighs 600 to 750 kg/m³
    assert run("parts", little_rig).stdout.split()[-1] == f"{board['mass']:.2f}"


def test_samples_lists_every_sample_with_its_file(run, sample, written):
    lines = run("samples").stdout.splitlines()
    at = next(number for number, line in enumerate(lines) if line.split()[0] == sample.stem)
    assert lines[at].endswith(written["name"])
    # where it is installed: elsewhere than here, from a wheel
    assert Path(lines[at + 1].strip()).read_bytes() == sample.read_bytes()


def test_start_copies_a_sample_that_measures_the_same(call, sample, tmp_path):
    out = tmp_path / "mine.toml"
    printed = call("start", out, "--from", sample.stem).stdout.splitlines()
    assert sorted(printed) == sorted(map(str, tmp_path.iterdir()))
    assert out.read_bytes() == sample.read_bytes()
    assert call("check", out, "--json").stdout == call("check", sample, "--json").stdout


@pytest.mark.parametrize("theirs", ["mine.toml", "control_wheel.stl", "rig.schema.json"])
def test_start_refuses_to_overwrite_any_file(call, tmp_path, theirs):
    (tmp_path / theirs).write_bytes(b"mine")
    start = ("start", tmp_path / "mine.toml", "--from", "harbour_floatplane")
    assert theirs in call(*start, status=1).stderr
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"mine"]
    call(*start, "--force")
    assert (tmp_path / theirs).read_bytes() != b"mine"


def test_start_keeps_files_that_are_already_right(call, tmp_path):
    call("start", tmp_path / "one.toml", "--from", "harbour_floatplane")
    assert (
        call("start", tmp_path / "two.toml", "--from", "harbour_floatplane").stdout
        == f"{tmp_path / 'two.toml'}\n"
    )


def test_schema_accepts_every_sample_and_refuses_an_unknown_key(run, written):
    schema = json.loads(run("schema").stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    validator.validate(written)
    assert not validator.is_valid(written | {"scren": []})


@pytest.mark.parametrize("ending", ["glb", "obj", "stl"])
def test_export_writes_a_file_and_only_that(call, little_rig, tmp_path, ending):
    out = tmp_path / f"shapes.{ending}"
    assert call("export", little_rig, out).stdout == f"{out}\n"
    assert out.stat().st_size > 500
    assert {path.name for path in tmp_path.iterdir()} == {little_rig.name, out.name}


def test_export_without_lenses_leaves_them_out(call, little_rig, tmp_path):
    call("export", little_rig, tmp_path / "with.obj")
    call("export", little_rig, tmp_path / "out.obj", "--without-lenses")
    names = [
        {line for line in (tmp_path / f"{name}.obj").read_text().splitlines() if line[:2] == "o "}
        for name in ("with", "out")
    ]
    assert {name.split()[-1] for name in names[0] - names[1]} >= {"lens"}
    assert names[1] < names[0]


def test_export_to_an_unknown_kind_is_wrong_usage(call, little_rig, tmp_path):
    assert "must end in .glb, .obj or .stl (got shapes.step)" in " ".join(
        call("export", little_rig, tmp_path / "shapes.step", status=2)
        .stderr.replace("│", "")
        .split()
    )
