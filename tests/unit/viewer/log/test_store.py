"""A log's entries are whole or not there, however writers end, and what is broken is named."""

import json
import os
import signal
import time

import pytest

from seamsight.scene import OutputError
from seamsight.viewer.log.store import (
    LEFT_AFTER,
    MOST_BYTES,
    changed_lines,
    last_entry,
    read_log,
    refuse_foreign_folder,
    store,
)

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
begun = time.perf_counter()
store(folder, DAY, FILES)
taken = time.perf_counter() - begun  # disks differ, and so does what else is asked of them
for number in range(40):
    child = os.fork()
    if child == 0:
        while True:
            store(folder, DAY, FILES)
    time.sleep(taken * random.Random(number).uniform(0.1, 4))
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


@pytest.fixture
def whole_log(content_of):
    """Return a function that reads a log, and holds it to whole entries only."""

    def read(folder):
        log = read_log(folder)
        assert log.broken == []
        for entry in log.entries:
            files = content_of(entry.folder)
            assert files.keys() == FILES_OF_AN_ENTRY
            assert len(files["rig/rig.toml"]) == 300_000
        return log

    return read


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="a system without SIGKILL")
def test_killed_at_any_step_an_add_leaves_the_older_entries_and_nothing_half(
    written, writer, copied, content_of, whole_log, tmp_path
):
    steps = (1, 2, 6, 9, LAST_CALL - 1, LAST_CALL)
    folders = [copied(written, tmp_path / str(step)) for step in steps]
    writers = [writer(STOPPING, *pair) for pair in zip(folders, steps, strict=True)]
    for process, step, folder in zip(writers, steps, folders, strict=True):
        assert process.stdout.readline() == "here\n"
        os.kill(process.pid, signal.SIGKILL)
        process.communicate()
        found = whole_log(folder)
        old = {
            f"2026-03-14-01/{name}": c for name, c in content_of(folder / "2026-03-14-01").items()
        }
        assert old == written
        named = step == LAST_CALL
        names = ["2026-03-14-01", "2026-03-14-02"][: 1 + named]
        assert [entry.name for entry in found.entries] == names
        assert len(found.leftovers) == 1 - named


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a system without fork")
def test_killed_at_any_time_it_leaves_whole_entries_only(writer, whole_log, tmp_path):
    folder = tmp_path / "log"
    process = writer(KILLED_ANYWHERE, folder)
    process.communicate()
    assert process.returncode == 0
    found = whole_log(folder)
    assert len(found.entries) > 10
    assert len(found.leftovers) > 5  # or the kills did not come in the middle of anything


def test_two_writers_at_once_both_get_all_their_entries_in(writer, whole_log, tmp_path):
    folder = tmp_path / "log"
    writers = [writer(ONE_AFTER_THE_OTHER, folder) for _ in range(2)]
    for process in writers:
        assert process.stdout.readline() == "ready\n"
    for process in writers:
        process.stdin.write("\n")
        process.stdin.flush()
    for process in writers:
        process.communicate()
        assert process.returncode == 0
    found = whole_log(folder)
    names = [f"2026-03-14-{number:02d}" for number in range(1, 51)]
    assert [entry.name for entry in found.entries] == names
    assert found.leftovers == []


def test_a_number_that_a_file_or_a_broken_entry_has_is_not_taken(log, day):
    (log / "2026-03-14-02").write_text("a file")
    (log / "2026-03-14-07").mkdir()
    (log / "2026-03-14-07" / "notes.txt").write_text("mine")
    assert store(log, day, {"a": b"1"}).name == "2026-03-14-08"
    assert (log / "2026-03-14-07" / "notes.txt").read_text() == "mine"


def test_what_cannot_be_written_leaves_nothing(log, day, written, content_of, monkeypatch):
    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        store(log, day, {"a": b"1", "b/c": b"2"})
    assert content_of(log) == written
    assert [path.name for path in log.iterdir()] == ["2026-03-14-01"]


@pytest.mark.parametrize(
    ("file", "content", "said"),
    [
        ("entry.json", None, "entry.json is missing"),
        ("entry.json", b"{", "entry.json"),
        ("entry.json", b"{}", "seamsight Field required"),
        ("entry.json", b'{"a":' * 100_000, "entry.json cannot be used"),
        ("entry.json", b" " * (MOST_BYTES + 1), "entry.json is too large: at most 16 MB"),
        ("numbers.json", b"[1]", "contains no table"),
        ("numbers.json", b'{"a":' * 100_000, "numbers.json cannot be read"),
        ("numbers.json", b"[" * 100_000 + b"]" * 100_000, "numbers.json cannot be read"),
        ("numbers.json", b"\xff", "numbers.json cannot be read"),
        ("left.png", None, "left.png is missing"),
    ],
)
def test_a_broken_entry_is_named_and_the_others_stay(
    log, first, day, content_of, file, content, said
):
    whole = store(log, day, content_of(first))
    broken = first / file
    broken.unlink() if content is None else broken.write_bytes(content)
    found = read_log(log)
    assert [entry.name for entry in found.entries] == [whole.name]
    assert len(found.broken) == 1
    assert "entry 2026-03-14-01 is damaged" in found.broken[0] and said in found.broken[0]
    assert "\n" not in found.broken[0]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without named pipes")
@pytest.mark.parametrize("file", ["entry.json", "numbers.json", "left.png", "rig/rig.toml"])
def test_a_pipe_in_an_entry_stops_nobody(log, first, day, content_of, file):
    store(log, day, content_of(first))
    (first / file).unlink()
    os.mkfifo(first / file)
    found = read_log(log)
    if file == "rig/rig.toml":
        before, after = found.entries
        assert changed_lines(before, after)
    else:
        assert f"{file} is not a file" in found.broken[0]
        assert [entry.name for entry in found.entries] == ["2026-03-14-02"]


def test_an_add_sweeps_what_killed_ones_left_long_ago(log, day):
    old = log / ".adding-old"
    new = log / ".adding-new"
    for folder in (old, new):
        folder.mkdir()
        (folder / "left.png").write_bytes(b"half")
    os.utime(old, (0, time.time() - LEFT_AFTER - 1))
    store(log, day, {"a": b"1"})
    assert not old.exists() and new.exists()


def test_an_entry_cannot_name_files_outside_itself(log, first, day, content_of, tmp_path):
    (tmp_path / "secret.toml").write_text("secret")
    file = first / "entry.json"
    facts = json.loads(file.read_bytes())
    outside = {"pictures": [{"file": "../../secret.toml", "caption": ""}]}
    file.write_text(json.dumps(facts | outside))
    assert "outside" in read_log(log).broken[0]

    file.write_text(json.dumps(facts | {"rig": "../../secret.toml"}))
    other = store(log, day, content_of(first))
    (other / "entry.json").write_text(json.dumps(facts))
    before, after = read_log(log).entries
    assert not any("secret" in line for line in changed_lines(before, after))


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
