"""Files written whole or not at all."""

import os

import pytest

from seamsight.scene.writing import write_whole


def test_a_write_that_is_broken_off_leaves_nothing(tmp_path, monkeypatch):
    def broken_off(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", broken_off)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "out.png", b"picture")
    assert list(tmp_path.iterdir()) == []
