"""From the words of a command line to heads, projections and back. Wrong words end in `typer.BadParameter`."""

import itertools
import math
from pathlib import Path

import typer
from PIL import Image

from seamsight.cli.output import announced
from seamsight.scene import Assembly, ChoiceError, Head, Rig, read_rig
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.casting import trace, world
from seamsight.viewer.eye import Eyes, head_named
from seamsight.viewer.numbers.seams import facing_seam, seams
from seamsight.viewer.pictures.captions import facts_of
from seamsight.viewer.pictures.framing import along_the_face, framed_on_screens
from seamsight.viewer.projection import LARGEST, Projection
from seamsight.viewer.sheet import png


def compile_kernels(*, scene: bool = False) -> None:
    """Make the compiled kernels ready, that of the outside scene too where asked; say so where that takes long."""
    with announced("compiling the ray kernels, once for this installation"):
        trace.warm_up()
        if scene:
            world.warm_up()


def rig_for_picture(file: Path, out: Path, force: bool) -> Rig:
    """Return a rig to be drawn, after a look whether the picture may be written at all."""
    if out.suffix.lower() != ".png":
        msg = f"must end in .png (got {out.name})"
        raise typer.BadParameter(msg, param_hint="PICTURE")
    refuse_to_overwrite(out, force)
    return read_rig(file)


def write_picture(out: Path, sheet: Image.Image, rig: Rig, posed: Head, command: str) -> None:
    """Write a picture that tells where it comes from, and print its name."""
    write_whole(out, png(sheet, facts_of(rig, posed, command)))
    print(out)


def head(rig: Rig, name: str) -> Head:
    """Return a rig's head by name."""
    try:
        return head_named(rig, name)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--head") from error


def moved(
    posed: Head, offset: str, turn: float | None, nod: float | None, tilt: float | None
) -> Head:
    """Return a head moved by an offset "X,Y,Z", with those angles that are given."""
    by = _numbers(offset, 3, "--offset")
    new = {"turn": turn, "nod": nod, "tilt": tilt}
    changed = {key: value for key, value in new.items() if value is not None}
    fields = (
        posed.model_dump()
        | changed
        | {"offset": [a + b for a, b in zip(posed.offset, by, strict=True)]}
    )
    try:
        return Head.model_validate(fields)
    except ValueError as error:
        msg = "a head stays within 100 m and 360 degrees"
        raise typer.BadParameter(msg, param_hint="--offset, --turn, --nod, --tilt") from error


def projection(
    assembly: Assembly,
    eyes: Eyes,
    kind: str,
    pixels: str,
    field: float | None,
    aim: str,
    samples: int,
) -> Projection:
    """Return the projection that the words ask for; what they leave out shows all screens, or follows the face."""
    width, height = size(pixels)
    try:
        if kind == "equirectangular":
            usual = framed_on_screens(assembly, eyes, width, height, samples)
        else:
            usual = along_the_face(eyes, width, height, samples)
        azimuth, elevation = _numbers(aim, 2, "--aim") if aim else (usual.azimuth, usual.elevation)
        return Projection(
            usual.kind,
            width,
            height,
            usual.field if field is None else field,
            azimuth,
            elevation,
            usual.tilt,
            samples,
        )
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--size, --field, --aim") from error


def seam_names(assembly: Assembly, eyes: Eyes, between: str) -> tuple[str, str]:
    """Return the two screens named "A,B", or those with the narrowest seam, in one scene if there are such."""
    if between:
        names = [screen.name for screen in assembly.screens]
        for pair in itertools.permutations(names, 2):  # a name may hold a comma
            if ",".join(pair) == between:
                return pair
        msg = f"needs two screens as A,B of {', '.join(names) or 'none'} (got {between!r})"
        raise typer.BadParameter(msg, param_hint="--between")
    found = seams(assembly, eyes)
    if not found:
        msg = "no two screens are neighbours here: name two"
        raise typer.BadParameter(msg, param_hint="--between")
    wide = {
        seam.between: math.inf if seam.dark["mid"] is None else abs(seam.dark["mid"])
        for seam in found
    }
    return min(found, key=lambda seam: (not seam.in_scene, wide[seam.between])).between


def facing_head(assembly: Assembly, first: str, second: str, eyes: Eyes) -> Head:
    """Return a head turned to the seam between two screens."""
    by_name = {screen.name: screen for screen in assembly.screens}
    return facing_seam(assembly, by_name[first], by_name[second], eyes).head


def _numbers(text: str, count: int, option: str) -> tuple[float, ...]:
    try:
        values = tuple(float(word) for word in text.split(","))
    except ValueError:
        values = ()
    if len(values) != count or not all(math.isfinite(value) for value in values):
        msg = f"needs {count} numbers with commas between them (got {text!r})"
        raise typer.BadParameter(msg, param_hint=option)
    return values


def size(text: str, least: tuple[int, int] = (1, 1), most: int = LARGEST) -> tuple[int, int]:
    """Return width and height from "WxH", pixels."""
    width, _, height = text.partition("x")
    sides = [
        int(side) if side.isascii() and side.isdigit() and len(side) <= 6 else 0
        for side in (width, height)
    ]
    if not all(low <= side <= most for low, side in zip(least, sides, strict=True)):
        msg = (
            f"needs pixels as 1600x700, from {least[0]}x{least[1]} to {most}x{most} (got {text!r})"
        )
        raise typer.BadParameter(msg, param_hint="--size")
    return sides[0], sides[1]
