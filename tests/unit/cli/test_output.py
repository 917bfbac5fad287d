"""What is said on standard error of long work: seldom, and how much is left."""

import time

from seamsight.cli import output


def test_progress_is_told_at_most_once_in_two_moments(monkeypatch, capsys):
    now = 0.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    progress = output.Progress("head position", 2000)
    for step in range(1, 9):
        now = step * 0.5
        progress.reached(100 * step)
    assert capsys.readouterr().err == (
        "seamsight: head position 300 of 2,000, about 8 s left …\n"
        "seamsight: head position 800 of 2,000, about 6 s left …\n"
    )


def test_the_end_is_not_told_nor_the_time_if_not_asked_for(monkeypatch, capsys):
    now = 0.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    progress = output.Progress("frame", 2, tells_time=False)
    now = 5.0
    progress.reached(1)
    now = 10.0
    progress.reached(2)
    assert capsys.readouterr().err == "seamsight: frame 1 of 2 …\n"


def test_what_an_earlier_run_did_does_not_count_as_fast(monkeypatch, capsys):
    now = 0.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    progress = output.Progress("head position", 2000, before=1000)
    now = 5.0
    progress.reached(1500)
    assert "1,500 of 2,000, about 5 s left" in capsys.readouterr().err
