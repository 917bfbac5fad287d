"""The command `signals`; its work is done in `signals_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, Force, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight signals rig.toml --picture desktop.png")
def signals(
    rig: RigFile,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="also draw the desktop to scale, as a PNG file"),
    ] = None,
    sets: Sets = None,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Check cables, adapters, splitters and the desktop.

    For every [[output]] of the rig it compares the pixel clock of its picture, by five standards,
    with what each link on the way can carry, and says what to change where it does not fit.
    """
    from seamsight.cli.signals_work import print_signals

    print_signals(rig_words(rig, sets), picture, force=force, as_json=as_json)
