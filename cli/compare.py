"""The command `compare`; its work is done in `compare_work`."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from seamsight.cli.arguments import AsJson, CompareWords, Force, RigFile, Size

app = typer.Typer()


@app.command(
    epilog="Example: seamsight compare rig.toml sheet.png "
    "--with wider.toml --head design --head 'tall pilot'"
)
def compare(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="SHEET", help="PNG file to write")],
    others: Annotated[
        list[Path] | None,
        typer.Option("--with", metavar="RIG", help="another rig file; may be given again"),
    ] = None,
    heads: Annotated[
        list[str] | None,
        typer.Option(
            "--head",
            metavar="NAME",
            help="head position named in every rig, design if left out; may be given again",
        ),
    ] = None,
    lenses: Annotated[
        Literal["in", "out", "both"], typer.Option(help="with all lenses, without any, or each")
    ] = "in",
    lens_models: Annotated[
        bool,
        typer.Option(
            "--lens-models",
            help="all lenses ideal, as stock sheets, and as sheets cut for the rig, with grooves "
            "to the pilot and to the screen",
        ),
    ] = False,
    eye: Annotated[
        Literal["left", "right", "mid", "both"] | None,
        typer.Option(help="whose view; both if left out, with --photo mid"),
    ] = None,
    size: Size = "1000x440",
    photo: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="a photograph from the seat, instead of other rigs or heads"
        ),
    ] = None,
    match: Annotated[
        list[str] | None,
        typer.Option(
            metavar="'X,Y=WHERE'",
            help="where in the photograph (pixels from its left and top) something is: WHERE is "
            "AZ,EL in degrees, or a corner as 'SCREEN top left'; four or more",
        ),
    ] = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Compare rigs, heads and lenses in and out: a sheet of pictures at one scale and the numbers,
    held to the first.

    All combinations of what is given, the first named first. Or with --photo: one of them against a
    photograph.
    """
    from seamsight.cli.compare_work import write_comparison

    files = list(dict.fromkeys([rig, *(others or [])]))
    names = list(dict.fromkeys(heads or ["design"]))
    words = CompareWords(files, names, lenses, lens_models, eye, size, photo, match or [])
    write_comparison(words, out, as_json=as_json, force=force)
