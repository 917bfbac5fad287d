"""The command `sway`; its work is done in `sway_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, HeadName, RigFile, Sets, SwayWords, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight sway rig.toml --by 20,10,5")
def sway(
    rig: RigFile,
    head: HeadName = "design",
    by: Annotated[
        str,
        typer.Option(
            metavar="X,Y,Z", help="how far the head sways left and right, forward and back, up, mm"
        ),
    ] = "20,10,5",
    path: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="CSV file with a recorded movement instead: time (s), x, y, z (mm), turn, nod, "
            "tilt (degrees)",
        ),
    ] = None,
    seen: Annotated[
        float,
        typer.Option(min=0.01, max=1, help="share of each image that each eye should see, 0 to 1"),
    ] = 0.98,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report how long a moving head sees too little.

    The head sways, or moves as a file says, about a head position. The report says for which share
    of the time an eye sees less of an outside screen than it should.
    """
    from seamsight.cli.sway_work import print_losses

    words = SwayWords(head, by, path, seen)
    print_losses(rig_words(rig, sets), words, as_json=as_json)
