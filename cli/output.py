"""Text for standard output and standard error: JSON, and a line when something takes long."""

import json
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

PATIENCE = 1.0  # s; what takes longer is announced


def print_json(value: Any) -> None:
    """Print one JSON value on standard output; text in it needs only ASCII to pass through."""
    print(json.dumps(value, indent=2, allow_nan=False))


@contextmanager
def announced(what: str) -> Iterator[None]:
    """Say on standard error what is going on, if it takes longer than a moment."""
    timer = threading.Timer(
        PATIENCE, lambda: print(f"seamsight: {what} …", file=sys.stderr, flush=True)
    )
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


class Progress:
    """Says on standard error how much of some work is done, at most once in two moments.

    Parameters
    ----------
    what : str
        One of the things that are done, such as "frame".
    total : int
        How many there are.
    before : int
        How many of them an earlier run has done.
    tells_time : bool
        Whether to say how long the rest takes.
    """

    def __init__(self, what: str, total: int, *, before: int = 0, tells_time: bool = True) -> None:
        self._what = what
        self._total = total
        self._before = before
        self._tells_time = tells_time
        self._start = time.monotonic()
        self._said = self._start - PATIENCE

    def reached(self, done: int) -> None:
        """Take note that so many, some of them now, are done, and say so if it is time to."""
        now = time.monotonic()
        if now - self._said <= 2 * PATIENCE or done >= self._total:
            return
        self._said = now
        words = f"seamsight: {self._what} {done:,} of {self._total:,}"
        if self._tells_time:
            pace = (now - self._start) / (done - self._before)
            left = pace * (self._total - done)
            words = f"{words}, about {left:.0f} s left"
        print(f"{words} …", file=sys.stderr, flush=True)
