"""The command `choose`; its work is done in `choose_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import (
    AsJson,
    ChooseWords,
    Force,
    HeadName,
    Hide,
    RigFile,
    Sets,
    rig_words,
)

app = typer.Typer()


@app.command(
    epilog="Example: seamsight choose rig.toml --free outside.lens.distance=100..200 "
    "--goal head-room"
)
def choose(
    rig: RigFile,
    goals: Annotated[
        list[str],
        typer.Option(
            "--goal",
            metavar="GOAL",
            help="field, head-room, magnification, blur, dark-strip or corner-light; a second one "
            "gives a trade-off curve",
        ),
    ],
    frees: Annotated[
        list[str] | None,
        typer.Option(
            "--free",
            metavar="PATH=VALUES",
            help="what may change: a range such as outside.radius=550..700, or a list such as "
            "outside.lens.focal_length=400,450; may be given again (default: the rig's [free])",
        ),
    ] = None,
    head: HeadName = "design",
    at: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME",
            help="head position at which --seen and --hide hold, or all; may be given again "
            "(default: --head)",
        ),
    ] = None,
    seen: Annotated[
        float,
        typer.Option(
            min=0.01,
            max=1,
            help="share of each image, 0 to 1, that each eye must see past the edge of its lens",
        ),
    ] = 0.98,
    hide: Hide = None,
    room: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="head room each way, at least")
    ] = None,
    magnification: Annotated[
        float | None, typer.Option(metavar="TIMES", help="magnification of each lens, at least")
    ] = None,
    width: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="the screens with their boards must fit within this"),
    ] = None,
    depth: Annotated[str | None, typer.Option(metavar="LENGTH", help="the same, in depth")] = None,
    height: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="the same, in height")
    ] = None,
    sets: Sets = None,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="also draw the trade-off curve, as PNG")
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="also write the rig with the best values (TOML)"),
    ] = None,
    pick: Annotated[
        int | None,
        typer.Option(
            metavar="NUMBER", help="which rig of the trade-off curve to write (default: the middle)"
        ),
    ] = None,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Choose the best values for a rig, such as lens distances.

    It tries values within the ranges and lists that you allow, and reports the best ones for your
    goal, and what each constraint costs. With two goals it reports a curve: how much of one goal
    you give up for the other.
    """
    from seamsight.cli.choose_work import print_choice

    limits = {
        "head-room": room,
        "magnification": magnification,
        "width": width,
        "depth": depth,
        "height": height,
    }
    words = ChooseWords(goals, frees or [], head, at or [], seen, tuple(hide or ()), limits, pick)
    print_choice(rig_words(rig, sets), words, picture, write, force=force, as_json=as_json)
