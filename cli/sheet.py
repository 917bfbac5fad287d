"""The command `sheet`; its work is done in `sheet_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import Force, HeadName, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight sheet rig.toml sheet.html")
def sheet(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="SHEET", help="file to write: .html")],
    head: HeadName = "design",
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Write all about a rig on one sheet to print, as HTML.

    Cautions, what both eyes see, the numbers that matter, and what to enter in the simulator and
    in the computer. It contains its pictures, and prints on A4 and Letter.
    """
    from seamsight.cli.sheet_work import write_sheet

    write_sheet(rig_words(rig, sets), out, head, force=force)
