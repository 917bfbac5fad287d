"""The command that writes a head movement as a moving picture."""

import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from seamsight.cli.arguments import Force, RigFile, WithoutLenses
from seamsight.cli.output import PATIENCE, announced

if TYPE_CHECKING:
    from PIL import Image

    from seamsight.scene import Head, Rig

SMALLEST, LARGEST = 64, 1920  # pixels along a side of each eye's picture
MOST_PIXELS = 400_000_000  # of all frames together, which the memory has to hold

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
    """Write what the eyes see while the head sways, or goes from head to head and back, as an endless clip."""
    from seamsight.cli import options
    from seamsight.scene import build, read_rig
    from seamsight.scene.writing import refuse_to_overwrite, write_whole
    from seamsight.viewer.pictures import clip as clips

    if out.suffix.lower() not in clips.FORMATS:
        raise typer.BadParameter(
            f"must end in {' or '.join(clips.FORMATS)} (got {out.name})", param_hint="CLIP"
        )
    width, height = _size(size, even=out.suffix.lower() == ".mp4")
    refuse_to_overwrite(out, force)
    eyes = ("left", "right") if eye == "both" else (eye,)
    count = round(seconds * clips.FRAMES_PER_SECOND)
    if width * height * count * len(eyes) > MOST_PIXELS:
        msg = f"{count} frames of that size are too much for the memory: make it smaller or shorter"
        raise typer.BadParameter(msg, param_hint="--size, --seconds")
    loaded = read_rig(rig)
    heads = clips.heads_for(_stops(loaded, head or []), count)
    whole = build(loaded)
    shown = clips.framed_on_path(whole, heads, width, height)
    assembly = build(loaded, lenses=False) if without_lenses else whole
    clips.refuse_collisions(assembly, heads)
    options.compile_kernels(scene=True)
    frames = list(_with_progress(clips.frames_of(assembly, heads, eyes, shown), len(heads)))
    with announced("encoding"):
        write_whole(out, (clips.webp if out.suffix.lower() == ".webp" else clips.mp4)(frames))
    print(out)


def _stops(rig: "Rig", names: list[str]) -> "list[Head]":
    """Return the heads to go through; none at all to sway."""
    from seamsight.cli import options

    if len(names) == 1:
        msg = f"give two heads or more to go from one to the next, or none to sway (got only {names[0]!r})"
        raise typer.BadParameter(msg, param_hint="--head")
    heads = [options.head(rig, name) for name in names]
    if heads and all(
        head.model_dump(exclude={"name"}) == heads[0].model_dump(exclude={"name"}) for head in heads
    ):
        msg = "these heads are all in one place: give two that differ"
        raise typer.BadParameter(msg, param_hint="--head")
    return heads


def _size(text: str, *, even: bool) -> tuple[int, int]:
    from seamsight.cli import options

    sides = options.size(text, (SMALLEST, SMALLEST), LARGEST)
    if even and any(side % 2 for side in sides):
        msg = f"needs even numbers of pixels for .mp4 (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--size")
    return sides


def _with_progress(frames: "Iterator[Image.Image]", count: int) -> "Iterator[Image.Image]":
    """Pass frames on and say on standard error how far it is, at most once in two moments."""
    said = time.monotonic() - PATIENCE
    for number, frame in enumerate(frames, start=1):
        if time.monotonic() - said > 2 * PATIENCE and number < count:
            said = time.monotonic()
            print(f"seamsight: frame {number} of {count} …", file=sys.stderr, flush=True)
        yield frame
