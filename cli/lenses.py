"""The command `lenses`; its work is done in `lenses_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, Force, HeadName, LensesWords, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(
    epilog="Example: seamsight lenses rig.toml --size 517x330,560x360 --focal-length 350,450"
)
def lenses(
    rig: RigFile,
    sizes: Annotated[
        str,
        typer.Option(
            "--size",
            metavar="WxH,...",
            help="clear apertures to try, as '517x330, 22 x 14 in'; mm without a unit",
        ),
    ],
    focal_lengths: Annotated[
        str,
        typer.Option("--focal-length", metavar="LENGTH,...", help="focal lengths to try with each"),
    ],
    screen: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="bank or screen with the lens (default: the first bank with one)"
        ),
    ] = None,
    distance: Annotated[
        str,
        typer.Option(
            metavar="HOW",
            help="fill: the image just fills the lens from the design eye point; keep: the rig's "
            "own distance or magnification",
        ),
    ] = "fill",
    head: HeadName = "design",
    sets: Sets = None,
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="also write a row for each lens, as CSV")
    ] = None,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Try lens sizes and focal lengths.

    For each combination it reports distance, magnification, what both eyes see and how far the
    head may move; and for real lenses, stock or cut for the rig, what they lose against an ideal
    one.
    """
    from seamsight.cli.lenses_work import print_lenses

    words = LensesWords(sizes, focal_lengths, screen, distance, head)
    print_lenses(rig_words(rig, sets), words, csv, force=force, as_json=as_json)
