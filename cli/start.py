"""The command `start`; its work is done in `start_work`, and for samples in `files_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import Force, MeasureWords

app = typer.Typer()

Measure = str | None


@app.command(
    epilog="Example: seamsight start my_cockpit/rig.toml --screens 3 --diagonal '27 in' "
    "--focal-length '700 mm'"
)
def start(
    out: Annotated[
        Path, typer.Argument(metavar="RIG", help="rig file to write, in a folder that exists")
    ],
    screens: Annotated[Measure, typer.Option(metavar="N", help="screens side by side")] = None,
    diagonal: Annotated[
        Measure, typer.Option(metavar="LENGTH", help="diagonal of one image area, as '27 in'")
    ] = None,
    aspect: Annotated[Measure, typer.Option(metavar="W:H", help="width : height, as 16:9")] = None,
    pixels: Annotated[Measure, typer.Option(metavar="WxH", help="pixels of one screen")] = None,
    bezel: Annotated[Measure, typer.Option(metavar="LENGTH", help="bezel width")] = None,
    lens: Annotated[
        Measure, typer.Option(metavar="WxH", help="clear aperture of one lens, as '576 x 324 mm'")
    ] = None,
    focal_length: Annotated[
        Measure, typer.Option(metavar="LENGTH", help="focal length of the lenses")
    ] = None,
    eye_height: Annotated[
        Measure, typer.Option(metavar="LENGTH", help="your eyes above the floor, seated")
    ] = None,
    bare: Annotated[bool, typer.Option("--bare", help="screens without lenses")] = False,
    source: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="SOURCE",
            help="copy this sample, or unpack this .zip of `pack`, instead of using measures",
        ),
    ] = None,
    force: Force = False,
) -> None:
    """Start your own rig from your measures.

    Distances are chosen so that each image fills its lens and no bezel shows from the design eye
    point. Lengths are in mm, or have a unit. On a terminal you are asked for what you leave out;
    elsewhere defaults are taken. With --from, the rig is a copy, meshes and pictures included.
    """
    words = MeasureWords(screens, diagonal, aspect, pixels, bezel, lens, focal_length, eye_height)
    if source is not None:
        if bare or any(word is not None for word in words):
            msg = "copies a rig as it is: leave out the measures, or leave out --from"
            raise typer.BadParameter(msg, param_hint="--from")
        from seamsight.cli.files_work import start_rig

        start_rig(out, source, force=force)
    else:
        from seamsight.cli.start_work import start_from_measures

        start_from_measures(out, words, bare=bare, force=force)
