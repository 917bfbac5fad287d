"""The commands. Heavy libraries are imported inside them, so that `--help` answers at once."""

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli import build_log, clip, compare, page, pictures, window
from seamsight.cli.arguments import AsJson, Force, HeadName, RigFile, WithoutLenses
from seamsight.cli.output import announced, print_json

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What each eye sees from the seat of a home-built cockpit, from one rig file.",
    epilog="Start with: seamsight samples",
)


@app.command(epilog="Example: seamsight check rig.toml --head 'leaning out'")
def check(rig: RigFile, head: HeadName = "design", as_json: AsJson = False) -> None:
    """Check a rig file and print its numbers: how each screen is seen, what is hidden, which gap is needed."""
    from seamsight.cli import options, report
    from seamsight.scene import build, read_rig
    from seamsight.viewer import measure
    from seamsight.viewer.eye import eyes_of
    from seamsight.viewer.numbers.cautions import cautions

    loaded = read_rig(rig)
    eyes = eyes_of(loaded, options.head(loaded, head))
    assembly = build(loaded)
    options.compile_kernels()
    with announced("measuring"):
        numbers = measure(assembly, eyes)
    warnings = cautions(assembly, numbers)
    if as_json:
        print_json({**numbers.as_json(), "cautions": warnings})
    else:
        report.print_numbers(numbers, warnings)


for shown in (pictures, compare, clip, window, page):
    app.add_typer(shown.app)
app.add_typer(build_log.app, name="log")


@app.command(epilog="Example: seamsight start my_cockpit/rig.toml --from harbour_floatplane")
def start(
    out: Annotated[
        Path, typer.Argument(metavar="RIG", help="rig file to write, in a folder that exists")
    ],
    sample: Annotated[
        str, typer.Option("--from", metavar="SAMPLE", help="sample to start from")
    ] = "harbour_floatplane",
    force: Force = False,
) -> None:
    """Start a rig of your own: a commented copy of a sample, with the files it needs."""
    from seamsight.scene.samples import files_to_start_from, sample_files
    from seamsight.scene.writing import refuse_to_overwrite, write_whole

    if out.suffix.lower() != ".toml":
        raise typer.BadParameter(f"must end in .toml (got {out.name})", param_hint="RIG")
    known = sample_files()
    if sample not in known:
        raise typer.BadParameter(
            f"there is no sample {sample!r}: choose of {', '.join(known)}", param_hint="--from"
        )
    content = files_to_start_from(known[sample])
    beside = {out.parent / name: data for name, data in content.items()}
    new = {
        path: data
        for path, data in beside.items()
        if not path.is_file() or path.read_bytes() != data
    }
    for path in (out, *new):
        refuse_to_overwrite(path, force)
    for path, data in (new | {out: known[sample].read_bytes()}).items():
        write_whole(path, data)
        print(path)


@app.command(epilog="Example: seamsight samples")
def samples() -> None:
    """List the sample rigs: name, what it is, where its file is."""
    from seamsight.scene.samples import sample_files, sample_notes

    notes = sample_notes()
    for name, path in sample_files().items():
        print(f"{name:24} {notes[name]}\n{'':24} {path}")


@app.command(epilog="Example: seamsight heads rig.toml")
def heads(rig: RigFile, as_json: AsJson = False) -> None:
    """List a rig's head positions."""
    from seamsight.scene import read_rig
    from seamsight.viewer.pictures.captions import head_words

    heads = read_rig(rig).heads()
    if as_json:
        print_json({name: head.model_dump(exclude={"name"}) for name, head in heads.items()})
        return
    for head in heads.values():
        print(head_words(head))


@app.command(epilog="Example: seamsight parts rig.toml --json")
def parts(rig: RigFile, as_json: AsJson = False) -> None:
    """List everything in a rig that a ray can meet: its size, its triangles, and what a board or plate weighs."""
    from seamsight.cli import report
    from seamsight.scene import build, read_rig

    rows = report.part_rows(build(read_rig(rig)))
    if as_json:
        print_json(rows)
    else:
        report.print_parts(rows)


@app.command(epilog="Example: seamsight export rig.toml rig.glb")
def export(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="FILE", help="file to write: .glb, .obj or .stl")],
    without_lenses: WithoutLenses = False,
    force: Force = False,
) -> None:
    """Write a rig's shapes for other programs: GLB with names, colours and clear lenses, OBJ with names, STL."""
    from seamsight.scene import build, read_rig
    from seamsight.scene.export import FORMATS, exported
    from seamsight.scene.writing import refuse_to_overwrite, write_whole

    kind = out.suffix.lower().lstrip(".")
    if kind not in FORMATS:
        raise typer.BadParameter(
            f"must end in .{', .'.join(FORMATS)} (got {out.name})", param_hint="FILE"
        )
    refuse_to_overwrite(out, force)
    with announced("writing shapes"):
        write_whole(out, exported(build(read_rig(rig), lenses=not without_lenses), kind))
    print(out)


@app.command(epilog="Example: seamsight schema > rig.schema.json")
def schema() -> None:
    """Print the JSON Schema of a rig file, for editors that complete and check TOML."""
    from seamsight.scene.schema import rig_schema

    print_json(rig_schema())


def main() -> None:
    """Run a command; end with 0, 1 for a wrong rig or file, 2 for wrong usage."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # an old terminal may lack a letter
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except Exception as error:
        from seamsight.scene.errors import SeamsightError

        # beside what we raise on purpose: a full disk behind standard output, a picture larger than the memory
        if not isinstance(error, SeamsightError | OSError | MemoryError):
            raise
        print(str(error) or "not enough memory", file=sys.stderr)
        if not isinstance(error, SeamsightError | MemoryError):
            # what standard output could not take would be tried again at exit (Python's manual, signal.SIGPIPE)
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
