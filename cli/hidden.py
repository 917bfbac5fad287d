"""The command `hidden`; its work is done in `hidden_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import (
    AsJson,
    Force,
    HeadName,
    HiddenWords,
    RigFile,
    Sets,
    rig_words,
)

app = typer.Typer()


@app.command(epilog="Example: seamsight hidden rig.toml hidden.glb --reach 80,60,40")
def hidden(
    rig: RigFile,
    out: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="file to write: a closed mesh (.glb, .stl) or slices (.png)"
        ),
    ],
    head: HeadName = "design",
    reach: Annotated[
        str,
        typer.Option(
            metavar="X,Y,Z",
            help="how far the head moves left and right, forward and back, up and down of it, mm",
        ),
    ] = "60,40,40",
    turn: Annotated[
        float, typer.Option(min=0, max=180, help="how far the head turns to each side, degrees")
    ] = 20.0,
    all_heads: Annotated[
        bool,
        typer.Option("--all-heads", help="the same about every head position named in the rig"),
    ] = False,
    step: Annotated[float, typer.Option(help="side of the cubes that are told apart, mm")] = 10.0,
    sets: Sets = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Find the space that no eye sees, for brackets and cables.

    The head moves within a box and turns; both eyes look in all directions, straight and through
    every lens. What is hidden has a margin of one cube. The report says of each part whether it is
    seen, from where, and how far to move it for it to vanish.
    """
    from seamsight.cli.hidden_work import write_hidden

    words = HiddenWords(head, reach, turn, step, all_heads)
    write_hidden(rig_words(rig, sets), out, words, as_json=as_json, force=force)
