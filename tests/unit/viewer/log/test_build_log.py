"""A log's entries are whole or not there, however writers end; what is broken is named; the page holds odd text."""

import base64
import datetime
import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from seamsight.scene import Head, OutputError, read_rig
from seamsight.viewer.log import entry as build_log_entry
from seamsight.viewer.log.entry import Words, entry_files
from seamsight.viewer.log.page import _closed, markdown, page, page_picture
from seamsight.viewer.log.store import (
    changed_lines,
    last_entry,
    read_log,
    refuse_foreign_folder,
    store,
)

DAY = datetime.date(2026, 3, 14)

WRITER = """
import datetime, io, json, os, random, signal, sys, time
from pathlib import Path
from PIL import Image
from seamsight.viewer.log.store import store

DAY = datetime.date(2026, 3, 14)
stream = io.BytesIO()
Image.effect_noise((200, 200), 60).save(stream, "PNG")
facts = {"seamsight": "0", "date": "2026-03-14", "title": "", "text": "words", "rig": "rig/rig.toml", "rig_name": "rig",
         "head": "design", "head_words": "design", "lenses": False, "field": 90, "azimuth": 0, "elevation": 0}
FILES = {"entry.json": json.dumps(facts).encode(), "numbers.json": b"{}", "left.png": stream.getvalue(),
         "right.png": stream.getvalue(), "rig/rig.toml": b"x" * 300_000, "pictures/01_a.png": stream.getvalue()}
folder = Path(sys.argv[1])
"""

STOPPING = """
calls = 0
def stopping(function):
    def instead(*args):
        global calls
        calls += 1
        if calls == int(sys.argv[2]):
            print("here", flush=True)
            time.sleep(600)
        return function(*args)
    return instead
os.fsync, os.rename = stopping(os.fsync), stopping(os.rename)
store(folder, DAY, FILES)
"""
LAST_CALL = 11  # a flush for each of six files and three folders, the renaming, a flush of the log

KILLED_ANYWHERE = """
for number in range(40):
    child = os.fork()
    if child == 0:
        while True:
            store(folder, DAY, FILES)
    time.sleep(random.Random(number).uniform(0.001, 0.04))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
"""

ONE_AFTER_THE_OTHER = """
print("ready", flush=True)
input()
for number in range(25):
    store(folder, DAY, FILES)
"""

FILES_OF_AN_ENTRY = {
    "entry.json",
    "numbers.json",
    "left.png",
    "right.png",
    "rig/rig.toml",
    "pictures/01_a.png",
}


