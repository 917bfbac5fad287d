"""How fast the page in the browser follows: a slider dragged for some seconds in a real browser without a screen.

Run `python tests/benchmarks/page.py [RIG]` on a machine that does nothing else; needs playwright and Chromium.
"""

import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

MAIN_RIG = Path(__file__).parents[2] / "sample_rigs" / "harbour_floatplane.toml"
SECONDS = 4.0
MOVES_PER_SECOND = 60
DRAWN = "() => Number(document.querySelector('#eyes').dataset.drawn)"
COUNT = """() => {
  const eyes = document.querySelector("#eyes");
  window.took = [];
  new MutationObserver(() => window.took.push([performance.now(), Number(eyes.dataset.took)]))
    .observe(eyes, { attributeFilter: ["data-drawn"] });
}"""


def main() -> None:
    rig = sys.argv[1] if len(sys.argv) > 1 else str(MAIN_RIG)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        start = time.perf_counter()
        words = [sys.executable, "-m", "seamsight.cli", "page", rig]
        with subprocess.Popen(
            words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        ) as server:
            address = server.stdout.readline().strip()
            asked = []
            page.on("request", lambda request: asked.append(request.url))
            page.goto(address)
            page.wait_for_selector("#eyes[data-drawn]")
            print(
                f"first picture {time.perf_counter() - start:.2f} s after the command's start   < 3 s"
            )
            outside = [url for url in asked if not url.startswith((address, "data:"))]
            print(f"requests to elsewhere: {len(outside)} of {len(asked)}   0")
            for drag in (
                "first",
                "second",
            ):  # the first one meets every size of the screens' pictures for the first time
                page.wait_for_selector("#numbers[aria-busy=false]")
                drag_slider(page, drag)
            server.terminate()
        browser.close()


def drag_slider(page: Page, drag: str) -> None:
    """Drag the first slider to and fro, and tell how many pairs of pictures were drawn meanwhile."""
    box = page.locator("#slide_x").bounding_box()
    middle, half, y = box["x"] + box["width"] / 2, box["width"] * 0.4, box["y"] + box["height"] / 2
    page.mouse.move(middle, y)
    page.mouse.down()
    page.evaluate(COUNT)
    before, start, moves = page.evaluate(DRAWN), time.perf_counter(), 0
    while (passed := time.perf_counter() - start) < SECONDS:
        page.mouse.move(middle + half * (2 * abs(passed % 2 - 1) - 1), y)
        moves += 1
        time.sleep(max(0.0, moves / MOVES_PER_SECOND - (time.perf_counter() - start)))
    drawn = page.evaluate(DRAWN) - before
    taken = [took for _, took in page.evaluate("() => window.took")][:drawn]
    page.mouse.up()
    print(
        f"{drag} drag: {moves / passed:.0f} moves/s; {drawn / passed:.1f} pairs of pictures/s   >= 15"
    )
    print(f"  server: median {statistics.median(taken):.0f} ms, worst {max(taken):.0f} ms a pair")


if __name__ == "__main__":
    main()
