"""The commands `picture`, `overlap` and `seam`; their work is done in `pictures_work`."""

from typing import Annotated, Literal

import typer

from seamsight.cli.arguments import (
    Aim,
    Field,
    Force,
    FrameWords,
    HeadName,
    HeadWords,
    Nod,
    Offset,
    Out,
    RigFile,
    Sets,
    Size,
    Tilt,
    Turn,
    WithoutLenses,
    rig_words,
)

app = typer.Typer()


@app.command(epilog="Example: seamsight picture rig.toml before.png --without-lenses")
def picture(
    rig: RigFile,
    out: Out,
    eye: Annotated[
        Literal["both", "left", "right", "mid"],
        typer.Option(help="which eye; mid is the point between the eyes"),
    ] = "both",
    head: HeadName = "design",
    offset: Offset = "0,0,0",
    turn: Turn = None,
    nod: Nod = None,
    tilt: Tilt = None,
    without_lenses: WithoutLenses = False,
    projection: Annotated[
        Literal["equirectangular", "rectilinear"],
        typer.Option(
            help="equirectangular: one scale in degrees everywhere; rectilinear: straight lines "
            "stay straight, as in a camera; by default it faces as the head does, 90° wide"
        ),
    ] = "equirectangular",
    size: Size = "1600x700",
    field: Field = None,
    aim: Aim = "",
    samples: Annotated[
        int,
        typer.Option(min=1, max=8, help="rays along each side of a pixel: 2 casts 2 × 2 of them"),
    ] = 2,
    room: Annotated[
        Literal["lit", "dark"],
        typer.Option(
            help="dark: lit by the rig's screens and lamps alone; what does not shine is drawn "
            "four times as bright as it is, to be seen"
        ),
    ] = "lit",
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Draw what one eye or both eyes see, with a degree scale.

    Hatched areas show no part at all. In a rig with lamps it shows what lenses and screens mirror;
    your own head and body hide none of it. The PNG file stores the command that made it.
    """
    from seamsight.cli.pictures_work import write_picture

    moved = HeadWords(head, offset, turn, nod, tilt)
    frame = FrameWords(projection, size, field, aim, samples)
    write_picture(
        rig_words(rig, sets),
        out,
        eye,
        moved,
        frame,
        lenses=not without_lenses,
        room=room,
        force=force,
    )


@app.command(epilog="Example: seamsight overlap rig.toml overlap.png --head 'leaning out'")
def overlap(
    rig: RigFile,
    out: Out,
    head: HeadName = "design",
    without_lenses: WithoutLenses = False,
    size: Size = "1600x700",
    field: Field = None,
    aim: Aim = "",
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Draw which places of each screen both eyes see, or only one.

    The screens are tinted as each eye sees them. Below, each screen is drawn flat, with a scale in
    mm and pixels, and with what hides the rest.
    """
    from seamsight.cli.pictures_work import write_overlap

    frame = FrameWords("equirectangular", size, field, aim, 1)
    write_overlap(rig_words(rig, sets), out, head, frame, lenses=not without_lenses, force=force)


@app.command(epilog="Example: seamsight seam rig.toml seam.png --between outside.1,outside.2")
def seam(
    rig: RigFile,
    out: Out,
    between: Annotated[
        str,
        typer.Option(
            metavar="A,B", help="the two screens (default: those with the narrowest seam)"
        ),
    ] = "",
    head: HeadName = "design",
    facing: Annotated[bool, typer.Option("--facing", help="turn the head to the seam")] = False,
    without_lenses: WithoutLenses = False,
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Draw a seam close up: its dark strip and what each eye loses.

    It is drawn for the left eye, the right eye and the point between the eyes.
    """
    from seamsight.cli.pictures_work import write_seam

    write_seam(
        rig_words(rig, sets),
        out,
        between,
        head,
        facing=facing,
        lenses=not without_lenses,
        force=force,
    )
