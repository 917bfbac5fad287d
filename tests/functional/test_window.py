"""The window on a screen of its own (Xvfb): keys and mouse by xdotool, looked at as a picture."""

import contextlib
import ctypes
import os
import shutil
import struct
import subprocess
import sysconfig
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageGrab

from seamsight.scene import read_rig
from seamsight.viewer.live.state import HEAD_AXES
from seamsight.viewer.live.window_layout import Box, Button, laid_out

SIZE = (900, 600)
COMMAND = shutil.which("seamsight", path=sysconfig.get_path("scripts"))
PATIENCE = 20.0  # s until something is there, on a busy machine too

pytestmark = pytest.mark.skipif(
    not (shutil.which("Xvfb") and shutil.which("xdotool")),
    reason="needs Xvfb and xdotool, which are not installed",
)


@pytest.fixture(scope="module")
def display():
    geometry = f"{SIZE[0]}x{SIZE[1]}x24"
    words = ["Xvfb", "-displayfd", "1", "-screen", "0", geometry, "-nolisten", "tcp", "-noreset"]
    screen = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    yield f":{screen.stdout.readline().strip()}"
    screen.terminate()
    screen.wait()
    screen.stdout.close()


class Opened:
    """An open window, with hands and eyes for it."""

    def __init__(self, rig: Path, display: str, *words: str) -> None:
        self.env = os.environ | {"DISPLAY": display}
        self.layout = laid_out(*SIZE, read_rig(rig))
        command = [str(COMMAND), "window", str(rig), f"--size={SIZE[0]}x{SIZE[1]}", *words]
        self.process = subprocess.Popen(
            command, cwd=rig.parent, env=self.env, stderr=subprocess.PIPE, text=True
        )

    def come(self) -> None:
        """Wait for the first pictures."""
        # without a window manager the pointer's window gets keys
        self.do("mousemove", *middle_of(self.layout.stage))
        self.until(lambda: self.seen(self.layout.eyes[0]).std() > 10)

    def do(self, *words: object) -> None:
        """Have xdotool do something."""
        subprocess.run(["xdotool", *map(str, words)], env=self.env, check=True)

    def click(self, box: Box) -> None:
        """Click on the middle of a box."""
        self.do("mousemove", *middle_of(box), "click", 1)

    def seen(self, box: Box) -> np.ndarray:
        """Return what a part of the window shows."""
        whole = ImageGrab.grab(xdisplay=self.env["DISPLAY"])
        return np.asarray(
            whole.crop((box.left, box.top, box.left + box.width, box.top + box.height)), int
        )

    def until(self, condition: Callable[[], object]) -> None:
        """Wait until something is so."""
        end = time.monotonic() + PATIENCE
        while not condition():
            assert self.process.poll() is None, self.process.stderr.read()
            assert time.monotonic() < end, "it never came to be so"
            time.sleep(0.05)

    def until_changed(self, act: Callable[[], None], box: Box | None = None) -> np.ndarray:
        """Do something, wait until a part of the window is another, and return that.

        The part is what the left eye sees, if not told.
        """
        box = box or self.layout.eyes[0]
        before = self.seen(box)
        act()
        self.until(lambda: differ(self.seen(box), before))
        return self.seen(box)

    def ended(self) -> None:
        """Hold the window to its clean end."""
        _, told = self.process.communicate(timeout=PATIENCE)
        assert self.process.returncode == 0
        assert told_lines(told) == []


def told_lines(told: str) -> list[str]:
    """Return what was told on standard error, but for what a busy machine may need time for."""
    return [line for line in told.splitlines() if "preparing the ray tracer" not in line]


def middle_of(box: Box) -> tuple[int, int]:
    return box.left + box.width // 2, box.top + box.height // 2


def differ(picture: np.ndarray, other: np.ndarray) -> bool:
    return (np.abs(picture - other).max(axis=-1) > 30).mean() > 0.002


@contextlib.contextmanager
def open_window(rig: Path, display: str, *words: str) -> Iterator[Opened]:
    window = Opened(rig, display, *words)
    try:
        window.come()
        yield window
    finally:
        window.process.kill()
        window.process.communicate()


@pytest.fixture
def opened(display, little_rig):
    with open_window(little_rig, display) as window:
        yield window


def test_keys_sliders_and_buttons_move_the_head_and_the_lenses(opened):
    opened.until(lambda: opened.seen(opened.layout.stage).std() > 10)
    at_start = opened.seen(opened.layout.eyes[0])
    opened.until_changed(lambda: opened.do("key", "--repeat", 6, "Right"))
    opened.do("key", "r")
    opened.until(lambda: not differ(opened.seen(opened.layout.eyes[0]), at_start))
    track = opened.layout.slider(1).track
    x, y = middle_of(track)
    opened.until_changed(
        lambda: opened.do("mousemove", x, y, "mousedown", 1, "mousemove", x + 20, y, "mouseup", 1)
    )
    opened.do("key", "r")
    opened.until(lambda: not differ(opened.seen(opened.layout.eyes[0]), at_start))
    opened.until_changed(lambda: opened.do("key", "l"))
    opened.click(opened.layout.buttons([Button("l", "lenses out", "L")])[0])
    opened.until(lambda: not differ(opened.seen(opened.layout.eyes[0]), at_start))
    opened.until_changed(lambda: opened.do("key", "h"))  # the next head is another
    opened.until_changed(lambda: opened.do("key", "o"))
    opened.do("key", "q")
    opened.ended()


