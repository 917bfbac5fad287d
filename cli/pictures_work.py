"""The work of `picture`, `overlap` and `seam`: from a rig to a PNG that stores its command."""

import math
from pathlib import Path

import typer
from PIL import Image

from seamsight.cli import options
from seamsight.cli.arguments import FrameWords, HeadWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced
from seamsight.scene import Assembly, Head, Rig, build
from seamsight.scene.frames import Array
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import View, framed
from seamsight.viewer.eye import Eyes, eyes_of
from seamsight.viewer.light.dark_view import see_in_the_dark
from seamsight.viewer.light.mirrored_view import with_mirror_images
from seamsight.viewer.numbers.seams import Seam, facing_seam, seams
from seamsight.viewer.pictures.captions import (
    BRIGHTER,
    caption,
    command_line,
    direction_options,
    facts_of,
    picture_command,
)
from seamsight.viewer.pictures.overlap import overlap_picture
from seamsight.viewer.pictures.seam import seam_picture
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import png, stacked


def write_picture(
    rig_words: RigWords,
    out: Path,
    eye: str,
    words: HeadWords,
    frame: FrameWords,
    *,
    lenses: bool,
    room: str,
    force: bool,
) -> None:
    """Write what one eye sees, or both."""
    rig = rig_for_picture(rig_words, out, force=force)
    named = options.head(rig, words.name)
    head = options.moved(named, words)
    eyes = eyes_of(rig, head)

    # Show the same directions with lenses and without
    whole = build(rig)
    projection = options.projection(whole, eyes, frame)
    assembly = whole if lenses else build(rig, lenses=False)

    compile_kernels(scene=True)
    with announced("casting rays"):
        sheets = [
            framed(
                _seen(assembly, eyes.point(name), projection, room),
                caption(rig, head, name, lenses=lenses, room=room),
            )
            for name in (("left", "right") if eye == "both" else (eye,))
        ]
    command = picture_command(rig, out, eye, named, head, projection, lenses=lenses, room=room)
    save_sheet(out, stacked(sheets), rig, head, command)


def _seen(assembly: Assembly, eye: Array, projection: Projection, room: str) -> View:
    """Return what an eye (3,) sees, with what is mirrored, in a lit or a dark room."""
    if room == "dark":
        view = see_in_the_dark(assembly, eye, projection, brighter=BRIGHTER)
    else:
        view = see(assembly, eye, projection)
    return with_mirror_images(view)


def write_overlap(
    rig_words: RigWords, out: Path, head_name: str, frame: FrameWords, *, lenses: bool, force: bool
) -> None:
    """Write which places of each screen both eyes see, or one."""
    rig = rig_for_picture(rig_words, out, force=force)
    head = options.head(rig, head_name)
    eyes = eyes_of(rig, head)

    # Show the same directions with lenses and without
    whole = build(rig)
    projection = options.projection(whole, eyes, frame)
    assembly = whole if lenses else build(rig, lenses=False)

    compile_kernels(scene=True)
    with announced("casting rays"):
        above = caption(rig, head, "overlap", lenses=lenses)
        sheet = overlap_picture(assembly, eyes, projection, above)
    directions = direction_options(projection)
    given = {"head": head_name, "size": frame.size, **directions}
    command = command_line("overlap", rig, out, {**given, "without-lenses": not lenses})
    save_sheet(out, sheet, rig, head, command)


def write_seam(
    rig_words: RigWords,
    out: Path,
    between: str,
    head_name: str,
    *,
    facing: bool,
    lenses: bool,
    force: bool,
) -> None:
    """Write a close-up of a seam; without screens "A,B" of that which `_narrowest_seam` finds."""
    rig = rig_for_picture(rig_words, out, force=force)
    head = options.head(rig, head_name)
    assembly = build(rig, lenses=lenses)

    compile_kernels(scene=True)
    with announced("casting rays"):
        eyes = eyes_of(rig, head)
        if between:
            names = options.screen_pair(assembly, between)
        else:
            names = _narrowest_seam(assembly, eyes)
        if facing:
            first, second = (assembly.screen(name) for name in names)
            eyes = facing_seam(assembly, first, second, eyes)
        above = caption(rig, eyes.head, "seam", lenses=lenses)
        sheet = seam_picture(assembly, *names, eyes, above)
    flags = {"without-lenses": not lenses, "facing": facing}
    given = {"head": head_name, "between": ",".join(names)}
    save_sheet(out, sheet, rig, eyes.head, command_line("seam", rig, out, {**given, **flags}))


def rig_for_picture(rig_words: RigWords, out: Path, *, force: bool) -> Rig:
    """Return a rig to be drawn, after a look whether the picture may be written at all."""
    options.require_ending(out, (".png",), "PICTURE")
    refuse_to_overwrite(out, force)
    return options.read(rig_words)


def save_sheet(out: Path, sheet: Image.Image, rig: Rig, head: Head, command: str) -> None:
    """Write a picture that stores where it comes from, and print its name."""
    write_whole(out, png(sheet, facts_of(rig, head, command)))
    print(out)


def _narrowest_seam(assembly: Assembly, eyes: Eyes) -> tuple[str, str]:
    """Return the screens with the narrowest seam, in one scene if there are such."""
    found = seams(assembly, eyes)
    if not found:
        msg = "no two screens of this rig are neighbours: name two"
        raise typer.BadParameter(msg, param_hint="--between")

    def narrow(seam: Seam) -> tuple[bool, float]:
        dark = seam.dark["mid"]
        # of two that are equal to a hundredth of a degree, the first
        return not seam.in_scene, math.inf if dark is None else round(abs(dark), 2)

    return min(found, key=narrow).between
