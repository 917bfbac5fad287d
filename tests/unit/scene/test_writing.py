"""Files written whole or not at all."""

import os

import pytest

from seamsight.scene import OutputError
from seamsight.scene.writing import refuse_to_overwrite, write_new, write_whole, wrong_name


def test_a_write_that_is_broken_off_leaves_nothing(tmp_path, monkeypatch):
    def broken_off(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", broken_off)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "out.png", b"picture")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("length", [254, 255])
def test_the_longest_names_can_be_written(tmp_path, length):
    path = tmp_path / ("n" * (length - 4) + ".png")
    refuse_to_overwrite(path, force=False)
    assert list(tmp_path.iterdir()) == []
    write_whole(path, b"picture")
    assert path.read_bytes() == b"picture"
    assert list(tmp_path.iterdir()) == [path]


def test_what_cannot_be_written_is_refused_before_the_work(tmp_path, monkeypatch):
    with pytest.raises(OutputError, match="cannot be written"):
        refuse_to_overwrite(tmp_path / ("n" * 256), force=False)

    def read_only(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", read_only)
    with pytest.raises(OutputError, match="Permission denied"):
        refuse_to_overwrite(tmp_path / "out.png", force=False)


def test_a_file_that_is_replaced_keeps_who_may_read_it(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_bytes(b"before")
    os.chmod(path, 0o604)
    write_whole(path, b"after")
    assert path.read_bytes() == b"after" and path.stat().st_mode & 0o777 == 0o604


def test_a_new_file_never_replaces_another(tmp_path):
    path = tmp_path / "rig.toml"
    write_new(path, b"first")
    with pytest.raises(OutputError, match=r"^rig.toml exists: choose another name$"):
        write_new(path, b"second")
    assert path.read_bytes() == b"first" and list(tmp_path.iterdir()) == [path]


def test_a_new_file_is_written_where_names_cannot_be_linked(tmp_path, monkeypatch):
    def no_links(*_):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    path = tmp_path / "rig.toml"
    write_new(path, b"first")
    with pytest.raises(OutputError, match="exists"):
        write_new(path, b"second")
    assert path.read_bytes() == b"first" and list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("name", ["wider.toml", "Höhe 2.toml", "a.b.c", "con2"])
def test_a_plain_name_is_safe(name):
    assert wrong_name(name) is None


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "empty"),
        (".hidden", "begins"),
        ("..", "begins"),
        ("ends. ", "ends"),
        ("a/b", "characters"),
        ("a\\b", "characters"),
        ("a:b", "characters"),
        ("a\nb", "characters"),
        ("con.toml", "device"),
        ("LPT1", "device"),
        ("x" * 121, "120"),
    ],
)
def test_an_unsafe_name_is_told(name, says):
    assert says in str(wrong_name(name))
