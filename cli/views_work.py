"""The work of `views`: what to enter in a simulator, as tables, JSON or a picture."""

from pathlib import Path

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.tables import console_of_width, print_table, say
from seamsight.cli.views_report import ViewsReport, picture, sentences, tables, views_report
from seamsight.scene import Assembly, PoseError
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import command_line, facts_of
from seamsight.viewer.pictures.setups import WIDTH
from seamsight.viewer.sheet import png


def print_views(rig_words: RigWords, out: Path | None, *, force: bool, as_json: bool) -> None:
    """Print what to enter in a simulator for each outside screen, and draw what is then seen."""
    if out:
        _refuse_picture(out, force)
    assembly = options.with_outside_view(options.read(rig_words))
    compile_kernels(scene=bool(out))
    with announced("fitting views"):
        found = views_report(assembly)
    if out:
        with announced("casting rays"):
            _write_picture(assembly, found, out)
    if as_json:
        print_json({"rig": assembly.rig.name, **found.as_json()})
        return
    _print(assembly, found)
    if out:
        print(out)


def _refuse_picture(out: Path, force: bool) -> None:
    options.require_ending(out, (".png",), "--picture")
    refuse_to_overwrite(out, force)


def _write_picture(assembly: Assembly, found: ViewsReport, out: Path) -> None:
    """Write what is seen from the seat with each kind of view."""
    sheet = picture(assembly, found, WIDTH)
    if sheet is None:
        msg = "the design eye point sees no outside screen, so there is nothing to draw"
        raise PoseError(msg)
    rig = assembly.rig
    command = command_line("views", rig, None, {"picture": str(out)})
    write_whole(out, png(sheet, facts_of(rig, options.head(rig, "design"), command)))


def _print(assembly: Assembly, found: ViewsReport) -> None:
    console = console_of_width()
    say(console, f"{assembly.rig.name}: views from the design eye point; angles in degrees")
    for table in tables(found):
        print_table(console, table)
    for sentence in sentences(found):
        say(console, sentence)
