"""The command `walk-in`; its work is done in `walk_in_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import Force, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight walk-in rig.toml rig.html --with wider.toml")
def walk_in(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="PAGE", help="HTML file to write")],
    other: Annotated[
        Path | None,
        typer.Option("--with", metavar="RIG", help="another rig file, to compare with the first"),
    ] = None,
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Write a page that anyone can look around in, without Seamsight.

    The page holds the rig's geometry and what its screens show. It needs a browser with WebGL 2 and
    no network. Lenses in it are ideal ones. With a headset you sit in the rig at true scale.
    """
    from seamsight.cli.walk_in_work import write_walk_in

    write_walk_in(rig_words(rig, sets), other, out, force=force)
