"""The command that opens the desktop window. Heavy libraries are imported inside it, for a quick `--help`."""

import os
import sys
from typing import Annotated

import typer

from seamsight.cli.arguments import HeadName, RigFile, WithoutLenses

app = typer.Typer()
SMALLEST = (640, 400)  # pixels; what the controls need


@app.command(epilog="Example: seamsight window rig.toml --head 'leaning out'")
def window(
    rig: RigFile,
    head: HeadName = "design",
    without_lenses: WithoutLenses = False,
    size: Annotated[
        str,
        typer.Option(metavar="WxH", help="pixels of the window; as the screen allows if left out"),
    ] = "",
) -> None:
    """Open a window: the rig in 3D, and what both eyes see while you move the head with sliders or keys.

    It shows its keys, and follows the rig file each time you save it.
    """
    from seamsight.cli import options
    from seamsight.cli.kernels import compile_kernels
    from seamsight.scene import read_rig
    from seamsight.viewer.live.preview import FileWatch, Preview
    from seamsight.viewer.live.state import state_at

    asked = options.size(size, SMALLEST) if size else None
    watch, loaded = FileWatch(rig), read_rig(rig)
    first = options.head(loaded, head)
    _refuse_without_display()
    from seamsight.viewer.live.window import Window

    compile_kernels(scene=True)
    Window(Preview(loaded), watch, state_at(first, not without_lenses), head, asked).run()


def _refuse_without_display() -> None:
    if sys.platform.startswith("linux") and not (
        os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    ):
        msg = "there is no display for a window here; `seamsight picture` writes to a file what the eyes see"
        raise OSError(msg)
