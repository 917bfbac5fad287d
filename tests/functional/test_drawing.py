"""`seamsight drawing`: plan and elevations as files, and what it refuses."""

import pytest


@pytest.mark.parametrize("name", ["out.pdf", "out.svg", "out.dxf"])
def test_files(call, little_rig, tmp_path, name):
    text = call("drawing", little_rig, name, "--paper", "a3").stdout
    assert text.splitlines()[0] == name
    assert ("Scale 1:1." in text) == (name == "out.dxf")
    assert (tmp_path / name).stat().st_size > 2000


@pytest.mark.parametrize(
    ("words", "said"),
    [(["a.png"], "must end in .pdf"), (["a.pdf", "--paper", "b5"], "must be a4, a3 or letter")],
)
def test_wrong_usage(call, little_rig, tmp_path, words, said):
    assert said in " ".join(call("drawing", little_rig, *words, status=2).stderr.split())
    assert list(tmp_path.iterdir()) == [little_rig]


def test_a_file_that_is_there_stays(call, little_rig, tmp_path):
    (tmp_path / "a.pdf").write_text("mine")
    assert "--force" in call("drawing", little_rig, "a.pdf", status=1).stderr
    assert (tmp_path / "a.pdf").read_text() == "mine"
