"""What the tests of the command share: running it, and a small rig that draws at once."""

import contextlib
import functools
import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from seamsight.cli.main import main

Done = subprocess.CompletedProcess[str]
Run = Callable[..., Done]

COMMAND = shutil.which("seamsight", path=sysconfig.get_path("scripts")) or "seamsight"
QUIETLY: dict[str, Any] = {
    "capture_output": True,
    "encoding": "utf-8",
    "stdin": subprocess.DEVNULL,
}
CHROMIUM = (
    shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
)
PAGE_COMMAND = [sys.executable, "-m", "seamsight.cli", "page"]
ASKS_FOR_COLOUR = ("FORCE_COLOR", "PY_COLORS", "GITHUB_ACTIONS", "TTY_COMPATIBLE")

LITTLE_RIG = """\
format = 1
name = "Größe [[x]]"

[pilot]
eye_point = [0, 0, 1150]

[[head]]
name = "leaning"
offset = [-40, 10, 0]
turn = 10

[[head]]
name = "in the ceiling"
offset = [0, 0, 250]

[[screen]]
name = "[[x]]"
diagonal = "22 in"
aspect = "16:10"
pixels = [168, 105]
bezel = 16
shows = "card"
centre = [0, 750, 1150]

[[lens]]
screen = "[[x]]"
focal_length = 450
distance = 150
width = 517
height = 330

[[board]]
name = "höhe [bold]"
size = [400, 300, 40]
centre = [0, 0, 1400]
"""


BANK_RIG = """\
format = 1
name = "wall"

[pilot]
eye_point = [0, 0, 0]

[[head]]
name = "aside"
offset = [200, 0, 0]

[[bank]]
name = "row"
count = 1
radius = 600
screen = { width = 480, height = 300, pixels = [800, 500] }

[bank.lens]
focal_length = 450
distance = 150
width = 560
height = 360
frame = { width = 400, depth = 1 }
"""


@pytest.fixture(scope="session")
def command() -> Run:
    """Run the installed command; hold it to its exit status, and to never show a traceback."""

    def command(
        *words: object, status: int = 0, env: dict[str, str] | None = None, **options: Any
    ) -> Done:
        quiet = {key: value for key, value in os.environ.items() if key not in ASKS_FOR_COLOUR}
        done = subprocess.run(
            [COMMAND, *map(str, words)],
            **(QUIETLY | options),
            env=quiet | (env or {}),
            check=False,
        )
        assert "Traceback" not in done.stderr
        assert done.returncode == status, done.stderr
        return done

    return command


@pytest.fixture
def run(command: Run, tmp_path: Path) -> Run:
    """Run the installed command in a folder of its own."""
    return functools.partial(command, cwd=tmp_path)


@pytest.fixture
def call(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Run:
    """Do the same within this process, where a process for each of many runs would take long."""
    monkeypatch.chdir(tmp_path)

    def call(*words: object, status: int = 0) -> Done:
        monkeypatch.setattr(sys, "argv", ["seamsight", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        done = subprocess.CompletedProcess(
            [*map(str, words)], int(ended.value.code or 0), *capsys.readouterr()
        )
        assert done.returncode == status, done.stderr
        return done

    return call


@pytest.fixture(scope="session")
def little_rig_text() -> str:
    """One screen behind one lens, with names that terminals and markup trip over."""
    return LITTLE_RIG


@pytest.fixture
def little_rig(tmp_path: Path, little_rig_text: str) -> Path:
    """The file of that rig."""
    path = tmp_path / "rig.toml"
    path.write_text(little_rig_text, "utf-8")
    return path


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A browser without a screen."""
    playwright_api = pytest.importorskip("playwright.sync_api", reason="needs playwright")
    if not CHROMIUM:
        pytest.skip("needs Chromium to be installed")
    with playwright_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def serving() -> Callable[..., contextlib.AbstractContextManager[Any]]:
    """Start the page's command; give its process and its address."""

    @contextlib.contextmanager
    def serving(rig: Path, *words: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
        with subprocess.Popen(
            [*PAGE_COMMAND, rig, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        ) as process:
            assert process.stdout
            try:
                yield process, process.stdout.readline().strip()
            finally:
                process.kill()

    return serving


@pytest.fixture
def bank_rig(tmp_path: Path) -> Path:
    """The file of a bank of one screen, past whose lens nobody looks, and a head to its side."""
    path = tmp_path / "bank.toml"
    path.write_text(BANK_RIG, "utf-8")
    return path
