"""Which pages to walk in the log's page holds, and what it says of the others."""

import pytest

from seamsight.scene import FileError
from seamsight.viewer.log import walk_ins
from seamsight.viewer.log.page import page
from seamsight.viewer.log.store import WALK_IN, read_log, store
from seamsight.viewer.log.walk_ins import held_walk_ins, walk_in_text


@pytest.fixture
def entries(log, first, day, content_of):
    """Return four entries, of which all but the second have a page to walk in."""
    content = content_of(first)
    (first / WALK_IN).write_text("ä" * 10, "utf-8")
    for pages in ({}, {WALK_IN: b"y" * 25}, {WALK_IN: b"z" * 30}):
        store(log, day, content | pages)
    return read_log(log).entries


@pytest.mark.parametrize(
    ("room", "held"), [(100, [0, 2, 3]), (54, [0, 3]), (40, [3]), (29, [2]), (10, [])]
)
def test_the_newest_that_fit_are_held(monkeypatch, entries, room, held):
    monkeypatch.setattr(walk_ins, "MOST_HELD", room)
    assert held_walk_ins(entries) == {entries[number].name for number in held}


def test_the_page_names_the_file_of_one_that_did_not_fit(monkeypatch, entries):
    monkeypatch.setattr(walk_ins, "MOST_HELD", 54)
    text, lines = page(entries, [])
    assert lines == []
    assert text.count("<iframe") == 2 and 'srcdoc="ääääääääää"' in text
    assert text.count("no room here for the page to walk in") == 1
    assert "Open 2026-03-14-03/walk_in.html in the log" in text


def test_one_that_cannot_be_read_is_an_error_in_words(entries):
    (entries[0].folder / WALK_IN).unlink()
    with pytest.raises(FileError, match=r"walk_in\.html.*cannot be read"):
        walk_in_text(entries[0])


def test_one_outside_the_log_damages_its_entry(log, first, tmp_path):
    (tmp_path / "secret").write_text("mine")
    (first / WALK_IN).symlink_to(tmp_path / "secret")
    found = read_log(log)
    assert found.entries == [] and "walk_in.html is outside" in found.broken[0]
