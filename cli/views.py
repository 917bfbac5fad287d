"""The command `views`; its work is done in `views_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, Force, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight views rig.toml --picture views.png")
def views(
    rig: RigFile,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="also write a PNG of the outside view from the seat with each kind of view",
        ),
    ] = None,
    sets: Sets = None,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Report the view to enter in a simulator for each screen.

    For every screen of the outside view: off-axis (asymmetric) view with its projection matrix;
    where a simulator has none, the best symmetric view; and one wide view cut over screens side by
    side. The report says how wrong each of these is, all from the design eye point.
    """
    from seamsight.cli.views_work import print_views

    print_views(rig_words(rig, sets), picture, force=force, as_json=as_json)
