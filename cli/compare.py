"""The command `compare`; its work is done in `compare_work`."""

import itertools
import re
from pathlib import Path
from typing import Annotated, Literal

import typer

from seamsight.cli.arguments import AsJson, CompareWords, Force, RigFile, RigWords, Sets, Size

app = typer.Typer()


def values_to_try(text: str) -> list[str]:
    """Return "PATH=V1", "PATH=V2" from "PATH=V1,V2"; commas within brackets do not count."""
    path, sign, values = text.partition("=")
    words = re.findall(r"(?:\[[^\]]*\]|\([^)]*\)|[^,])+", values)
    if not (path and sign and words):
        msg = f"needs PATH=V1,V2, such as outside.lens.distance=150,180 (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--try")
    return [f"{path}={word.strip()}" for word in words]


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
    sets: Sets = None,
    tries: Annotated[
        list[str] | None,
        typer.Option(
            "--try",
            metavar="PATH=V1,V2",
            help="a column for each of these values, such as outside.lens.distance=150,180; may be "
            "given again",
        ),
    ] = None,
    heads: Annotated[
        list[str] | None,
        typer.Option(
            "--head",
            metavar="NAME",
            help="head position that every rig has (default: design); may be given again",
        ),
    ] = None,
    lenses: Annotated[
        Literal["in", "out", "both"],
        typer.Option(help="all lenses in place, all left out, or both"),
    ] = "in",
    lens_models: Annotated[
        bool,
        typer.Option(
            "--lens-models",
            help="compare ideal lenses, stock lenses and lenses cut for the rig, with grooves "
            "towards the pilot and towards the screen",
        ),
    ] = False,
    eye: Annotated[
        Literal["left", "right", "mid", "both"] | None,
        typer.Option(
            help="which eye: left, right, both, or mid (the point between the eyes). Default: "
            "both; with --photo, mid"
        ),
    ] = None,
    size: Size = "1000x440",
    photo: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="compare with a photograph taken from the seat"),
    ] = None,
    match: Annotated[
        list[str] | None,
        typer.Option(
            metavar="'X,Y=WHERE'",
            help="a point of the photograph, pixels from its left and top edge, and what it shows: "
            "WHERE is AZ,EL in degrees, or a corner as 'SCREEN top left'. Give four or more",
        ),
    ] = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Compare rigs, head positions and lenses with the first.

    Pictures at one scale and a table of numbers. Every combination is drawn; the first one named is
    A, and all others are compared with it. With --photo, one of them is compared with a photograph.
    """
    from seamsight.cli.compare_work import write_comparison

    files = list(dict.fromkeys([rig, *(others or [])]))
    rigs = [
        RigWords(file, (*(sets or ()), *tried))
        for file in files
        for tried in itertools.product(*(values_to_try(text) for text in tries or ()))
    ]
    names = list(dict.fromkeys(heads or ["design"]))
    words = CompareWords(
        rigs, sets or [], tries or [], names, lenses, lens_models, eye, size, photo, match or []
    )
    write_comparison(words, out, as_json=as_json, force=force)
