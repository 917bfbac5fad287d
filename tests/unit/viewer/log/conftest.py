"""What the tests of the log share: a log that another process wrote, and entries of small rigs."""

import datetime
import subprocess
import sys

import pytest

from seamsight.scene import Head
from seamsight.viewer.log.entry import Words, entry_files
from seamsight.viewer.log.store import last_entry, store

WRITER = """
import datetime, io, json, os, random, signal, sys, time
from pathlib import Path
from PIL import Image
from seamsight.viewer.log.store import store

DAY = datetime.date(2026, 3, 14)
stream = io.BytesIO()
Image.effect_noise((200, 200), 60).save(stream, "PNG")
facts = {
    "seamsight": "0", "date": "2026-03-14", "title": "", "text": "words",
    "rig": "rig/rig.toml", "rig_name": "rig", "head": "design", "head_words": "design",
    "lenses": False, "field": 90, "azimuth": 0, "elevation": 0,
}
FILES = {
    "entry.json": json.dumps(facts).encode(),
    "numbers.json": b"{}",
    "left.png": stream.getvalue(),
    "right.png": stream.getvalue(),
    "rig/rig.toml": b"x" * 300_000,
    "pictures/01_a.png": stream.getvalue(),
}
folder = Path(sys.argv[1])
"""


@pytest.fixture(scope="session")
def day():
    """Return the date of every entry here."""
    return datetime.date(2026, 3, 14)


@pytest.fixture(scope="session")
def writer():
    """Return a function that starts a process which has an entry's files, and runs some code."""

    def start(code, *words):
        return subprocess.Popen(
            [sys.executable, "-c", WRITER + code, *map(str, words)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    return start


@pytest.fixture(scope="session")
def content_of():
    """Return a function from a folder to what its files hold, by their path in it."""

    def content(folder):
        files = (path for path in sorted(folder.rglob("*")) if path.is_file())
        return {str(path.relative_to(folder)): path.read_bytes() for path in files}

    return content


@pytest.fixture(scope="session")
def written(tmp_path_factory, writer, content_of):
    """Return what a log with one entry holds that a process of its own wrote."""
    folder = tmp_path_factory.mktemp("written") / "log"
    process = writer("store(folder, DAY, FILES)", folder)
    process.communicate()
    assert process.returncode == 0
    return content_of(folder)


@pytest.fixture(scope="session")
def copied():
    """Return a function that writes files, by their path, into a folder that it makes."""

    def copy(files, folder):
        for name, content in files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        return folder

    return copy


@pytest.fixture
def log(written, copied, tmp_path):
    """Return the folder of a log with one entry, 2026-03-14-01."""
    return copied(written, tmp_path / "log")


@pytest.fixture
def first(log):
    """Return that entry's folder."""
    return log / "2026-03-14-01"


@pytest.fixture
def entry_of(rig_of, tmp_path, day, small_log_pictures):
    """Return a function that adds an entry for a rig of some tables to a log, and gives it."""

    def add(text="text", title="", pictures=(), **tables):
        file = tmp_path / "rig.toml"
        if not file.exists():
            file.write_text("# a rig\n")
        rig = rig_of(**tables).read_from(file)
        folder = tmp_path / "log"
        words = Words(day, title, text, pictures)
        store(folder, day, entry_files(rig, Head(name="design"), words, last_entry(folder)))
        return last_entry(folder)

    return add
