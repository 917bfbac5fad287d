"""The command `window`; its work is done in `window_work`."""

from typing import Annotated

import typer

from seamsight.cli.arguments import HeadName, RigFile, Sets, WithoutLenses, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight window rig.toml --head 'leaning out'")
def window(
    rig: RigFile,
    head: HeadName = "design",
    without_lenses: WithoutLenses = False,
    sets: Sets = None,
    size: Annotated[
        str,
        typer.Option(
            metavar="WxH", help="pixels of the window (default: as large as the monitor allows)"
        ),
    ] = "",
) -> None:
    """Open the live view: the rig in 3D and what both eyes see.

    Move the head with sliders or keys; the window lists its keys. It reloads the rig file whenever
    you save it.
    """
    from seamsight.cli.window_work import open_window

    open_window(rig_words(rig, sets), head, size, lenses=not without_lenses)
