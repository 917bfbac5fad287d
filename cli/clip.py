"""The command `clip`; its work is done in `clip_work`."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from seamsight.cli.arguments import Force, RigFile, Sets, WithoutLenses, rig_words

app = typer.Typer()


@app.command(
    epilog="Example: seamsight clip rig.toml leaning.webp --head design --head 'leaning out'"
)
def clip(
    rig: RigFile,
    out: Annotated[
        Path,
        typer.Argument(metavar="CLIP", help="file to write: .webp, or .mp4 (needs '.[mp4]')"),
    ],
    head: Annotated[
        list[str] | None,
        typer.Option(
            "--head",
            metavar="NAME",
            help="head position to move to: give two or more (default: the head sways)",
        ),
    ] = None,
    eye: Annotated[
        Literal["both", "left", "right", "mid"],
        typer.Option(help="which eye; mid is the point between the eyes"),
    ] = "both",
    without_lenses: WithoutLenses = False,
    sets: Sets = None,
    size: Annotated[
        str, typer.Option(metavar="WxH", help="pixels of each eye's picture")
    ] = "640x360",
    seconds: Annotated[
        float, typer.Option(min=1, max=30, help="length of one loop, seconds")
    ] = 4.0,
    force: Force = False,
) -> None:
    """Write a looping clip of what the eyes see as the head moves.

    The head sways, or moves between the head positions that you name.
    """
    from seamsight.cli.clip_work import write_clip

    lenses = not without_lenses
    write_clip(
        rig_words(rig, sets),
        out,
        head or [],
        eye,
        size,
        seconds,
        lenses=lenses,
        force=force,
    )
