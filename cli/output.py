"""Text for standard output and standard error: JSON, and a line when something takes long."""

import json
import sys
import threading
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
