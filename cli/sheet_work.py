"""The work of `sheet`: all about a rig on one page."""

import datetime
from pathlib import Path

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced
from seamsight.cli.sheet_sections import SECTIONS, Subject
from seamsight.scene import Head, Rig, build
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.handout.page import sheet_page
from seamsight.viewer.numbers.measures import measure, with_lens_models
from seamsight.viewer.pictures.captions import change_words, head_words
from seamsight.viewer.setup.signal_notes import with_signal_notes
from seamsight.viewer.workshop.cutting_plan import cutting_plan


def write_sheet(rig_words: RigWords, out: Path, head_name: str, *, force: bool) -> None:
    """Write the sheet of a rig."""
    options.require_ending(out, (".html", ".htm"), "SHEET")
    rig = options.read(rig_words)
    head = options.head(rig, head_name)
    refuse_to_overwrite(out, force)

    compile_kernels(scene=True)
    with announced("writing the sheet"):
        text = sheet_of(rig, head)
    write_whole(out, text.encode("utf-8", "replace"))
    print(out)


def sheet_of(rig: Rig, head: Head) -> str:
    """Return a rig's sheet for a head as HTML.

    Raises
    ------
    FileError
        When a picture or mesh of the rig cannot be used, or not any more.
    PoseError
        When an eye is inside a part.
    """
    assembly = build(rig)
    eyes = eyes_of(rig, head)
    numbers = with_lens_models(measure(assembly, eyes), assembly, eyes)
    numbers = with_signal_notes(numbers, assembly)
    subject = Subject(assembly, eyes, numbers, cutting_plan(assembly, None, None))
    about = [
        f"{rig.file.name}, head position {head_words(head)}",
        *([f"With {', '.join(change_words(rig))}"] if rig.changes else []),
        f"Made {datetime.date.today().isoformat()} by Seamsight",
        *filter(None, (" ".join(lines.split()) for lines in rig.note.split("\n\n"))),
    ]
    sections = [section for make in SECTIONS if (section := make(subject))]
    return sheet_page(rig.name, about, sections)
