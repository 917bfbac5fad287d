"""From the words of a command line to heads, projections and back. Wrong words end in `typer.BadParameter`."""

import itertools
import math
import shlex
from pathlib import Path

import typer
from PIL import Image

from seamsight.cli.output import announced, refuse_to_overwrite, write_whole
from seamsight.scene import Assembly, Head, PoseError, Rig, read_rig
from seamsight.scene.rig import DESIGN
from seamsight.viewer.casting import trace, world
from seamsight.viewer.eye import EYE_WORDS, Eyes, head_named
from seamsight.viewer.live.preview import Look, Preview
from seamsight.viewer.numbers.seams import facing_seam, seams
from seamsight.viewer.pictures.framing import along_the_face, framed_on_screens
from seamsight.viewer.projection import LARGEST, Projection
from seamsight.viewer.sheet import png, stacked, with_scale

SUBJECTS = {
    **EYE_WORDS,
    "overlap": "who sees a screen where",
    "seam": "seam",
}


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


def write_picture(
    out: Path, sheet: Image.Image, rig: Rig, file: Path, posed: Head, command: str
) -> None:
    """Write a picture that tells where it comes from, and print its name."""
    facts = {"Title": rig.name, "Rig": str(file), "Head": head_words(posed), "Command": command}
    write_whole(out, png(sheet, facts))
    print(out)


def head(rig: Rig, name: str) -> Head:
    """Return a rig's head by name."""
    try:
        return head_named(rig, name)
    except PoseError as error:
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
    except PoseError as error:
        raise typer.BadParameter(str(error), param_hint="--size, --field, --aim") from error


def head_words(posed: Head) -> str:
    """Return a head position as text: its name, where it is from the design eye point, how it is turned."""
    ways = (("left", "right"), ("back", "forward"), ("down", "up"))
    words = [
        f"{abs(value):g} mm {way[value > 0]}"
        for value, way in zip(posed.offset, ways, strict=True)
        if value
    ]
    words += [
        f"{key} {value:+.4g}°"
        for key, value in (("turn", posed.turn), ("nod", posed.nod), ("tilt", posed.tilt))
        if value
    ]
    return f"{posed.name}: {', '.join(words) or 'at the design eye point, face straight ahead'}"


def caption(rig: Rig, posed: Head, eye: str, without_lenses: bool) -> str:
    """Return what stands above a picture."""
    lenses = " · lenses left out" if without_lenses else ""
    return f"{rig.name} · {SUBJECTS[eye]} · {head_words(posed)}{lenses}"


def look_sheet(preview: Preview, look: Look) -> bytes:
    """Return what both eyes see in a live view as a PNG file with captions and degree scales, and how it was made.

    Raises
    ------
    PoseError
        When an eye is inside a part.
    """
    rig, posed, sheets = preview.rig, _head_of(preview.rig, look), []
    for eye, shown in zip(("left", "right"), preview.pictures(look), strict=True):
        above = caption(rig, posed, eye, not look.lenses) + (
            " · who sees what" if look.overlap else ""
        )
        sheets.append(with_scale(Image.fromarray(shown), preview.projection, above))
    facts = {"Title": rig.name, "Rig": str(rig.file), "Head": head_words(posed)}
    if not look.overlap:
        out, design = Path(f"{rig.file.stem}_eyes.png"), rig.heads()[DESIGN]
        facts["Command"] = picture_command(
            rig.file, out, "both", design, posed, not look.lenses, preview.projection
        )
    return png(stacked(sheets), facts)


def _head_of(rig: Rig, look: Look) -> Head:
    """Return the rig's head where a look's is, or else the look's."""
    return next((head for head in rig.heads().values() if look.is_at(head)), look.head)


def picture_command(
    rig: Path,
    out: Path,
    eye: str,
    named: Head,
    posed: Head,
    without_lenses: bool,
    shown: Projection,
) -> str:
    """Return a command that makes a picture again, every choice written out; `named` is the head before moving."""
    by = [after - before for after, before in zip(posed.offset, named.offset, strict=True)]
    words = {
        "eye": eye,
        "head": named.name,
        "offset": ",".join(f"{value:.12g}" for value in by),
        "turn": f"{posed.turn:.12g}",
        "nod": f"{posed.nod:.12g}",
        "tilt": f"{posed.tilt:.12g}",
        "projection": shown.kind,
        "size": f"{shown.width}x{shown.height}",
        "field": repr(shown.field),
        "aim": f"{shown.azimuth!r},{shown.elevation!r}",
        "samples": str(shown.samples),
    }
    return command_line("picture", rig, out, words, without_lenses)


def command_line(
    command: str,
    rig: Path,
    out: Path,
    words: dict[str, str],
    without_lenses: bool,
    facing: bool = False,
) -> str:
    """Return a command as one would type it."""
    line = [
        "seamsight",
        command,
        str(rig),
        str(out),
        *(f"--{key}={value}" for key, value in words.items()),
    ]
    line += ["--without-lenses"] * without_lenses + ["--facing"] * facing
    return shlex.join(line)


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
