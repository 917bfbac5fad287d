"""The commands `head-box` and `head-map`; their work is done in modules that end in `_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import (
    AsJson,
    Force,
    HeadBoxWords,
    HeadMapWords,
    HeadName,
    Hide,
    RigFile,
    Sets,
    rig_words,
)

app = typer.Typer()


@app.command("head-box", epilog="Example: seamsight head-box rig.toml --seen 0.95")
def head_box(
    rig: RigFile,
    head: HeadName = "design",
    seen: Annotated[
        float,
        typer.Option(min=0.01, max=1, help="share of each image that each eye must see, 0 to 1"),
    ] = 0.98,
    whole: Annotated[
        bool,
        typer.Option("--whole", help="no strip of an image may be lost at its own lens or bezel"),
    ] = False,
    hide: Hide = None,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report how far the head may move each way.

    The head moves each way alone, or turns, until an eye sees less of an outside screen than it
    should. The report names the part that is in the way then.
    """
    from seamsight.cli.head_box_work import print_head_box

    words = HeadBoxWords(head, seen, whole, tuple(hide or ()))
    print_head_box(rig_words(rig, sets), words, as_json=as_json)


@app.command("head-map", epilog="Example: seamsight head-map rig.toml map.png --reach 150,150,100")
def head_map(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="FILE", help="file to write: .csv, .npz or .png")],
    head: HeadName = "design",
    reach: Annotated[
        str,
        typer.Option(
            metavar="X,Y,Z",
            help="how far to look left and right, forward and back, up and down of it, mm",
        ),
    ] = "150,150,100",
    step: Annotated[float, typer.Option(help="distance between two head positions, mm")] = 25.0,
    turns: Annotated[
        str, typer.Option(metavar="T,T", help="how far the head is turned right, degrees")
    ] = "0",
    seen: Annotated[
        float,
        typer.Option(min=0.01, max=1, help="share of each image that each eye should see, 0 to 1"),
    ] = 0.98,
    scheduler: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="let the workers of this scheduler (dask.distributed) do the work, such as "
            "tcp://127.0.0.1:8786",
        ),
    ] = None,
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Map what both eyes see over a grid of head positions.

    A table has a row for each head position; a picture shows slices with contour lines, also in
    the rig. What is done is kept in a folder beside FILE until all is: stopped with Ctrl-C, the
    same command goes on later.
    """
    from seamsight.cli.head_map_work import write_head_map

    words = HeadMapWords(head, reach, step, turns, seen, scheduler)
    write_head_map(rig_words(rig, sets), out, words, force=force)
