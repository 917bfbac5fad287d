"""How fast the window follows a slider that is dragged, and how long it takes to its first picture.

Starts Xvfb and the window on it, drags the first slider to and fro by xdotool, and prints what the
window did. On a machine that does nothing else, twice, since the first run after an installation
compiles the kernels:

    python tests/benchmarks/window.py [RIG]

A short drag, to see that it all runs; its figures say little:

    python tests/benchmarks/window.py --short

Ends with an error when the window does not open, follow the drag, or end cleanly.
"""

import argparse
import itertools
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from seamsight.scene import read_rig
from seamsight.scene.samples import sample_files
from seamsight.viewer.live.window_layout import NATURAL_HEIGHT, NATURAL_WIDTH, laid_out

SIZE = (NATURAL_WIDTH, NATURAL_HEIGHT)
SECONDS = 6.0  # of dragging
SHORT_SECONDS = 3.0  # of dragging, with --short
SETTLED = 3.0  # s until the 3D view and the numbers are there as well
PATIENCE = 10.0  # s for the window to end
MOVES = 60  # of the mouse, a second


def main() -> None:
    """Start everything, drag, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    usual = sample_files()["harbour_floatplane"]
    parser.add_argument("rig", metavar="RIG", nargs="?", type=Path, default=usual)
    parser.add_argument("--short", action="store_true", help="a short drag, to see that it runs")
    parser.add_argument("--inside", action="store_true", help="be the window; used by this program")
    options = parser.parse_args()
    if options.inside:
        show_and_tell(options.rig)
        return

    # Open the window, drag, close it.
    with screen() as display:
        env = os.environ | {"DISPLAY": display}
        started = time.time()
        with window_on(options.rig, env) as window:
            first = next(drawings_of(window), None)
            if first is None:
                sys.exit("the window ended before its first picture")
            time.sleep(SETTLED)
            begun, ended = drag(options.rig, SHORT_SECONDS if options.short else SECONDS, env)
            subprocess.run(["xdotool", "key", "q"], env=env, check=True)
            drawings = list(drawings_of(window))
            if window.wait(PATIENCE) != 0:
                sys.exit(f"the window ended with {window.returncode}")

    # Tell what it drew meanwhile.
    dragged = [(at, spent) for at, spent in drawings if begun <= at <= ended]
    updates = len(dragged) - 1
    if updates < 1:
        sys.exit("the window did not follow the drag")
    (first_at, first_spent), (last_at, last_spent) = dragged[0], dragged[-1]
    print(f"first picture after {first[0] - started:.2f} s")
    print(f"{updates / (last_at - first_at):.1f} updates/s of both eyes' pictures")
    print(f"{1000 * (last_spent - first_spent) / updates:.0f} ms of processor time an update")


@contextmanager
def screen() -> Iterator[str]:
    """Run Xvfb on a display of its choice, and give that."""
    geometry = f"{SIZE[0]}x{SIZE[1]}x24"
    words = ["Xvfb", "-displayfd", "1", "-screen", "0", geometry, "-nolisten", "tcp", "-noreset"]
    xvfb = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    with xvfb:
        try:
            assert xvfb.stdout
            yield f":{xvfb.stdout.readline().strip()}"
        finally:
            xvfb.terminate()


@contextmanager
def window_on(rig: Path, env: dict[str, str]) -> Iterator[subprocess.Popen[str]]:
    """Run the window in a process of its own, which ends with the context at the latest."""
    words = [sys.executable, __file__, "--inside", str(rig)]
    with subprocess.Popen(words, env=env, stdout=subprocess.PIPE, text=True) as window:
        try:
            yield window
        finally:
            window.kill()


def drawings_of(window: subprocess.Popen[str]) -> Iterator[tuple[float, float]]:
    """Yield when the window drew new pictures and its processor time by then, s, as it tells."""
    assert window.stdout
    for line in window.stdout:
        at, spent = map(float, line.split())
        yield at, spent


def drag(rig: Path, seconds: float, env: dict[str, str]) -> tuple[float, float]:
    """Drag the first slider to and fro; return when that began and ended."""
    track = laid_out(*SIZE, read_rig(rig)).slider(0).track
    right = track.left + track.width
    middle = track.left + track.width // 2
    y = track.top + track.height // 2

    # Have one xdotool make all moves: starting one for each would take longer than a move.
    there_and_back = itertools.cycle([*range(track.left, right), *range(right, track.left, -1)])
    places = itertools.islice(there_and_back, int(seconds * MOVES))
    moves = "".join(f"mousemove {x} {y} sleep {1 / MOVES}\n" for x in places)
    script = f"mousemove {middle} {y} mousedown 1\n{moves}mouseup 1\n"
    begun = time.time()
    subprocess.run(["xdotool", "-"], input=script, env=env, text=True, check=True)
    return begun, time.time()


def show_and_tell(rig: Path) -> None:
    """Run the window command; print a line when it has drawn new pictures: time, processor time."""
    from seamsight.cli.window import app
    from seamsight.viewer.live import window

    class Telling(window.Window):
        def _draw(self) -> None:
            new = window.LEFT in self._stale
            super()._draw()
            if new:
                print(time.time(), time.process_time(), flush=True)

    vars(window)["Window"] = Telling  # what the command opens
    app([str(rig), f"--size={SIZE[0]}x{SIZE[1]}"])


if __name__ == "__main__":
    main()
