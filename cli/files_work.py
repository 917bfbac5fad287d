"""The work of `start`, `samples`, `export` and `schema`: files and lists that need no eyes."""

import difflib
from pathlib import Path

import typer

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.output import announced, print_json
from seamsight.scene import build
from seamsight.scene.export import FORMATS, exported
from seamsight.scene.samples import files_to_start_from, sample_files, sample_notes
from seamsight.scene.schema import rig_schema
from seamsight.scene.writing import refuse_to_overwrite, write_whole


def start_rig(out: Path, sample: str, *, force: bool) -> None:
    """Write a copy of a sample with the files it needs, but for those that are there already."""
    refuse_odd_ending(out)
    known = sample_files()
    if sample not in known:
        close = difflib.get_close_matches(sample, known, 1, 0.6)
        meant = f" (did you mean {close[0]}?)" if close else ""
        msg = f"there is no sample {sample!r}{meant}: choose from {', '.join(known)}"
        raise typer.BadParameter(msg, param_hint="--from")

    write_rig(out, known[sample].read_bytes(), files_to_start_from(known[sample]), force=force)


def refuse_odd_ending(out: Path) -> None:
    """Refuse a rig file's name that does not end in .toml."""
    if out.suffix.lower() != ".toml":
        msg = f"must end in .toml (got {out.name})"
        raise typer.BadParameter(msg, param_hint="RIG")


def write_rig(out: Path, content: bytes, needed: dict[str, bytes], *, force: bool) -> None:
    """Write a rig file and what it needs beside it, and print their names."""
    # Leave files that are right as they are
    beside = {out.parent / name: content for name, content in needed.items()}
    new = {
        path: whole
        for path, whole in beside.items()
        if not path.is_file() or path.read_bytes() != whole
    }

    for path in (out, *new):
        refuse_to_overwrite(path, force)
    for path, whole in (new | {out: content}).items():
        write_whole(path, whole)
        print(path)


def print_samples() -> None:
    """Print the samples: name, what it is, where its file is."""
    notes = sample_notes()
    for name, path in sample_files().items():
        print(f"{name:24} {notes[name]}\n{'':24} {path}")


def export_shapes(rig_words: RigWords, out: Path, *, lenses: bool, force: bool) -> None:
    """Write a rig's shapes for other programs."""
    kind = out.suffix.lower().lstrip(".")
    if kind not in FORMATS:
        msg = f"must end in .{', .'.join(FORMATS)} (got {out.name})"
        raise typer.BadParameter(msg, param_hint="FILE")
    refuse_to_overwrite(out, force)
    with announced("writing shapes"):
        write_whole(out, exported(build(options.read(rig_words), lenses=lenses), kind))
    print(out)


def print_schema() -> None:
    """Print the JSON Schema of a rig file."""
    print_json(rig_schema())
