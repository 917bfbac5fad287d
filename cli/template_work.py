"""The work of `template`: boards and plates at 1:1, as PDF, SVG or DXF."""

from collections.abc import Iterator
from pathlib import Path

import typer

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.output import announced
from seamsight.cli.tables import console_of_width, say
from seamsight.scene import Assembly, ChoiceError, build
from seamsight.scene.cutting import cut_pieces
from seamsight.scene.rig_words import hint
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.numbers.cautions import WORKSHOP
from seamsight.viewer.workshop.cut_list import cut_rows
from seamsight.viewer.workshop.dxf import dxf
from seamsight.viewer.workshop.pdf import pdf
from seamsight.viewer.workshop.svg import svg
from seamsight.viewer.workshop.template import Template, templates, whole_sketch
from seamsight.viewer.workshop.tiles import PAPERS, tiling

MOST_SHEETS = 400  # of paper


def write_template(
    rig_words: RigWords, out: Path, parts: tuple[str, ...], paper: str, *, force: bool
) -> None:
    """Write the templates of a rig's boards and plates, or of some of them."""
    kind = options.require_ending(out, (".pdf", ".svg", ".dxf"), "FILE")
    options.require_paper(paper)
    refuse_to_overwrite(out, force)
    rig = options.read(rig_words)
    assembly = build(rig)

    with announced("drawing templates"):
        found = _found(assembly, parts, leave_plain=kind == ".pdf" and not parts)
        notes = list(_notes(assembly))
        if kind == ".pdf":
            _refuse_too_many(found, paper)
            content = pdf(rig.name, found, notes, paper)
        else:
            content = (svg if kind == ".svg" else dxf)(whole_sketch(found))
    write_whole(out, content)

    print(out)
    console = console_of_width()
    for template in found:
        say(console, template.title)
    for note in notes:
        say(console, note)


def _found(assembly: Assembly, parts: tuple[str, ...], *, leave_plain: bool) -> list[Template]:
    """Return the templates asked for; without names, all that one needs."""
    pieces = cut_pieces(assembly)
    names = [piece.name for piece in pieces]
    for part in parts:
        if part not in names:
            msg = f"there is no board or plate {part!r}{hint(part, names)}"
            raise typer.BadParameter(msg, param_hint="--part")
    wanted = [piece for piece in pieces if not parts or piece.name in parts]
    found = templates(assembly, cut_rows(assembly, wanted))
    if leave_plain:
        found = [template for template in found if not template.is_plain]
    if not found:
        msg = "this rig has no board or plate that needs a template; --part NAME draws a plain one"
        raise ChoiceError(msg)
    return found


def _refuse_too_many(found: list[Template], paper: str) -> None:
    sheets = sum(len(tiling(template.sketch, PAPERS[paper]).tiles) for template in found)
    if sheets > MOST_SHEETS:
        msg = (
            f"{sheets} sheets of paper are too many, at most {MOST_SHEETS}: name boards with "
            "--part, or write .dxf or .svg"
        )
        raise ChoiceError(msg)


def _notes(assembly: Assembly) -> Iterator[str]:
    """Yield what to mind when lenses are put in and boards are cut."""
    for side, words in (("pilot", "the pilot"), ("screen", "the screen behind it")):
        names = [
            screen.name
            for screen in assembly.screens
            if screen.lens and screen.lens.optic.grooves == side
        ]
        if names:
            yield (
                f"Lens of {', '.join(names)}: the grooved face goes towards {words}. It scratches "
                "easily: leave its film on until it is in place, and hold it by its edges."
            )
    yield f"Caution: {WORKSHOP.full}"
