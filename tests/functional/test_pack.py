"""`pack`, and `start --from` what it wrote."""

import os
import zipfile

import pytest


@pytest.fixture
def rig_zip(call, sample_rigs, tmp_path):
    call("pack", sample_rigs / "harbour_floatplane.toml", "rig.zip")
    return tmp_path / "rig.zip"


def test_a_packed_rig_measures_the_same_where_it_is_unpacked(call, rig_zip, sample_rigs, tmp_path):
    (tmp_path / "new").mkdir()
    printed = call("start", "new/mine.toml", "--from", rig_zip).stdout.splitlines()
    assert sorted(printed) == sorted(f"new/{path.name}" for path in (tmp_path / "new").iterdir())
    here = call("check", "new/mine.toml", "--json").stdout
    assert here == call("check", sample_rigs / "harbour_floatplane.toml", "--json").stdout


def test_packing_twice_makes_the_same_bytes_and_overwrites_nothing(call, rig_zip, sample_rigs):
    before = rig_zip.read_bytes()
    words = ("pack", sample_rigs / "harbour_floatplane.toml", "rig.zip")
    assert "exists" in call(*words, status=1).stderr
    call(*words, "--force")
    assert rig_zip.read_bytes() == before


@pytest.mark.parametrize("theirs", ["mine.toml", "control_wheel.stl"])
def test_existing_files_are_kept_without_force(call, rig_zip, tmp_path, theirs):
    (tmp_path / theirs).write_bytes(b"mine")
    assert theirs in call("start", "mine.toml", "--from", rig_zip, status=1).stderr
    assert {path.name for path in tmp_path.iterdir()} == {theirs, "rig.zip"}
    assert (tmp_path / theirs).read_bytes() == b"mine"
    call("start", "mine.toml", "--from", rig_zip, "--force")
    assert (tmp_path / theirs).read_bytes() != b"mine"


def test_no_link_is_followed_out_of_the_folder(call, little_rig, sample_rigs, tmp_path):
    # theirs is packed with a mesh in a folder; ours has a link in that folder's place
    mesh = (sample_rigs / "canopy_bow.stl").read_bytes()
    text = little_rig.read_text("utf-8")
    text += '[[mesh]]\nname = "bow"\nfile = "parts/bow.stl"\ncentre = [0, 2000, 0]\n'
    little_rig.write_text(text, "utf-8")
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts/bow.stl").write_bytes(mesh)
    call("pack", little_rig, "rig.zip")

    (tmp_path / "new").mkdir()
    (tmp_path / "elsewhere").mkdir()
    os.symlink(tmp_path / "elsewhere", tmp_path / "new/parts")
    words = ("start", "new/mine.toml", "--from", "rig.zip")
    assert "leads out of the rig's folder" in call(*words, "--force", status=1).stderr
    assert not list((tmp_path / "elsewhere").iterdir())
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["parts"]

    (tmp_path / "new/parts").unlink()
    call(*words)
    assert (tmp_path / "new/parts/bow.stl").read_bytes() == mesh


def test_what_stays_in_the_zip_is_told(call, rig_zip, tmp_path):
    with zipfile.ZipFile(rig_zip, "a") as archive:
        archive.writestr("notes.txt", "x")
    told = call("start", "mine.toml", "--from", rig_zip).stdout
    assert told.splitlines()[-1].endswith("needs none of it: notes.txt")
    assert not (tmp_path / "notes.txt").exists()


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["pack", "rig.toml", "rig.tar"], 2, ".zip"),
        (["pack", "none.toml", "rig.zip"], 1, "none.toml"),
        (["start", "mine.toml", "--from", "none.zip"], 1, "none.zip"),
        (["start", "mine.toml", "--from", "rig.toml"], 2, "there is no sample"),
    ],
)
def test_what_is_wrong_is_told_in_a_line(call, little_rig, tmp_path, words, status, said):
    assert said in call(*words, status=status).stderr
    assert list(tmp_path.iterdir()) == [little_rig]
