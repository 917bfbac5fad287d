"""The work of `clip`: a head movement drawn frame by frame, and written as a moving picture."""

import math
from collections.abc import Iterator
from pathlib import Path

import typer
from PIL import Image

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import Progress, announced
from seamsight.scene import Head, Rig, build
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.clip import (
    FRAMES_PER_SECOND,
    framed_on_path,
    frames_of,
    heads_for,
    mp4,
    refuse_collisions,
    webp,
)

SMALLEST = 64  # pixels along a side of each eye's picture
LARGEST = 1920
MOST_PIXELS = 400_000_000  # of all frames together, which have to fit in memory


def write_clip(
    rig_words: RigWords,
    out: Path,
    head_names: list[str],
    eye: str,
    size: str,
    seconds: float,
    *,
    lenses: bool,
    force: bool,
) -> None:
    """Write what eyes see while the head moves between positions, or sways if none is named."""
    # Refuse what cannot be done before the work begins
    ending = options.require_ending(out, (".webp", ".mp4"), "CLIP")
    if math.isnan(seconds):  # older releases of typer let it pass its limits
        msg = "must be a number (got nan)"
        raise typer.BadParameter(msg, param_hint="--seconds")
    width, height = _size(size, even=ending == ".mp4")
    refuse_to_overwrite(out, force)
    eyes = ("left", "right") if eye == "both" else (eye,)
    count = round(seconds * FRAMES_PER_SECOND)
    _refuse_too_large(width * height * len(eyes), count)

    # Find the way that the head moves, and whether anything is in it
    rig = options.read(rig_words)
    heads = heads_for(_stops(rig, head_names), count)
    whole = build(rig)
    projection = framed_on_path(whole, heads, width, height)
    assembly = whole if lenses else build(rig, lenses=False)
    refuse_collisions(assembly, heads)

    # Draw the frames and write them
    compile_kernels(scene=True)
    drawn = frames_of(assembly, heads, eyes, projection)
    frames = list(_with_progress(drawn, len(heads)))
    with announced("encoding"):
        write_whole(out, webp(frames) if ending == ".webp" else mp4(frames))
    print(out)


def _stops(rig: Rig, names: list[str]) -> list[Head]:
    """Return the heads to go through; none at all to sway."""
    if len(names) == 1:
        msg = "give two head positions or more to move between, or none to sway "
        msg += f"(got only {names[0]!r})"
        raise typer.BadParameter(msg, param_hint="--head")
    heads = [options.head(rig, name) for name in names]
    places = [head.model_dump(exclude={"name"}) for head in heads]
    if places and all(place == places[0] for place in places):
        msg = "these head positions are identical: give at least two different ones"
        raise typer.BadParameter(msg, param_hint="--head")
    return heads


def _size(text: str, *, even: bool) -> tuple[int, int]:
    sides = options.size(text, (SMALLEST, SMALLEST), LARGEST)
    if even and any(side % 2 for side in sides):
        msg = f"needs even numbers of pixels for .mp4 (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--size")
    return sides


def _refuse_too_large(pixels: int, count: int) -> None:
    if pixels * count > MOST_PIXELS:
        msg = f"{count} frames of that size do not fit in memory: "
        msg += "choose a smaller --size or fewer --seconds"
        raise typer.BadParameter(msg, param_hint="--size, --seconds")


def _with_progress(frames: Iterator[Image.Image], count: int) -> Iterator[Image.Image]:
    """Pass frames on and report progress."""
    progress = Progress("frame", count, tells_time=False)
    for number, frame in enumerate(frames, start=1):
        progress.reached(number)
        yield frame