def test_the_rig_is_turned_by_dragging_and_an_eye_in_a_board_is_told(opened):
    opened.until(lambda: opened.seen(opened.layout.stage).std() > 10)
    x, y = middle_of(opened.layout.stage)
    stage = opened.layout.stage
    opened.until_changed(
        lambda: opened.do("mousemove", x, y, "mousedown", 1, "mousemove", x + 60, y, "mouseup", 1),
        stage,
    )
    message = opened.layout.foot._replace(height=2 * opened.layout.line)
    told = opened.until_changed(
        lambda: opened.do("key", "h", "key", "h"), message
    )  # the head in the ceiling
    red = told[..., 0] - told[..., 1:].max(axis=-1)
    assert (red > 60).any()
    opened.until_changed(lambda: opened.do("key", "r"), message)


def test_a_head_beyond_the_sliders_reach_stays_there_until_a_slider_is_dragged(
    display, little_rig_text, little_rig
):
    head = '[[head]]\nname = "far"\noffset = [0, -1500, 0]\nnod = 80\n'
    little_rig.write_text(f"{little_rig_text}\n{head}", "utf-8")
    with open_window(little_rig, display, "--head=far") as opened:
        slider = opened.layout.slider(1)
        left = opened.layout.eyes[0]
        value = Box(*slider.value, 5 * opened.layout.letter, slider.track.height)
        knob = slider.knob_at(HEAD_AXES[1], -1500.0)
        x, y = middle_of(knob)
        assert abs(x - slider.track.left) <= 1
        opened.until(lambda: opened.seen(opened.layout.stage).std() > 10)
        time.sleep(1)  # until pictures and numbers are all there
        at_rest = opened.seen(opened.layout.controls)
        far = opened.seen(left)

        # a click on the knob leaves the head where it is, a key moves it from there
        opened.do("mousemove", x, y, "click", 1)
        time.sleep(1)
        assert not differ(opened.seen(left), far)
        assert (opened.seen(opened.layout.controls) == at_rest).all()
        written = opened.seen(value)
        opened.do("key", "Down")
        opened.until(lambda: np.any(opened.seen(value) != written))

        opened.until_changed(
            lambda: opened.do(
                "mousemove", x, y, "mousedown", 1, "mousemove", x + 20, y, "mouseup", 1
            )
        )
        opened.do("key", "q")
        opened.ended()


def test_a_saved_picture_takes_the_next_free_number(opened, little_rig):
    (little_rig.parent / "rig-01.png").write_bytes(b"kept")
    opened.do("key", "p")
    saved = little_rig.parent / "rig-02.png"
    opened.until(saved.exists)
    with Image.open(saved) as picture:
        assert picture.info["Title"] == "Größe [[x]]"
        assert picture.width > 640 and picture.height > 2 * 360
    assert (little_rig.parent / "rig-01.png").read_bytes() == b"kept"


def test_the_window_follows_the_file_and_keeps_the_rig_when_that_is_broken(opened, little_rig):
    text = little_rig.read_text("utf-8")
    black = opened.until_changed(
        lambda: little_rig.write_text(text.replace('"card"', '"black"'), "utf-8")
    )
    numbers = opened.layout.numbers
    opened.until_changed(
        lambda: little_rig.write_text(text.replace("pixels", "pickles"), "utf-8"), numbers
    )
    assert not differ(opened.seen(opened.layout.eyes[0]), black)
    opened.until_changed(lambda: little_rig.write_text(text, "utf-8"))
    opened.do("key", "q")
    opened.ended()


def test_closing_the_window_ends_it(opened):
    found = subprocess.run(
        ["xdotool", "search", "--name", "Seamsight"],
        env=opened.env,
        check=True,
        capture_output=True,
        text=True,
    )
    ask_to_close(opened.env["DISPLAY"], int(found.stdout.split()[0]))
    opened.ended()


def ask_to_close(display: str, window: int) -> None:
    """Send what a window manager's close button sends.

    WM_DELETE_WINDOW (ICCCM 4.2.8.1), as an XClientMessageEvent.
    """
    xlib = ctypes.CDLL("libX11.so.6")
    xlib.XOpenDisplay.restype = ctypes.c_void_p
    xlib.XInternAtom.restype = ctypes.c_ulong
    server = ctypes.c_void_p(xlib.XOpenDisplay(display.encode()))
    protocols, delete = (
        xlib.XInternAtom(server, name, False) for name in (b"WM_PROTOCOLS", b"WM_DELETE_WINDOW")
    )
    client_message, no_mask = 33, 0
    event = struct.pack(
        "@iLiPLLi5l", client_message, 0, 1, 0, window, protocols, 32, delete, 0, 0, 0, 0
    )
    xlib.XSendEvent(
        server, ctypes.c_ulong(window), False, ctypes.c_long(no_mask), event.ljust(192, b"\0")
    )
    xlib.XCloseDisplay(server)


def test_without_a_display_it_says_so_in_one_line(run, little_rig):
    nowhere = {"DISPLAY": "", "WAYLAND_DISPLAY": ""}
    (line,) = told_lines(run("window", little_rig, status=1, env=nowhere).stderr)
    assert "no display" in line
    nothing_there = {"DISPLAY": ":987", "WAYLAND_DISPLAY": ""}
    (line,) = told_lines(run("window", little_rig, status=1, env=nothing_there).stderr)
    assert "display" in line


@pytest.mark.parametrize("size", ["900", "900x", "0x600", "900x640x2", "99999x640", "axb"])
def test_a_size_is_two_numbers(run, little_rig, size):
    assert "--size" in run("window", little_rig, f"--size={size}", status=2).stderr
