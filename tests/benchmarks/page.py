"""How fast the page follows: a slider dragged for some seconds in a browser without a screen.

On a machine that does nothing else; needs playwright and Chromium:

    python tests/benchmarks/page.py [RIG]

One short drag, to see that it all runs; its figures say little:

    python tests/benchmarks/page.py --short

Ends with an error when the page does not come, does not follow the drag, asks for anything
elsewhere, or tells of an error.
"""

import argparse
import shutil
import signal
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from playwright.sync_api import Page, sync_playwright

from seamsight.scene.adjustable import adjustables
from seamsight.scene.rig_file import read_source

MAIN_RIG = Path(__file__).parents[2] / "sample_rigs" / "harbour_floatplane.toml"
# the first drag meets every size of the screens' pictures for the first time
DRAGS = ("first", "second")
SECONDS = 4.0  # of dragging
SHORT_SECONDS = 3.0  # of dragging, with --short
MOVES_PER_SECOND = 60
HEAD_RATE, VALUE_RATE = 30, 12  # pairs of pictures a second, wanted
CHANGED = ("outside.radius", "outside.lens.magnification", "outside.lens.distance")
PATIENCE = 10.0  # s for the server to end
DRAWN = "() => Number(document.querySelector('#eyes').dataset.drawn)"
COUNT = """() => {
  const eyes = document.querySelector("#eyes");
  window.took = [];
  const note = () => eyes.dataset.by === "server" && window.took.push(Number(eyes.dataset.took));
  new MutationObserver(note).observe(eyes, { attributeFilter: ["data-drawn"] });
}"""


def main() -> None:
    """Serve the page, open it, drag, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("rig", metavar="RIG", nargs="?", type=Path, default=MAIN_RIG)
    parser.add_argument("--short", action="store_true", help="one short drag, to see that it runs")
    options = parser.parse_args()
    start = time.perf_counter()
    with serving(options.rig) as (_, address), browsing() as page:
        asked: list[str] = []
        wrong: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(address)
        page.wait_for_selector("#eyes[data-drawn]")
        first = time.perf_counter() - start
        print(f"first picture {first:.2f} s after the command's start   < 3 s")
        seconds = SHORT_SECONDS if options.short else SECONDS
        for drag in DRAGS[:1] if options.short else DRAGS:
            page.wait_for_selector("#numbers[aria-busy=false]")
            page.wait_for_selector("#eyes[data-own]")  # it has tried how quickly it draws itself
            print(f"{drag} drag:")
            drag_slider(page, "#slide_x", HEAD_RATE, seconds)
        for path in changeable(options.rig)[: 1 if options.short else None]:
            print(f"{path} of the rig file:")
            drag_slider(page, value_slider(page, path), VALUE_RATE, seconds)
        outside = [url for url in asked if not url.startswith((address, "data:"))]
        print(f"requests to elsewhere: {len(outside)} of {len(asked)}   0")
        wrong += outside
        if page.locator("#status.wrong").count():
            wrong.append(page.inner_text("#status"))
    if wrong:
        sys.exit("\n".join(wrong))


@contextmanager
def serving(rig: Path) -> Iterator[tuple[int, str]]:
    """Run the page's command, and give its process id and address.

    It must end as its user ends it.
    """
    words = [sys.executable, "-m", "seamsight.cli", "page", str(rig)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout
            address = server.stdout.readline().strip()
            if not address:
                sys.exit("the page's command ended before it gave an address")
            yield server.pid, address
            server.send_signal(signal.SIGINT)
            if server.wait(PATIENCE) != 0:
                sys.exit(f"the page's command ended with {server.returncode}")
        finally:
            server.kill()


@contextmanager
def browsing() -> Iterator[Page]:
    """Run a browser without a screen, and give its one page."""
    with sync_playwright() as playwright:
        chromium = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield browser.new_page(viewport={"width": 1280, "height": 900})
        browser.close()


def changeable(rig: Path) -> list[str]:
    """Return which of the numbers to change a rig file has."""
    numbers = adjustables(read_source(rig).data)
    return [path for path in CHANGED if path in numbers]


def value_slider(page: Page, path: str) -> str:
    """Show the slider of a number of the rig file, and return its selector."""
    page.fill("#pick", path)
    page.press("#pick", "Enter")
    page.wait_for_selector("#numbers[aria-busy=false]")
    return f"[id='value {path}']"


class Held(NamedTuple):
    """A slider with the mouse's button down on it: where its middle is, and half its way."""

    middle: float
    half: float
    y: float


def hold(page: Page, slider: str) -> Held:
    """Press the mouse's button in the middle of a slider."""
    page.locator(slider).scroll_into_view_if_needed()
    box = page.locator(slider).bounding_box()
    assert box
    held = Held(box["x"] + box["width"] / 2, box["width"] * 0.4, box["y"] + box["height"] / 2)
    page.mouse.move(held.middle, held.y)
    page.mouse.down()
    return held


def sway(page: Page, held: Held, seconds: float) -> tuple[int, float]:
    """Drag to and fro as often as a hand moves, or the browser takes; return moves and seconds."""
    start = time.perf_counter()
    moves = 0
    while (passed := time.perf_counter() - start) < seconds:
        page.mouse.move(held.middle + held.half * (2 * abs(passed % 2 - 1) - 1), held.y)
        moves += 1
        time.sleep(max(0.0, moves / MOVES_PER_SECOND - (time.perf_counter() - start)))
    return moves, passed


def drag_slider(page: Page, slider: str, wanted: int, seconds: float) -> None:
    """Drag a slider to and fro, and tell how many pairs of pictures were drawn."""
    held = hold(page, slider)
    page.evaluate(COUNT)
    before = page.evaluate(DRAWN)
    moves, passed = sway(page, held, seconds)

    # Tell what was drawn meanwhile.
    drawn = page.evaluate(DRAWN) - before
    taken = page.evaluate("() => window.took")
    page.mouse.up()
    if not drawn:
        sys.exit("the page did not follow the drag")
    print(f"  {moves / passed:.0f} moves/s; {drawn / passed:.1f} pairs of pictures/s   >= {wanted}")
    print(f"  {max(0, drawn - len(taken))} of {drawn} drawn by the browser itself")
    if taken:
        print(
            f"  server: median {statistics.median(taken):.0f} ms, worst {max(taken):.0f} ms a pair"
        )


if __name__ == "__main__":
    main()
