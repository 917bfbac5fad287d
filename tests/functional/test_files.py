"""Files that the command writes: whole or not at all, and never over somebody's own."""

import pytest

SMALL = ("--size", "240x105", "--samples", "1")


def test_an_existing_picture_is_kept_without_force(run, little_rig, tmp_path):
    out = tmp_path / "out.png"
    out.write_bytes(b"mine")
    assert "--force" in run("picture", little_rig, out, *SMALL, status=1).stderr
    assert out.read_bytes() == b"mine"
    run("picture", little_rig, out, *SMALL, "--force")
    assert out.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("out", ["no folder/out.png", "rig.toml/out.png", "folder.png"])
def test_a_place_where_nothing_can_be_written_is_told_before_the_work(
    run, little_rig, tmp_path, out
):
    (tmp_path / "folder.png").mkdir()
    done = run("picture", little_rig, out, "--size", "16384x8000", "--samples", "8", status=1)
    assert len(done.stderr.splitlines()) == 1
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["folder.png", "rig.toml"]


def test_a_write_that_fails_leaves_what_was_there(run, little_rig, tmp_path):
    resource = pytest.importorskip("resource", reason="no way to limit a file's size here")
    out = tmp_path / "out.png"
    run("picture", little_rig, out, *SMALL)
    before = out.read_bytes()
    limit = (len(before) // 2, len(before) // 2)
    done = run(
        "picture",
        little_rig,
        out,
        *SMALL,
        "--without-lenses",
        "--force",
        status=1,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, limit),
    )
    assert "out.png cannot be written" in done.stderr
    assert out.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out.png", "rig.toml"]


def test_a_written_file_is_as_open_as_the_umask_lets_it(run, little_rig, tmp_path):
    run("picture", little_rig, tmp_path / "out.png", *SMALL)
    little_rig.touch()
    assert (tmp_path / "out.png").stat().st_mode == little_rig.stat().st_mode
