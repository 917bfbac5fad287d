"""The work of `start --from`, `samples`, `pack`, `export` and `schema`: what needs no eyes."""

import difflib
from pathlib import Path

import typer

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.output import announced, print_json
from seamsight.scene import build
from seamsight.scene.errors import OutputError
from seamsight.scene.export import exported
from seamsight.scene.packing import packed, unpacked
from seamsight.scene.samples import files_to_start_from, sample_files, sample_notes
from seamsight.scene.schema import rig_schema
from seamsight.scene.writing import make_folder, refuse_to_overwrite, write_whole

PACKED = ".zip"


def start_rig(out: Path, source: str, *, force: bool) -> None:
    """Write a copy of a sample or of a packed rig, with the files that it needs."""
    options.require_ending(out, (".toml",), "RIG")
    if source.lower().endswith(PACKED):
        held = unpacked(Path(source))
        write_rig(out, held.rig, held.beside, force=force)
        if held.unused:
            print(f"not unpacked, as the rig needs none of it: {', '.join(held.unused)}")
    else:
        sample = _sample(source)
        write_rig(out, sample.read_bytes(), files_to_start_from(sample), force=force)


def _sample(sample: str) -> Path:
    """Return the file of a sample."""
    known = sample_files()
    if sample not in known:
        close = difflib.get_close_matches(sample, known, 1, 0.6)
        meant = f" (did you mean {close[0]}?)" if close else ""
        msg = f"there is no sample {sample!r}{meant}: choose from {', '.join(known)}"
        raise typer.BadParameter(msg, param_hint="--from")
    return known[sample]


def write_rig(out: Path, content: bytes, needed: dict[str, bytes], *, force: bool) -> None:
    """Write a rig file and what it needs beside it, and print their names."""
    # Leave files that are right as they are
    beside = {out.parent / name: content for name, content in needed.items()}
    new = {
        path: whole
        for path, whole in beside.items()
        if not path.is_file() or path.read_bytes() != whole
    }

    # Folders within that of the rig are made, but no link is followed out of it
    refuse_to_overwrite(out, force)
    for path in new:
        if not path.resolve().is_relative_to(out.parent.resolve()):
            msg = f"{path} leads out of the rig's folder"
            raise OutputError(msg)
        if path.parent.exists():
            refuse_to_overwrite(path, force)
    for path in new:
        make_folder(path.parent)

    for path, whole in (new | {out: content}).items():
        write_whole(path, whole)
        print(path)


def pack_rig(rig_file: Path, out: Path, *, force: bool) -> None:
    """Write a rig with its meshes and pictures as one zip file."""
    options.require_ending(out, (PACKED,), "FILE")
    refuse_to_overwrite(out, force)
    with announced("packing"):
        write_whole(out, packed(rig_file))
    print(out)


def print_samples() -> None:
    """Print the samples: name, what it is, where its file is."""
    notes = sample_notes()
    for name, path in sample_files().items():
        print(f"{name:24} {notes[name]}\n{'':24} {path}")


def export_shapes(rig_words: RigWords, out: Path, *, lenses: bool, force: bool) -> None:
    """Write a rig's shapes for other programs."""
    kind = options.require_ending(out, (".glb", ".obj", ".stl"), "FILE")[1:]
    refuse_to_overwrite(out, force)
    with announced("writing shapes"):
        write_whole(out, exported(build(options.read(rig_words), lenses=lenses), kind))
    print(out)


def print_schema() -> None:
    """Print the JSON Schema of a rig file."""
    print_json(rig_schema())
