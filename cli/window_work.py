"""The work of `window`: a rig in, a window on it until its user closes it."""

import os
import sys

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.viewer.live.preview import FileWatch, Preview
from seamsight.viewer.live.state import state_at
from seamsight.viewer.live.window import Window

SMALLEST = (640, 400)  # pixels; what the controls need


def open_window(rig_words: RigWords, head_name: str, size: str, *, lenses: bool) -> None:
    """Show a window on a rig until it is closed; without a size as large as the screen allows."""
    pixels = options.size(size, SMALLEST) if size else None
    watch = FileWatch(rig_words.file)
    rig = options.read(rig_words)
    start = state_at(options.head(rig, head_name), lenses)
    _refuse_without_display()

    compile_kernels(scene=True)
    Window(Preview(rig), watch, start, head_name, pixels).run()


def _refuse_without_display() -> None:
    has_display = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    if sys.platform.startswith("linux") and not has_display:
        msg = "there is no display to open a window on; "
        msg += "`seamsight picture` draws what the eyes see into a file"
        raise OSError(msg)
