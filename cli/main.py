"""The program: its commands, and errors to exit codes.

The modules of the commands import nothing heavy, so that `--help` answers at once. The work of each
is done in a module beside it whose name ends in `_work`, which its function imports.
"""

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli import (
    borders,
    choose,
    clip,
    compare,
    cut_list,
    drawing,
    exact,
    head_box,
    hidden,
    lenses,
    light,
    log,
    page,
    panel,
    pictures,
    reach,
    sheet,
    signals,
    start,
    sway,
    template,
    views,
    walk_in,
    window,
)
from seamsight.cli.arguments import (
    AsJson,
    CheckWords,
    Force,
    HeadName,
    HeadWords,
    Nod,
    Offset,
    RigFile,
    Sets,
    Tilt,
    Turn,
    WithoutLenses,
    rig_words,
)

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What each eye sees from the seat of a home-built cockpit, from one rig file.",
    epilog="Start with: seamsight start my_rig.toml",
)


@app.command(epilog="Example: seamsight check rig.toml --head 'leaning out'")
def check(
    rig: RigFile,
    head: HeadName = "design",
    offset: Offset = "0,0,0",
    turn: Turn = None,
    nod: Nod = None,
    tilt: Tilt = None,
    without_lenses: WithoutLenses = False,
    sets: Sets = None,
    everything: Annotated[
        bool,
        typer.Option("--all", help="print all tables, and each screen's numbers in words"),
    ] = False,
    full_cautions: Annotated[
        bool, typer.Option("--cautions", help="print the safety cautions in full")
    ] = False,
    strict: Annotated[
        bool,
        typer.Option(
            "--strict", help="end with an error if there is anything to check before you build"
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check a rig file and report what both eyes see.

    The report begins with what is lost where, which pixels to keep black and how wide the field of
    view is. Then it says what to check before you build, such as parts that run into each other;
    tables follow. A wrong file gets a list of all its errors, with their lines.
    """
    from seamsight.cli.rig_work import print_check

    moved = HeadWords(head, offset, turn, nod, tilt)
    words = CheckWords(everything, full_cautions, as_json, strict)
    print_check(rig_words(rig, sets), moved, words, lenses=not without_lenses)


for one in (
    *(pictures, compare, lenses, choose, exact, borders, head_box, hidden, sway),
    *(views, panel, signals, reach, sheet, cut_list, template, drawing),
    *(light, clip, window, page, walk_in),
):
    app.add_typer(one.app)
app.add_typer(log.app, name="log")
app.add_typer(start.app)


@app.command(epilog="Example: seamsight samples")
def samples() -> None:
    """List the sample rigs and where their files are."""
    from seamsight.cli.files_work import print_samples

    print_samples()


@app.command(epilog="Example: seamsight heads rig.toml")
def heads(rig: RigFile, sets: Sets = None, as_json: AsJson = False) -> None:
    """List a rig's head positions."""
    from seamsight.cli.rig_work import print_heads

    print_heads(rig_words(rig, sets), as_json=as_json)


@app.command(epilog="Example: seamsight parts rig.toml --json")
def parts(rig: RigFile, sets: Sets = None, as_json: AsJson = False) -> None:
    """List a rig's parts with their sizes and weights.

    Everything that a ray can meet is a part. Weights are given for boards and plates.
    """
    from seamsight.cli.rig_work import print_parts

    print_parts(rig_words(rig, sets), as_json=as_json)


@app.command(epilog="Example: seamsight export rig.toml rig.glb")
def export(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="FILE", help="file to write: .glb, .obj or .stl")],
    without_lenses: WithoutLenses = False,
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Write a rig's shapes as GLB, OBJ or STL for other programs.

    GLB keeps names, colours and clear lenses, OBJ keeps names.
    """
    from seamsight.cli.files_work import export_shapes

    export_shapes(rig_words(rig, sets), out, lenses=not without_lenses, force=force)


@app.command(epilog="Example: seamsight pack rig.toml rig.zip")
def pack(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="FILE", help="zip file to write")],
    force: Force = False,
) -> None:
    """Pack a rig with its meshes and pictures into one zip file.

    `seamsight start NEW.toml --from FILE` unpacks it.
    """
    from seamsight.cli.files_work import pack_rig

    pack_rig(rig, out, force=force)


@app.command(epilog="Example: seamsight schema > rig.schema.json")
def schema() -> None:
    """Print the JSON Schema of a rig file.

    An editor that reads it can complete and check a rig file as you type.
    """
    from seamsight.cli.files_work import print_schema

    print_schema()


def main() -> None:
    """Run a command; end with 0, 1 for a wrong rig or file, 2 for wrong usage."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed, as by >&-
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_WRONLY), "w"))
        if hasattr(getattr(sys, name), "reconfigure"):
            getattr(sys, name).reconfigure(errors="replace")  # an old terminal may lack a letter
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except Exception as error:
        _end_with(error)


def _end_with(error: Exception) -> None:
    """Tell in a line what was wrong and end with 1; raise what is nobody's fault but ours."""
    from seamsight.scene.errors import SeamsightError

    # Beside what is raised on purpose: a full disk behind standard output, a picture too large
    if not isinstance(error, SeamsightError | OSError | MemoryError):
        raise error
    print(str(error) or "not enough memory", file=sys.stderr)

    # What standard output could not take would be tried again at exit (Python's manual, SIGPIPE)
    if not isinstance(error, SeamsightError | MemoryError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(1)
