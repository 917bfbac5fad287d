"""Whether memory stays flat while sliders are dragged for minutes: page, browser and server.

Needs Linux, playwright and Chromium; takes 12 minutes:

    python tests/benchmarks/page_memory.py [RIG]

Some seconds, to see that it all runs; what grows is not judged:

    python tests/benchmarks/page_memory.py --short

On the live page a slider of the head and one of the rig file are dragged in turn, on a page to walk
in one of the head. Ends with an error where at the end more memory is taken than a minute after
the start, by the server than five minutes after.
"""

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from page import MAIN_RIG, browsing, changeable, hold, serving, sway, value_slider
from playwright.sync_api import Page

SECONDS = {"live page": 600.0, "page to walk in": 120.0}
SHORT_SECONDS = {"live page": 6.0, "page to walk in": 2.0}
HELD = 10.0  # s that a slider is held, at most
SOME = 3  # measurements, of which the median counts
# s after which memory should not grow; the server keeps painted pictures, up to 256 MB
START = {"script": 60.0, "renderer": 60.0, "GPU": 60.0, "server": 300.0}
MOST_GROWN = {"script": 5.0, "renderer": 60.0, "GPU": 60.0, "server": 120.0}  # MB from then on
STATUS = "/proc/{}/status"

Measured = dict[str, float]  # MB, by what takes them


def main() -> None:
    """Drag on both pages, print what they take, and judge it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("rig", metavar="RIG", nargs="?", type=Path, default=MAIN_RIG)
    parser.add_argument("--short", action="store_true", help="some seconds, to see that it runs")
    options = parser.parse_args()
    if not Path(STATUS.format("self")).exists():
        sys.exit("needs Linux, which tells what memory a process takes")

    grown: list[str] = []
    for what, seconds in (SHORT_SECONDS if options.short else SECONDS).items():
        print(f"{what}, MB:")
        taken = {"live page": live_page, "page to walk in": walk_in_page}[what](
            options.rig, seconds
        )
        if not options.short:
            grown += [f"{what}: {line}" for line in growth(taken)]
    if grown:
        sys.exit("\n".join(grown))


def live_page(rig: Path, seconds: float) -> list[tuple[float, Measured]]:
    """Drag on the page that the command serves."""
    with serving(rig) as (server, address), browsing() as page:
        page.goto(address)
        page.wait_for_selector("#numbers[aria-busy=false]")
        sliders = ["#slide_x", *(value_slider(page, path) for path in changeable(rig)[:1])]
        return dragged(page, sliders, seconds, lambda: {"server": resident(server)})


def walk_in_page(rig: Path, seconds: float) -> list[tuple[float, Measured]]:
    """Drag on a page that one walks in."""
    with tempfile.TemporaryDirectory() as folder, browsing() as page:
        file = Path(folder, "rig.html")
        subprocess.run([sys.executable, "-m", "seamsight.cli", "walk-in", rig, file], check=True)
        page.goto(file.as_uri())
        page.wait_for_selector("#canvas[data-drawn]")
        return dragged(page, ["#slide_x"], seconds, dict)


def dragged(
    page: Page, sliders: Sequence[str], seconds: float, of_server: Callable[[], Measured]
) -> list[tuple[float, Measured]]:
    """Drag sliders in turn; return the seconds passed and what was taken then, again and again."""
    measured = memory_of(page)
    start = time.perf_counter()
    found: list[tuple[float, Measured]] = []
    while (passed := time.perf_counter() - start) < seconds:
        held = hold(page, sliders[len(found) % len(sliders)])
        sway(page, held, min(HELD, seconds - passed, seconds / len(sliders)))
        page.mouse.up()
        taken = measured() | of_server()
        found.append((time.perf_counter() - start, taken))
        words = "  ".join(f"{what} {size:.1f}" for what, size in taken.items())
        print(f"  {found[-1][0]:4.0f} s  {words}", flush=True)
    return found


def memory_of(page: Page) -> Callable[[], Measured]:
    """Return a function that tells what a page and the processes that draw it take."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")
    browser = page.context.browser
    assert browser
    processes = browser.new_browser_cdp_session()

    def measured() -> Measured:
        session.send("HeapProfiler.collectGarbage")
        metrics = session.send("Performance.getMetrics")["metrics"]
        heap = next(one["value"] for one in metrics if one["name"] == "JSHeapUsedSize")
        taken = {"script": heap / 1e6}
        for process in processes.send("SystemInfo.getProcessInfo")["processInfo"]:
            kind = process["type"]
            if kind in MOST_GROWN:
                taken[kind] = taken.get(kind, 0.0) + resident(process["id"])
        return taken

    return measured


def resident(process: int) -> float:
    """Return the memory that a process has in use, MB."""
    lines = Path(STATUS.format(process)).read_text().splitlines()
    (size,) = (line.split()[1] for line in lines if line.startswith("VmRSS:"))
    return int(size) * 1024 / 1e6


def growth(taken: list[tuple[float, Measured]]) -> list[str]:
    """Return in words what grew more than it may, and print how much each grew."""
    lines = []
    for what in taken[0][1]:
        settled = [sizes[what] for passed, sizes in taken if passed >= START[what]]
        first, last = (statistics.median(some) for some in (settled[:SOME], settled[-SOME:]))
        line = f"{what} grew by {last - first:.1f} MB   < {MOST_GROWN[what]:.0f} MB"
        print(f"  {line}")
        if last - first >= MOST_GROWN[what]:
            lines.append(line)
    return lines


if __name__ == "__main__":
    main()
