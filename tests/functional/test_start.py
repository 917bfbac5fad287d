"""`start` from measures: given, left out, and asked for on a terminal."""

import os
import re
import select
import subprocess
import sys
import time

import pytest

WORDS = ("--screens", "3", "--diagonal", "27 in", "--focal-length", "700 mm")


def test_measures_make_a_rig_that_checks_and_say_why(call, tmp_path):
    told = call("start", "mine.toml", *WORDS).stdout
    assert "600 mm from your eyes" in told
    assert "magnification 1.29; the image then just fills the lens." in told
    assert "no bezel shows" in told
    assert (tmp_path / "rig.schema.json").is_file()

    # what it says to run next runs
    chosen = told.partition("\n\n")[2].partition("\n\n")[0].splitlines()
    assert 4 <= len(chosen) <= 8
    following = re.findall(r"^  seamsight (\w+ .+)$", told, re.MULTILINE)
    assert len(following) == 3
    for line in following:
        call(*line.split(), *(["--size", "160x90"] if "picture" in line else []))
    assert (tmp_path / "mine_without.png").is_file()
    assert "the images meet" in call("check", "mine.toml", "--strict").stdout


def test_what_is_left_out_is_listed_with_what_is_taken_for_it(call):
    told = call("start", "mine.toml", *WORDS).stdout.splitlines()[0]
    assert told == (
        "Not given, so these usual values are taken: --aspect 16:9, --pixels 1920x1080, "
        "--bezel '10 mm', --lens '576 x 324 mm', --eye-height '1200 mm'"
    )


def test_bare_screens_have_no_lenses(call, tmp_path):
    told = call("start", "mine.toml", "--bare").stdout
    assert "--lens" not in told
    assert "dark strip 1.5°" in told
    assert "lens" not in (tmp_path / "mine.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--bare", "--lens", "650 x 365 mm"], "--lens"),
        (["--bare", "--focal-length", "500"], "--focal-length"),
        (["--screens", "none"], "'none'"),
        (["--diagonal", "27 inch es"], "--diagonal"),
        (["--aspect", "16/9"], "16:9"),
        (["--pixels", "1080p"], "1080p"),
        (["--lens", "650"], "576 x 324 mm"),
        (["--from", "desk_lens", "--screens", "3"], "--from"),
        (["--from", "desk_lens", "--bare"], "--from"),
    ],
)
def test_wrong_words_end_in_2_and_write_nothing(call, tmp_path, words, said):
    done = call("start", "mine.toml", *words, status=2)
    assert said in done.stderr
    assert not list(tmp_path.iterdir())


def test_measures_that_do_not_suit_each_other_end_in_1_with_one_line(call, tmp_path):
    done = call("start", "mine.toml", *WORDS, "--lens", "300 x 200 mm", status=1)
    [line] = done.stderr.splitlines()
    assert "What would work: a lens of 576 x 324 mm" in line
    assert not list(tmp_path.iterdir())


def test_an_existing_rig_is_kept_and_nothing_asked(call, tmp_path):
    (tmp_path / "mine.toml").write_bytes(b"mine")
    assert "mine.toml exists" in call("start", "mine.toml", status=1).stderr
    assert (tmp_path / "mine.toml").read_bytes() == b"mine"
    call("start", "mine.toml", "--force")


@pytest.fixture
def talk(tmp_path):
    """Return a function that runs `start` on a terminal of its own and answers its questions."""
    pty = pytest.importorskip("pty", reason="a system without pseudo-terminals")

    def talk(words, answers):
        ours, theirs = pty.openpty()
        process = subprocess.Popen(
            [sys.executable, "-m", "seamsight.cli", "start", "mine.toml", *words],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            cwd=tmp_path,
            close_fds=True,
        )
        os.close(theirs)
        text = ""
        for question, answer in answers:
            text += read_until(ours, question)
            os.write(ours, answer.encode() + b"\n")
        text += read_until(ours, None)
        os.close(ours)  # which ends a process that still waits for an answer
        return process.wait(30), text.replace("\r\n", "\n")

    return talk


def read_until(terminal, words):
    """Return what is written to a terminal up to some words, or to the end."""
    text, end = "", time.monotonic() + 30
    while time.monotonic() < end:
        if not select.select([terminal], [], [], 0.1)[0]:
            continue
        try:
            piece = os.read(terminal, 4096)
        except OSError:  # as Linux says that nobody writes any more
            piece = b""
        text += piece.decode("utf-8", "replace")
        if not piece or (words and words in text):
            break
    assert words is None or words in text
    return text


def test_on_a_terminal_it_asks_for_what_is_left_out(talk, tmp_path):
    status, text = talk(
        ["--aspect", "16:10", "--eye-height", "1150"],
        [
            ("How many screens stand side by side? [3]: ", ""),
            ("diagonal of one image area? [27 in]: ", "22 in"),
            ("across x down? [1920x1200]: ", "1680x1050"),
            ("rim around the image area? [10 mm]: ", "wide"),
            ("rim around the image area? [10 mm]: ", "16 mm"),
            ("width x height? [480 x 300 mm]: ", "517 x 323"),
            ("data sheet? [650 mm]: ", "450"),
        ],
    )
    assert status == 0, text
    assert "is not a length" in text  # of "wide", which is asked for again
    assert "Each lens is 150 mm in front of its screen: magnification 1.50" in text
    assert "Not given" not in text
    assert 'diagonal = "22 in"' in (tmp_path / "mine.toml").read_text("utf-8")


def test_on_a_terminal_nothing_is_asked_when_all_is_given(talk):
    given = ["--screens", "1", "--diagonal", "24 in", "--aspect", "16:9", "--pixels", "1920x1080"]
    status, text = talk([*given, "--bezel", "9", "--eye-height", "1200", "--bare"], [])
    assert status == 0, text
    assert "?" not in text