def _writer(code, *words):
    return subprocess.Popen(
        [sys.executable, "-c", WRITER + code, *map(str, words)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def _assert_whole(folder):
    log = read_log(folder)
    assert log.broken == []
    for entry in log.entries:
        found = {
            str(path.relative_to(entry.folder))
            for path in entry.folder.rglob("*")
            if path.is_file()
        }
        assert found == FILES_OF_AN_ENTRY
        assert (entry.folder / "rig/rig.toml").stat().st_size == 300_000
    return log


def _content(folder):
    return {path: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def stored(tmp_path_factory):
    """Return a log with one entry that a process of its own wrote."""
    folder = tmp_path_factory.mktemp("stored") / "log"
    writer = _writer("store(folder, DAY, FILES)", folder)
    assert writer.wait() == 0
    writer.communicate()
    return folder


@pytest.fixture
def log(stored, tmp_path):
    """Return a copy of that log."""
    for path, content in _content(stored).items():
        copy = tmp_path / "log" / path.relative_to(stored)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(content)
    return tmp_path / "log"


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="a system without SIGKILL")
def test_killed_at_any_step_an_add_leaves_the_older_entries_and_nothing_half(log, tmp_path):
    before = _content(log)
    folders, writers = [], []
    for step in (1, 2, 6, 9, LAST_CALL - 1, LAST_CALL):
        folder = tmp_path / str(step)
        folder.mkdir()
        for path, content in before.items():
            copy = folder / path.relative_to(log)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(content)
        folders.append((step, folder))
        writers.append(_writer(STOPPING, folder, step))
    for writer, (step, folder) in zip(writers, folders, strict=True):
        assert writer.stdout.readline() == "here\n"
        os.kill(writer.pid, signal.SIGKILL)
        writer.communicate()
        found = _assert_whole(folder)
        old = folder / "2026-03-14-01"
        assert _content(old) == {
            old / path.relative_to(log / old.name): content for path, content in before.items()
        }
        named = step == LAST_CALL
        assert [entry.name for entry in found.entries] == ["2026-03-14-01", "2026-03-14-02"][
            : 1 + named
        ]
        assert len(found.leftovers) == 1 - named


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a system without fork")
def test_killed_at_any_time_it_leaves_whole_entries_only(tmp_path):
    folder = tmp_path / "log"
    writer = _writer(KILLED_ANYWHERE, folder)
    writer.communicate()
    assert writer.returncode == 0
    found = _assert_whole(folder)
    assert len(found.entries) > 10
    assert len(found.leftovers) > 5  # or the kills did not come in the middle of anything


def test_two_writers_at_once_both_get_all_their_entries_in(tmp_path):
    folder = tmp_path / "log"
    writers = [_writer(ONE_AFTER_THE_OTHER, folder) for _ in range(2)]
    for writer in writers:
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        writer.stdin.write("\n")
        writer.stdin.flush()
    for writer in writers:
        writer.communicate()
        assert writer.returncode == 0
    found = _assert_whole(folder)
    assert [entry.name for entry in found.entries] == [
        f"2026-03-14-{number:02d}" for number in range(1, 51)
    ]
    assert found.leftovers == []


def test_a_number_that_a_file_or_a_broken_entry_has_is_not_taken(log):
    (log / "2026-03-14-02").write_text("a file")
    (log / "2026-03-14-07").mkdir()
    (log / "2026-03-14-07" / "notes.txt").write_text("mine")
    assert store(log, DAY, {"a": b"1"}).name == "2026-03-14-08"
    assert (log / "2026-03-14-07" / "notes.txt").read_text() == "mine"


def test_what_cannot_be_written_leaves_nothing(log, monkeypatch):
    before = _content(log)

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        store(log, DAY, {"a": b"1", "b/c": b"2"})
    assert _content(log) == before
    assert [path.name for path in log.iterdir()] == ["2026-03-14-01"]


@pytest.mark.parametrize(
    ("file", "content", "said"),
    [
        ("entry.json", None, "entry.json cannot be read"),
        ("entry.json", b"{", "entry.json"),
        ("entry.json", b"{}", "seamsight Field required"),
        ("numbers.json", b"[1]", "holds no table"),
        ("numbers.json", b"\xff", "numbers.json cannot be read"),
        ("left.png", None, "left.png is missing"),
    ],
)
def test_a_broken_entry_is_named_and_the_others_stay(log, file, content, said):
    whole = store(
        log,
        DAY,
        {str(path.relative_to(log / "2026-03-14-01")): c for path, c in _content(log).items()},
    )
    broken = log / "2026-03-14-01" / file
    broken.unlink() if content is None else broken.write_bytes(content)
    found = read_log(log)
    assert [entry.name for entry in found.entries] == [whole.name]
    assert len(found.broken) == 1
    assert "entry 2026-03-14-01 is broken" in found.broken[0] and said in found.broken[0]
    assert "\n" not in found.broken[0]


def test_an_entry_cannot_name_files_outside_itself(log, tmp_path):
    (tmp_path / "secret.toml").write_text("secret")
    file = log / "2026-03-14-01" / "entry.json"
    facts = json.loads(file.read_bytes())
    file.write_text(
        json.dumps(facts | {"pictures": [{"file": "../../secret.toml", "caption": ""}]})
    )
    assert "outside" in read_log(log).broken[0]
    file.write_text(json.dumps(facts | {"rig": "../../secret.toml"}))
    other = store(
        log,
        DAY,
        {str(path.relative_to(file.parent)): c for path, c in _content(file.parent).items()},
    )
    (other / "entry.json").write_text(json.dumps(facts))
    before, after = read_log(log).entries
    assert not any("secret" in line for line in changed_lines(before, after))


def test_a_photo_that_cannot_be_read_any_more_leaves_its_entry_out_of_the_page(log):
    store(
        log,
        DAY,
        {str(path.relative_to(log / "2026-03-14-01")): c for path, c in _content(log).items()},
    )
    (log / "2026-03-14-01" / "left.png").write_bytes(b"no picture")
    found = read_log(log)
    text, lines = page(found.entries, found.broken)
    assert len(lines) == 1 and "2026-03-14-01" in lines[0] and "left.png" in lines[0]
    assert 'id="e2026-03-14-02"' in text and 'id="e2026-03-14-01"' not in text
    (log / "2026-03-14-02" / "right.png").write_bytes(b"no picture")
    with pytest.raises(OutputError, match=r"right\.png"):
        page(read_log(log).entries, [])


def test_a_folder_with_other_things_is_no_log(tmp_path, log):
    refuse_foreign_folder(log)
    refuse_foreign_folder(tmp_path / "new")
    (tmp_path / "file").write_text("x")
    for folder in (tmp_path, tmp_path / "file", tmp_path / "missing" / "log"):
        with pytest.raises(OutputError):
            refuse_foreign_folder(folder)
        with pytest.raises(OutputError, match="not a build log"):
            read_log(folder)
    assert last_entry(tmp_path) is None


@pytest.fixture
def entry_of(rig_of, tmp_path, monkeypatch):
    """Return a function that adds an entry for a rig of some tables to a log, and gives it; its pictures are small."""
    for name, value in {"WIDTH": 480, "HEIGHT": 210, "SAMPLES": 1}.items():
        monkeypatch.setattr(build_log_entry, name, value)

    def add(text="text", title="", pictures=(), **tables):
        file = tmp_path / "rig.toml"
        if not file.exists():
            file.write_text("# a rig\n")
        rig = rig_of(**tables).read_from(file)
        folder = tmp_path / "log"
        words = Words(DAY, title, text, pictures)
        store(folder, DAY, entry_files(rig, Head(name="design"), words, last_entry(folder)))
        return last_entry(folder)

    return add


def test_pictures_keep_their_directions_while_the_screens_lie_in_them(entry_of, screen_at):
    first = entry_of(screen=[screen_at()])
    second = entry_of(screen=[screen_at(centre=[20, 600, 10])])
    third = entry_of(screen=[screen_at(centre=[400, 600, 0])])
    assert second.facts.directions == first.facts.directions
    assert third.facts.directions != first.facts.directions
    text, _ = page([first, second, third], [])
    assert (
        text.count("shows before; the rest shows now") == 2
    )  # both eyes, of the second entry only


def test_what_changed_is_said_in_words_and_the_cautions_once(entry_of, screen_at, tmp_path):
    first = entry_of(screen=[screen_at()])
    (tmp_path / "rig.toml").write_text("# a rig\n# with a wider screen\n")
    second = entry_of(screen=[screen_at(width=500)])
    text, lines = page([first, second], [])
    assert lines == []
    assert '<td class="better">better</td>' in text
    assert changed_lines(first, second) == ["+ # with a wider screen"]
    assert "+ # with a wider screen" in text
    assert text.count("Displays, glass and boards") == 1
    assert "field across" in text and "36.87°" in text  # 2 atan(200 / 600)


def test_odd_text_stays_text(entry_of, screen_at, tmp_path):
    odd = (
        '</script><script>alert(1)</script> "q" & [[x]] 🛩 {{ 7 * 7 }} <img src=x onerror=alert(1)>'
    )
    photo = tmp_path / "a b.png"
    Image.new("RGB", (40, 30), "red").save(photo)
    entry = entry_of(
        f"{odd}\n\n![out](http://example.org/a.png) **bold**",
        odd,
        [(photo, odd)],
        screen=[screen_at()],
    )
    text, _ = page([entry], ["entry <b>x</b> is broken"])
    assert text.count("<script>") == 1 and text.count("</script>") == 1
    assert "<img src=x" not in text and "<b>x</b>" not in text
    assert (
        "{{ 7 * 7 }}" in text
        and "[[x]]" in text
        and "🛩" in text
        and "<strong>bold</strong>" in text
    )
    assert 'src="http' not in text
    assert (entry.folder / entry.facts.pictures[0].file).read_bytes() == photo.read_bytes()


def test_markdown_names_the_pictures_from_where_it_lies(entry_of, screen_at, tmp_path):
    entry = entry_of("words", "a *title*", screen=[screen_at()])
    (tmp_path / "sub").mkdir()
    text = markdown([entry], tmp_path / "sub" / "log.md")
    assert "![left eye](../log/2026-03-14-01/left.png)" in text
    assert "a \\*title\\*" in text


def test_a_photo_is_shown_upright_small_and_without_its_cameras_notes(tmp_path):
    """EXIF orientation 6: the camera was turned; the picture's left column is its top row (TIFF 6.0, tag 274)."""
    photo = Image.new("RGB", (3200, 2400), "blue")
    photo.paste("red", (0, 0, 400, 2400))
    notes = Image.Exif()
    notes[0x0112], notes[0x010F] = 6, "a camera"
    photo.save(tmp_path / "photo.jpg", exif=notes)
    shown = page_picture(tmp_path / "photo.jpg", "words")
    assert (shown.width, shown.height) == (1200, 1600)
    image = Image.open(io.BytesIO(base64.b64decode(shown.uri.split(",")[1])))
    assert image.size == (1200, 1600) and not image.getexif()
    assert image.getpixel((600, 100))[0] > 200 and image.getpixel((600, 1500))[2] > 200


def test_a_clear_picture_stands_on_white(tmp_path):
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(tmp_path / "clear.png")
    image = Image.open(
        io.BytesIO(base64.b64decode(page_picture(tmp_path / "clear.png").uri.split(",")[1]))
    )
    assert image.getpixel((10, 10)) == (255, 255, 255)


def test_every_file_that_a_rig_names_is_kept(sample, tmp_path, monkeypatch):
    """Without drawing, which other tests do: the rig in the entry can be read again, from the entry alone."""
    monkeypatch.setattr(build_log_entry, "_eye_pictures", lambda *_: {})
    rig = read_rig(sample)
    files = entry_files(rig, Head(name="design"), Words(DAY, "", "x"), None)
    folder = store(tmp_path / "log", DAY, files)
    assert read_rig(folder / "rig" / sample.name).model_dump() == rig.model_dump()
    assert Path(folder / "numbers.json").stat().st_size > 100


@pytest.mark.parametrize(
    ("text", "closed"),
    [("words", "words"), ("```\ncode", "```\ncode\n```"), ("~~~~\ncode\n~~~~", "~~~~\ncode\n~~~~")],
)
def test_an_open_code_fence_is_closed(text, closed):
    assert _closed(text) == closed
