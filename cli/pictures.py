"""The commands `picture`, `overlap` and `seam`; their work is done in `pictures_work`."""

from typing import Annotated, Literal

import typer

from seamsight.cli.arguments import (
    Aim,
    Degrees,
    Field,
    Force,
    FrameWords,
    HeadName,
    HeadWords,
    Out,
    RigFile,
    Size,
    WithoutLenses,
)

app = typer.Typer()


@app.command(epilog="Example: seamsight picture rig.toml before.png --without-lenses")
def picture(
    rig: RigFile,
    out: Out,
    eye: Annotated[
        Literal["both", "left", "right", "mid"], typer.Option(help="whose view")
    ] = "both",
    head: HeadName = "design",
    offset: Annotated[
        str, typer.Option(metavar="X,Y,Z", help="move the head: right, forward, up, mm")
    ] = "0,0,0",
    turn: Annotated[
        Degrees, typer.Option(help="turn the face, degrees clockwise, instead of the head's own")
    ] = None,
    nod: Annotated[
        Degrees, typer.Option(help="nod the face, degrees up, instead of the head's own")
    ] = None,
    tilt: Annotated[
        Degrees, typer.Option(help="tilt the head, degrees to the right, instead of its own")
    ] = None,
    without_lenses: WithoutLenses = False,
    projection: Annotated[
        Literal["equirectangular", "rectilinear"],
        typer.Option(help="equal degrees everywhere, or straight as a camera along the face"),
    ] = "equirectangular",
    size: Size = "1600x700",
    field: Field = None,
    aim: Aim = "",
    samples: Annotated[int, typer.Option(min=1, max=8, help="rays along each side of a pixel")] = 2,
    force: Force = False,
) -> None:
    """Write what one eye or both see, with a degree scale, as a PNG that tells how it was made.
    Where there is nothing at all, it is hatched.
    """
    from seamsight.cli.pictures_work import write_picture

    moved = HeadWords(head, offset, turn, nod, tilt)
    frame = FrameWords(projection, size, field, aim, samples)
    write_picture(rig, out, eye, moved, frame, lenses=not without_lenses, force=force)


@app.command(epilog="Example: seamsight overlap rig.toml overlap.png --head 'leaning out'")
def overlap(
    rig: RigFile,
    out: Out,
    head: HeadName = "design",
    without_lenses: WithoutLenses = False,
    size: Size = "1600x700",
    field: Field = None,
    aim: Aim = "",
    force: Force = False,
) -> None:
    """Write which places of each screen both eyes see, or one: as each eye sees the screens, and
    each screen laid flat with a scale in mm and pixels and what hides the rest.
    """
    from seamsight.cli.pictures_work import write_overlap

    frame = FrameWords("equirectangular", size, field, aim, 1)
    write_overlap(rig, out, head, frame, lenses=not without_lenses, force=force)


@app.command(epilog="Example: seamsight seam rig.toml seam.png --between outside.1,outside.2")
def seam(
    rig: RigFile,
    out: Out,
    between: Annotated[
        str,
        typer.Option(
            metavar="A,B", help="the two screens; those with the narrowest seam if left out"
        ),
    ] = "",
    head: HeadName = "design",
    facing: Annotated[bool, typer.Option("--facing", help="turn the face to the seam")] = False,
    without_lenses: WithoutLenses = False,
    force: Force = False,
) -> None:
    """Write a close-up of a seam for left, right and mid-eye, with its dark strip and what each eye
    loses.
    """
    from seamsight.cli.pictures_work import write_seam

    write_seam(rig, out, between, head, facing=facing, lenses=not without_lenses, force=force)
