"""The commands. Heavy libraries are imported inside them, so that `--help` answers at once."""

import os
import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

from seamsight.cli.output import announced, print_json, refuse_to_overwrite, write_whole

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What each eye sees from the seat of a home-built cockpit, from one rig file.",
    epilog="Start with: seamsight samples",
)

RigFile = Annotated[Path, typer.Argument(metavar="RIG", help="rig file (TOML); `seamsight samples` lists some")]
HeadName = Annotated[str, typer.Option("--head", metavar="NAME", help="head position named in the rig")]
AsJson = Annotated[bool, typer.Option("--json", help="print one JSON object instead of text")]
Force = Annotated[bool, typer.Option("--force", help="overwrite an existing file")]
Degrees = float | None
Out = Annotated[Path, typer.Argument(metavar="PICTURE", help="PNG file to write")]
WithoutLenses = Annotated[bool, typer.Option("--without-lenses", help="leave all lenses out")]
Size = Annotated[str, typer.Option(metavar="WxH", help="pixels of each picture")]
Field = Annotated[Degrees, typer.Option(help="degrees from edge to edge; all screens if left out")]
Aim = Annotated[str, typer.Option(metavar="AZ,EL", help="where the middle looks, degrees right and up")]


@app.command(epilog="Example: seamsight check rig.toml --head 'leaning out'")
def check(rig: RigFile, head: HeadName = "design", as_json: AsJson = False) -> None:
    """Check a rig file and print its numbers: how each screen is seen, what is hidden, which gap is needed."""
    from seamsight.cli import options, report
    from seamsight.scene import build, read_rig
    from seamsight.viewer import measure
    from seamsight.viewer.cautions import cautions
    from seamsight.viewer.eye import eyes_of

    loaded = read_rig(rig)
    eyes = eyes_of(loaded, options.head(loaded, head))
    assembly = build(loaded)
    options.warmed_up()
    with announced("measuring"):
        numbers = measure(assembly, eyes)
    warnings = cautions(assembly, numbers)
    if as_json:
        print_json(report.as_json(numbers, warnings))
    else:
        report.print_numbers(numbers, warnings)


@app.command(epilog="Example: seamsight picture rig.toml before.png --without-lenses")
def picture(
    rig: RigFile,
    out: Out,
    eye: Annotated[Literal["both", "left", "right", "mid"], typer.Option(help="whose view")] = "both",
    head: HeadName = "design",
    offset: Annotated[str, typer.Option(metavar="X,Y,Z", help="move the head: right, forward, up, mm")] = "0,0,0",
    turn: Annotated[Degrees, typer.Option(help="turn the face, degrees clockwise, instead of the head's own")] = None,
    nod: Annotated[Degrees, typer.Option(help="nod the face, degrees up, instead of the head's own")] = None,
    tilt: Annotated[Degrees, typer.Option(help="tilt the head, degrees to the right, instead of its own")] = None,
    without_lenses: WithoutLenses = False,
    projection: Annotated[
        Literal["equirectangular", "rectilinear"],
        typer.Option(help="equal degrees everywhere, or straight as a camera along the face"),
    ] = "equirectangular",
    size: Size = "1600x700",
    field: Field = None,
    aim: Aim = "",
    samples: Annotated[int, typer.Option(min=1, max=8, help="rays along each side of a pixel")] = 2,
    force: Force = False,
) -> None:
    """Write what one eye or both see, with a degree scale, as a PNG that tells how it was made."""
    from seamsight.cli import options
    from seamsight.scene import build
    from seamsight.viewer.eye import eyes_of
    from seamsight.viewer.picture import framed, stacked
    from seamsight.viewer.trace import see

    loaded = options.rig_for_picture(rig, out, force)
    named = options.head(loaded, head)
    posed = options.moved(named, offset, turn, nod, tilt)
    eyes, whole = eyes_of(loaded, posed), build(loaded)
    shown = options.projection(whole, eyes, projection, size, field, aim, samples)
    assembly = build(loaded, lenses=False) if without_lenses else whole
    options.warmed_up(scene=True)
    with announced("casting rays"):
        sheets = [
            framed(see(assembly, eyes.point(name), shown), options.caption(loaded, posed, name, without_lenses))
            for name in (("left", "right") if eye == "both" else (eye,))
        ]
    command = options.picture_command(rig, out, eye, named, posed, without_lenses, shown)
    options.write_picture(out, stacked(sheets), loaded, rig, posed, command)


