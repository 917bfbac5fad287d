"""How fast the window follows a slider that is dragged, and how long it takes to its first picture.

Starts Xvfb and the window on it, drags the first slider to and fro by xdotool, and prints what the window did. Run it
twice: the first run after an installation compiles the kernels.

    python tests/benchmarks/window.py [RIG]
"""

import itertools
import os
import subprocess
import sys
import time
from pathlib import Path

from seamsight.scene import read_rig
from seamsight.scene.samples import sample_files
from seamsight.viewer.live.controls import HIGH, WIDE, laid_out

SIZE = (WIDE, HIGH)
SECONDS = 6.0  # of dragging
MOVES = 60  # of the mouse, a second


def main() -> None:
    """Start everything, drag, print."""
    rig = Path(sys.argv[1] if len(sys.argv) > 1 else sample_files()["harbour_floatplane"])
    screen, display = start_screen()
    env = os.environ | {"DISPLAY": display}
    started = time.time()
    words = [sys.executable, __file__, "--inside", str(rig), f"--size={SIZE[0]}x{SIZE[1]}"]
    window = subprocess.Popen(words, env=env, stdout=subprocess.PIPE, text=True)
    try:
        assert window.stdout
        first = float(window.stdout.readline().split()[0])
        time.sleep(3.0)
        begun, ended = drag(rig, env)
        subprocess.run(["xdotool", "key", "q"], env=env, check=True)
        lines = [tuple(map(float, line.split())) for line in window.stdout]
        drawings = [(at, spent) for at, spent in lines if begun <= at <= ended]
        updates = len(drawings) - 1
        print(f"first picture after {first - started:.2f} s")
        print(
            f"{updates / (drawings[-1][0] - drawings[0][0]):.1f} updates/s of both eyes' pictures"
        )
        print(
            f"{(drawings[-1][1] - drawings[0][1]) / updates * 1000:.0f} ms of processor time an update"
        )
        window.wait(10)
    finally:
        window.kill()
        screen.terminate()


def start_screen() -> tuple[subprocess.Popen[str], str]:
    """Start Xvfb on a display of its choice."""
    words = [
        "Xvfb",
        "-displayfd",
        "1",
        "-screen",
        "0",
        f"{SIZE[0]}x{SIZE[1]}x24",
        "-nolisten",
        "tcp",
        "-noreset",
    ]
    screen = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert screen.stdout
    return screen, f":{screen.stdout.readline().strip()}"


def drag(rig: Path, env: dict[str, str]) -> tuple[float, float]:
    """Drag the first slider to and fro; return when that began and ended."""
    track = laid_out(*SIZE, read_rig(rig)).slider(0).track
    y, middle = track.top + track.height // 2, track.left + track.width // 2
    there_and_back = itertools.cycle(
        [
            *range(track.left, track.left + track.width),
            *range(track.left + track.width, track.left, -1),
        ]
    )
    places = itertools.islice(there_and_back, int(SECONDS * MOVES))
    moves = "".join(f"mousemove {x} {y} sleep {1 / MOVES}\n" for x in places)
    begun = time.time()
    script = f"mousemove {middle} {y} mousedown 1\n{moves}mouseup 1\n"
    subprocess.run(["xdotool", "-"], input=script, env=env, text=True, check=True)
    return begun, time.time()


def inside() -> None:
    """Run the window command, with a line on standard output for each drawing of new pictures: when, processor time."""
    from seamsight.cli.window import app
    from seamsight.viewer.live import window

    class Telling(window.Window):
        def _draw(self) -> None:
            new = window.LEFT in self._stale
            super()._draw()
            if new:
                print(time.time(), time.process_time(), flush=True)

    window.Window = Telling
    sys.argv.remove("--inside")
    app()


if __name__ == "__main__":
    inside() if "--inside" in sys.argv else main()
