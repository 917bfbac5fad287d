"""The command `clip`; its work is done in `clip_work`."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from seamsight.cli.arguments import Force, RigFile, WithoutLenses

app = typer.Typer()


@app.command(
    epilog="Example: seamsight clip rig.toml leaning.webp --head design --head 'leaning out'"
)
def clip(
    rig: RigFile,
    out: Annotated[
        Path,
        typer.Argument(metavar="CLIP", help="file to write: .webp, or .mp4 with the extra mp4"),
    ],
    head: Annotated[
        list[str] | None,
        typer.Option(
            "--head",
            metavar="NAME",
            help="give two or more to go through; left out, the head sways",
        ),
    ] = None,
    eye: Annotated[
        Literal["both", "left", "right", "mid"], typer.Option(help="whose view")
    ] = "both",
    without_lenses: WithoutLenses = False,
    size: Annotated[
        str, typer.Option(metavar="WxH", help="pixels of each eye's picture")
    ] = "640x360",
    seconds: Annotated[
        float, typer.Option(min=1, max=30, help="how long it takes until it starts anew")
    ] = 4.0,
    force: Force = False,
) -> None:
    """Write what the eyes see while the head sways, or goes from head to head and back, as an
    endless clip.
    """
    from seamsight.cli.clip_work import write_clip

    lenses = not without_lenses
    write_clip(rig, out, head or [], eye, size, seconds, lenses=lenses, force=force)