@app.command(epilog="Example: seamsight overlap rig.toml overlap.png --head 'leaning out'")
def overlap(
    rig: RigFile,
    out: Out,
    head: HeadName = "design",
    without_lenses: WithoutLenses = False,
    size: Size = "1600x700",
    field: Field = None,
    aim: Aim = "",
    force: Force = False,
) -> None:
    """Write who sees a screen in each direction: both eyes, one, or neither and what is there instead."""
    from seamsight.cli import options
    from seamsight.scene import build
    from seamsight.viewer.eye import eyes_of
    from seamsight.viewer.overlap import overlap_picture

    loaded = options.rig_for_picture(rig, out, force)
    posed = options.head(loaded, head)
    eyes, whole = eyes_of(loaded, posed), build(loaded)
    shown = options.projection(whole, eyes, "equirectangular", size, field, aim, 1)
    assembly = build(loaded, lenses=False) if without_lenses else whole
    options.warmed_up(scene=True)
    with announced("casting rays"):
        sheet = overlap_picture(assembly, eyes, shown, options.caption(loaded, posed, "overlap", without_lenses))
    words = {"head": head, "size": size, "field": repr(shown.field), "aim": f"{shown.azimuth!r},{shown.elevation!r}"}
    command = options.command_line("overlap", rig, out, words, without_lenses)
    options.write_picture(out, sheet, loaded, rig, posed, command)


@app.command(epilog="Example: seamsight seam rig.toml seam.png --between outside.1,outside.2")
def seam(
    rig: RigFile,
    out: Out,
    between: Annotated[
        str, typer.Option(metavar="A,B", help="the two screens; those with the narrowest seam if left out")
    ] = "",
    head: HeadName = "design",
    facing: Annotated[bool, typer.Option("--facing", help="turn the face to the seam")] = False,
    without_lenses: WithoutLenses = False,
    force: Force = False,
) -> None:
    """Write a close-up of a seam for left, right and mid-eye, with its dark strip and what each eye loses."""
    from seamsight.cli import options
    from seamsight.scene import build
    from seamsight.viewer.eye import eyes_of
    from seamsight.viewer.seam_picture import seam_picture

    loaded = options.rig_for_picture(rig, out, force)
    posed = options.head(loaded, head)
    assembly = build(loaded, lenses=not without_lenses)
    options.warmed_up(scene=True)
    with announced("casting rays"):
        first, second = options.seam_names(assembly, eyes_of(loaded, posed), between)
        if facing:
            posed = options.facing_head(assembly, first, second, eyes_of(loaded, posed))
        caption = options.caption(loaded, posed, "seam", without_lenses)
        sheet = seam_picture(assembly, first, second, eyes_of(loaded, posed), caption)
    words = {"head": head, "between": f"{first},{second}"}
    command = options.command_line("seam", rig, out, words, without_lenses, facing)
    options.write_picture(out, sheet, loaded, rig, posed, command)


@app.command(epilog="Example: seamsight start my_cockpit/rig.toml --from harbour_floatplane")
def start(
    out: Annotated[Path, typer.Argument(metavar="RIG", help="rig file to write, in a folder that exists")],
    sample: Annotated[
        str, typer.Option("--from", metavar="SAMPLE", help="sample to start from")
    ] = "harbour_floatplane",
    force: Force = False,
) -> None:
    """Start a rig of your own: a commented copy of a sample, with the files it needs."""
    from seamsight.scene.samples import files_to_start_from, sample_files

    if out.suffix.lower() != ".toml":
        raise typer.BadParameter(f"must end in .toml (got {out.name})", param_hint="RIG")
    known = sample_files()
    if sample not in known:
        raise typer.BadParameter(f"there is no sample {sample!r}: choose of {', '.join(known)}", param_hint="--from")
    content = files_to_start_from(known[sample])
    beside = {out.parent / name: data for name, data in content.items()}
    new = {path: data for path, data in beside.items() if not path.is_file() or path.read_bytes() != data}
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
    from seamsight.cli.options import head_words
    from seamsight.scene import read_rig

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

    kind = out.suffix.lower().lstrip(".")
    if kind not in FORMATS:
        raise typer.BadParameter(f"must end in .{', .'.join(FORMATS)} (got {out.name})", param_hint="FILE")
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
