"""The command `panel`; its work is done in `panel_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, Force, PanelWords, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight panel rig.toml --screen gauges --picture gauges.png")
def panel(
    rig: RigFile,
    screen: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="the screen to draw (default: the only one)"),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="write a PNG of a screen with its holes, to show on it while you drill",
        ),
    ] = None,
    mask: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="write a black PNG for a screen's background, its holes clear"
        ),
    ] = None,
    sets: Sets = None,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Report where to place instruments behind a panel's holes.

    For every hole of a plate: the pixels of the screen behind it that the eyes see, as a rectangle
    for the instrument's window, on the screen and on the desktop, and which head positions see
    past it.
    """
    from seamsight.cli.panel_work import print_panel

    words = PanelWords(screen, picture, mask)
    print_panel(rig_words(rig, sets), words, force=force, as_json=as_json)
