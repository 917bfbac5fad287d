"""The command `drawing`; its work is done in `drawing_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import Force, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight drawing rig.toml rig.pdf --paper a3")
def drawing(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="FILE", help="file to write: .pdf, .svg or .dxf")],
    paper: Annotated[str, typer.Option(help="paper that it fits on: a4, a3 or letter")] = "a4",
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Draw a rig from above, in front and beside, with dimensions.

    PDF and SVG are to a usual scale that fits the paper, on its side; DXF is at 1:1. Boards with
    `room = true` are left out.
    """
    from seamsight.cli.drawing_work import write_drawing

    write_drawing(rig_words(rig, sets), out, paper, force=force)
