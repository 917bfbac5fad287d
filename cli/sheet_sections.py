"""The sections of a sheet, made of what commands print; a new one goes in `SECTIONS`."""

import dataclasses
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from seamsight.cli import (
    cut_list_report,
    glare_report,
    panel_report,
    reach_report,
    report,
    signals_work,
    views_report,
)
from seamsight.cli.answer import answer, names_words, note_words
from seamsight.cli.tables import NumbersTable
from seamsight.scene import Assembly, ChoiceError, PoseError
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import framed
from seamsight.viewer.eye import EYE_WORDS, Eyes
from seamsight.viewer.handout.page import Figure, Section, SheetTable
from seamsight.viewer.light.glare import mirror_images
from seamsight.viewer.light.mirrored_view import with_mirror_images
from seamsight.viewer.numbers.cautions import cautions
from seamsight.viewer.numbers.measures import Numbers
from seamsight.viewer.pictures.captions import caption
from seamsight.viewer.pictures.desktop import desktop_drawing
from seamsight.viewer.pictures.framing import framed_on_screens
from seamsight.viewer.pictures.panel import all_screens_picture
from seamsight.viewer.setup.panel import panel_of
from seamsight.viewer.setup.signals import signals_of
from seamsight.viewer.studies.fit import fit
from seamsight.viewer.workshop import elevations, raster
from seamsight.viewer.workshop.cutting_plan import CuttingPlan
from seamsight.viewer.workshop.template import templates
from seamsight.viewer.workshop.tiles import PAPERS, room_on

WIDTH = 1100  # pixels of each picture: 150 to the inch on paper
HEIGHT = 480
MOST_MIRRORED = 6  # rows of what is seen mirrored
SAMPLES = 2  # rays along each side of a pixel


@dataclass(frozen=True, eq=False)
class Subject:
    """What a sheet is about: a rig in its place, two eyes, what is measured, and what is cut."""

    assembly: Assembly
    eyes: Eyes
    numbers: Numbers
    plan: CuttingPlan


def _cautions(subject: Subject) -> Section | None:
    called_for = [*cautions(subject.assembly, subject.numbers), *subject.plan.cautions]
    sentences = [caution.full for caution in dict.fromkeys(called_for)]
    return Section("Cautions", sentences, warns=True) if sentences else None


def _to_check(subject: Subject) -> Section | None:
    sentences = note_words(subject.numbers.notes, whole=True)
    return Section("Check before you build", sentences) if sentences else None


def _from_the_seat(subject: Subject) -> Section:
    assembly = subject.assembly
    eyes = subject.eyes
    projection = framed_on_screens(assembly, eyes, WIDTH, HEIGHT, SAMPLES)
    figures = []
    for eye in ("left", "right"):
        above = f"{caption(assembly.rig, eyes.head)} · {EYE_WORDS[eye]}"
        seen = see(assembly, eyes.point(eye), projection, draft=True)
        sheet = framed(with_mirror_images(seen), above)
        figures.append(Figure(sheet, f"What the {eye} eye sees"))
    return Section("From the seat", figures=figures)


def _numbers(subject: Subject) -> Section | None:
    tables = report.tables(subject.numbers)
    sentences = answer(subject.assembly, subject.numbers)
    return Section("What both eyes see", sentences, _as_tables(tables)) if tables else None


def _reach(subject: Subject) -> Section | None:
    found = fit(subject.assembly, subject.eyes)
    if not found.reaches and not found.views:
        return None
    tables = _as_tables(reach_report.tables(found))
    return Section("Reach, seat and view", reach_report.sentences(found), tables)


def _views(subject: Subject) -> Section | None:
    assembly = subject.assembly
    if not assembly.outside_screens:
        return None
    title = "Views for the simulator"
    try:
        found = views_report.views_report(assembly)
    except PoseError as error:
        return Section(title, [f"{error}."])
    seen = views_report.picture(assembly, found, WIDTH)
    figures = [Figure(seen, "The outside view with each kind of view")] if seen else []
    about = "From the design eye point; angles in degrees."
    sentences = [about, *views_report.sentences(found)]
    return Section(title, sentences, _as_tables(views_report.tables(found)), figures)


def _panel(subject: Subject) -> Section | None:
    try:
        found = panel_of(subject.assembly)
    except ChoiceError:
        return None
    names = names_words(dict.fromkeys(view.screen.name for view in found.views))
    picture = all_screens_picture(found.views, WIDTH)
    title = "Instruments behind the panel"
    about = f"{panel_report.TITLE[0].upper()}{panel_report.TITLE[1:]}."
    sentences = [about, *panel_report.sentences(found)]
    return Section(
        title, sentences, _as_tables(panel_report.tables(found)), [Figure(picture, names)]
    )


def _signals(subject: Subject) -> Section | None:
    rig = subject.assembly.rig
    if not rig.output:
        return None
    found = signals_of(rig.output, subject.assembly.screens)
    drawing = Figure(desktop_drawing(found, rig.name, WIDTH), "The desktop, to scale")
    tables = _as_tables(signals_work.tables(found))
    return Section("Signals and desktop", signals_work.sentences(found), tables, [drawing])


def _light(subject: Subject) -> Section | None:
    assembly = subject.assembly
    if not assembly.rig.lamp:
        return None
    head = subject.eyes.head
    found = glare_report.Found(head, mirror_images(assembly, subject.eyes))
    if not found.images:
        return Section("Light", [f"Nothing is seen mirrored from: {head.name}."])
    [table] = _as_tables([glare_report.table(head, found.images)])
    sentences = list(glare_report.sentences([found]))
    if len(table.rows) > MOST_MIRRORED:
        table = dataclasses.replace(table, rows=table.rows[:MOST_MIRRORED])
        sentences.append(f"The table has the brightest {MOST_MIRRORED}: `seamsight glare` has all.")
    return Section("Light", sentences, [table])


def _drawing(subject: Subject) -> Section | None:
    try:
        found = elevations.drawing(subject.assembly, room_on(PAPERS["a4"][::-1]))
    except ChoiceError:
        return None
    words = "From above, from the seat and from the right; mm"
    return Section("Drawing", figures=[Figure(raster.picture(found.sketch, WIDTH), words)])


def _cut_list(subject: Subject) -> Section | None:
    plan = subject.plan
    if not plan.rows:
        return None
    tables = _as_tables(cut_list_report.tables(plan))
    sentences = [*cut_list_report.sentences(plan), *_template_words(subject)]
    return Section("Boards and plates to cut", sentences, tables)


def _template_words(subject: Subject) -> list[str]:
    """Return which boards and plates are more than a rectangle, and so need a template."""
    found = templates(subject.assembly, subject.plan.rows)
    shaped = [template.called for template in found if not template.is_plain]
    return [f"`seamsight template` draws at full size: {'; '.join(shaped)}."] if shaped else []


SECTIONS: Sequence[Callable[[Subject], Section | None]] = (
    _cautions,
    _to_check,
    _from_the_seat,
    _numbers,
    _reach,
    _views,
    _panel,
    _signals,
    _light,
    _drawing,
    _cut_list,
)
"""In the order of the sheet. Each gives None where a rig has nothing for it."""


def _as_tables(tables: Iterable[NumbersTable]) -> list[SheetTable]:
    """Return tables as a sheet has them, whose headings need no lines and no hyphens."""
    return [
        SheetTable(
            table.title,
            (
                table.first,
                *(" ".join(heading.replace("-\n", "").split()) for heading in table.headings),
            ),
            [(name, *map(str, cells)) for name, cells in table.rows],
            table.worded,
        )
        for table in tables
    ]
