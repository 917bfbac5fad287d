"""The commands that write pictures. Heavy libraries are imported inside them, so that `--help` answers at once."""

from typing import Annotated, Literal

import typer

from seamsight.cli.arguments import (
    Aim,
    Degrees,
    Field,
    Force,
    HeadName,
    Out,
    RigFile,
    Size,
    WithoutLenses,
)
from seamsight.cli.output import announced

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
    """Write what one eye or both see, with a degree scale, as a PNG that tells how it was made."""
    from seamsight.cli import options
    from seamsight.scene import build
    from seamsight.viewer.casting.trace import see
    from seamsight.viewer.casting.view import framed
    from seamsight.viewer.eye import eyes_of
    from seamsight.viewer.pictures.captions import caption, picture_command
    from seamsight.viewer.sheet import stacked

    loaded = options.rig_for_picture(rig, out, force)
    named = options.head(loaded, head)
    posed = options.moved(named, offset, turn, nod, tilt)
    eyes, whole = eyes_of(loaded, posed), build(loaded)
    shown = options.projection(whole, eyes, projection, size, field, aim, samples)
    assembly = build(loaded, lenses=False) if without_lenses else whole
    options.compile_kernels(scene=True)
    with announced("casting rays"):
        sheets = [
            framed(
                see(assembly, eyes.point(name), shown),
                caption(loaded, posed, name, lenses=not without_lenses),
            )
            for name in (("left", "right") if eye == "both" else (eye,))
        ]
    command = picture_command(loaded, out, eye, named, posed, shown, lenses=not without_lenses)
    options.write_picture(out, stacked(sheets), loaded, posed, command)


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
    """Write who sees a screen in each direction: both eyes, one, or neither and what is there instead."""
    from seamsight.cli import options
    from seamsight.scene import build
    from seamsight.viewer.eye import eyes_of
    from seamsight.viewer.pictures.captions import caption, command_line, direction_options
    from seamsight.viewer.pictures.overlap import overlap_picture

    loaded = options.rig_for_picture(rig, out, force)
    posed = options.head(loaded, head)
    eyes, whole = eyes_of(loaded, posed), build(loaded)
    shown = options.projection(whole, eyes, "equirectangular", size, field, aim, 1)
    assembly = build(loaded, lenses=False) if without_lenses else whole
    options.compile_kernels(scene=True)
    with announced("casting rays"):
        sheet = overlap_picture(
            assembly, eyes, shown, caption(loaded, posed, "overlap", lenses=not without_lenses)
        )
    directions = direction_options(shown)
    lenses_out = {"without-lenses": without_lenses}
    command = command_line(
        "overlap", loaded, out, {"head": head, "size": size, **directions, **lenses_out}
    )
    options.write_picture(out, sheet, loaded, posed, command)


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
    """Write a close-up of a seam for left, right and mid-eye, with its dark strip and what each eye loses."""
    from seamsight.cli import options
    from seamsight.scene import build
    from seamsight.viewer.eye import eyes_of
    from seamsight.viewer.pictures.captions import caption, command_line
    from seamsight.viewer.pictures.seam import seam_picture

    loaded = options.rig_for_picture(rig, out, force)
    posed = options.head(loaded, head)
    assembly = build(loaded, lenses=not without_lenses)
    options.compile_kernels(scene=True)
    with announced("casting rays"):
        first, second = options.seam_names(assembly, eyes_of(loaded, posed), between)
        if facing:
            posed = options.facing_head(assembly, first, second, eyes_of(loaded, posed))
        above = caption(loaded, posed, "seam", lenses=not without_lenses)
        sheet = seam_picture(assembly, first, second, eyes_of(loaded, posed), above)
    pair = f"{first},{second}"
    flags = {"without-lenses": without_lenses, "facing": facing}
    command = command_line("seam", loaded, out, {"head": head, "between": pair, **flags})
    options.write_picture(out, sheet, loaded, posed, command)
