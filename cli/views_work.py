"""The work of `views`: what to enter in a simulator, as tables or as JSON."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typer

from seamsight.cli import options
from seamsight.cli.answer import names_words
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import Assembly, PoseError, build
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.numbers.units import number_words
from seamsight.viewer.pictures.captions import change_words, command_line, facts_of
from seamsight.viewer.pictures.setups import Setup, setups_picture
from seamsight.viewer.setup.parallax import Parallax, parallax
from seamsight.viewer.setup.views import ScreenViews, entries, projection_of, screen_views
from seamsight.viewer.setup.wide import Step, WideView, best_wide, rigs_own_wide
from seamsight.viewer.sheet import png

DIGITS = 3  # of a degree: a tenth of a pixel
WORTH_TELLING = math.radians(0.01)

Found = Mapping[str, ScreenViews]


@dataclass(frozen=True)
class _Report:
    """All that is told of a rig: views by screen, wide views, and what none of them mends."""

    screens: dict[str, ScreenViews | None]
    wide: WideView | None
    middle: WideView | None
    own: WideView | None
    unmended: Parallax


def print_views(rig_words: RigWords, picture: Path | None, *, force: bool, as_json: bool) -> None:
    """Print what to enter in a simulator for each outside screen, and draw what is then seen."""
    if picture:
        _refuse_picture(picture, force)
    assembly = _with_outside_view(rig_words)
    compile_kernels(scene=bool(picture))
    with announced("fitting views"):
        found = _Report(
            screen_views(assembly),
            best_wide(assembly),
            best_wide(assembly, middle_only=True),
            rigs_own_wide(assembly),
            parallax(assembly),
        )
    if picture:
        with announced("casting rays"):
            _write_picture(assembly, found, picture)
    if as_json:
        print_json({"rig": assembly.rig.name, **_as_json(found)})
        return
    _print(assembly, found)
    if picture:
        print(picture)


def _refuse_picture(picture: Path, force: bool) -> None:
    if picture.suffix.lower() != ".png":
        msg = f"must end in .png (got {picture.name})"
        raise typer.BadParameter(msg, param_hint="--picture")
    refuse_to_overwrite(picture, force)


def _as_json(found: _Report) -> dict[str, Any]:
    return {
        "screens": {name: each and each.as_json() for name, each in found.screens.items()},
        "wide": found.wide and found.wide.as_json(),
        "wide_middle": found.middle and found.middle.as_json(),
        "rig_wide": found.own and found.own.as_json(),
        "parallax": found.unmended.as_json(),
    }


def _write_picture(assembly: Assembly, found: _Report, out: Path) -> None:
    """Write what is seen from the seat with each kind of view."""
    views = {name: each for name, each in found.screens.items() if each}
    setups = []
    if views:
        residual, error = (
            _up_to(max(getattr(each, key) for each in views.values()))
            for key in ("residual", "error")
        )
        off_axis = {name: each.view for name, each in views.items()}
        symmetric = {name: each.symmetric for name, each in views.items()}
        setups.append(Setup(f"off-axis views, {residual}", off_axis))
        setups.append(Setup(f"symmetric views, {error}", symmetric))
    if found.wide:
        error = _up_to(max(found.wide.errors.values()))
        title = f"one wide view of {_degrees(found.wide.field, 1)}°, {error}"
        setups.append(Setup(title, found.wide.views))
    if not setups:
        msg = "the design eye point sees no outside screen, so there is nothing to draw"
        raise PoseError(msg)

    rig = assembly.rig
    head = options.head(rig, "design")
    sheet = setups_picture(assembly, setups, " · ".join([rig.name, *change_words(rig)]))
    command = command_line("views", rig, None, {"picture": str(out)})
    write_whole(out, png(sheet, facts_of(rig, head, command)))


def _up_to(error: float) -> str:
    return f"wrong by up to {_degrees(error, 1)}°" if error > WORTH_TELLING else "right everywhere"


def _with_outside_view(rig_words: RigWords) -> Assembly:
    """Return a rig in its place.

    Raises
    ------
    PoseError
        When it has no outside screen.
    """
    assembly = build(options.read(rig_words))
    if not assembly.outside_screens:
        msg = f"{rig_words.file}: no screen of this rig shows the outside view, so it needs no view"
        raise PoseError(msg)
    return assembly


def _print(assembly: Assembly, found: _Report) -> None:
    console = console_of_width()
    say(console, f"{assembly.rig.name}: views from the design eye point; angles in degrees")
    views = {name: each for name, each in found.screens.items() if each}
    if views:
        print_table(console, _off_axis_table(views))
        print_table(console, _matrix_table(views))
        print_table(console, _symmetric_table(views))
    if found.wide and found.middle:
        print_table(console, _wide_table(found.wide, found.middle, found.own))
        for sentence in _step_sentences(found.wide):
            say(console, sentence)
    for sentence in _sentences(found):
        say(console, sentence)


def _off_axis_table(views: Found) -> NumbersTable:
    keys = ["h", "v", "left", "right", "up", "down", "yaw", "pitch", "roll"]
    headings = ["field of\nview, h", "field of\nview, v", *keys[2:]]
    rows = [(name, _cells(entries(each.view), keys)) for name, each in views.items()]
    if any(each.residual > WORTH_TELLING for each in views.values()):
        headings.append("error\nup to")
        for name, cells in rows:
            cells.append(_degrees(views[name].residual))
    title = (
        "Off-axis (asymmetric) views: edges counted outwards from the axis, yaw right, pitch up, "
        "roll clockwise"
    )
    return NumbersTable(title, "screen", tuple(headings), rows)


def _matrix_table(views: Found) -> NumbersTable:
    """Return the projection matrices, screens with the same one together."""
    same: dict[tuple[tuple[str, ...], ...], list[str]] = {}
    for name, each in views.items():
        lines = tuple(
            tuple(number_words(float(value), 6) for value in row)
            for row in projection_of(each.view)
        )
        same.setdefault(lines, []).append(name)
    rows = [
        (names_words(names) if number == 0 else "", list(line))
        for lines, names in same.items()
        for number, line in enumerate(lines)
    ]
    title = "Their projection matrices, row by row (OpenGL, near 0.1, far 1000)"
    return NumbersTable(title, "screen", ("x", "y", "z", "w"), rows)


def _symmetric_table(views: Found) -> NumbersTable:
    keys = ["h", "v", "yaw", "pitch", "roll"]
    headings = ("field of\nview, h", "field of\nview, v", *keys[2:], "error\nup to")
    rows = [
        (name, [*_cells(entries(each.symmetric), keys), _degrees(each.error)])
        for name, each in views.items()
    ]
    title = "Without off-axis views: the best symmetric view of each screen, and how wrong it is"
    return NumbersTable(title, "screen", headings, rows)


def _cells(entered: Mapping[str, float], keys: list[str]) -> list[str]:
    return [number_words(entered[key], DIGITS) for key in keys]


def _degrees(angle: float, digits: int = DIGITS) -> str:
    return number_words(math.degrees(angle), digits)


def _sentences(found: _Report) -> Iterator[str]:
    """Yield which screens have no view, and what no view mends."""
    unmended = found.unmended
    missing = [name for name, each in found.screens.items() if each is None]
    if missing:
        yield (
            f"{names_words(missing)}: no view, as the design eye point is beside or behind it or "
            "sees too little of it."
        )
    yield (
        f"No setting mends this: both eyes look at one flat picture {unmended.distance:.0f} mm "
        f"away, so far things look that near, and each eye sees them up to "
        f"{_degrees(unmended.each_eye, 1)}° off. When the head moves 100 mm aside, they drift by "
        f"up to {_degrees(unmended.head, 1)}° instead of staying where they are."
    )


def _wide_table(wide: WideView, middle: WideView, own: WideView | None) -> NumbersTable:
    kinds = {"least error": wide}
    if max(middle.errors.values()) > max(wide.errors.values()) + WORTH_TELLING:
        kinds["right in the middle"] = middle
    if own:
        kinds["as the rig has it"] = own
    names = list(wide.views)
    rows = [(kind, _wide_cells(each)) for kind, each in kinds.items()]
    title = (
        f"One wide flat view cut into {len(names)} equal parts: zoom is 1 at a field of 90°; error "
        "on each screen up to"
    )
    return NumbersTable(title, "view", _wide_headings(names), rows)


def _wide_headings(names: list[str]) -> tuple[str, ...]:
    return ("field of\nview, h", "zoom", "yaw", "pitch", *names)


def _wide_cells(wide: WideView) -> list[str]:
    return [
        _degrees(wide.field),
        number_words(wide.zoom, 4),
        _degrees(wide.yaw),
        _degrees(wide.pitch),
        *(_degrees(error, 2) for error in wide.errors.values()),
    ]


def _step_sentences(wide: WideView) -> Iterator[str]:
    """Yield how lines jump at the seams of a wide view, and how many pixels mend it."""
    jumps = {step.between: _jump(step) for step in wide.steps if step.angle > WORTH_TELLING}
    if not jumps:
        yield "At the seams its parts join without a step."
    elif len(jumps) == len(wide.steps) and len(set(jumps.values())) == 1:
        yield f"At every seam {jumps.popitem()[1]}"
        return
    for (left, right), jump in jumps.items():
        yield f"Between {left} and {right} {jump}"


def _jump(step: Step) -> str:
    jump = f"lines jump by up to {_degrees(step.angle, 2)}°"
    if step.px and step.px > 0:
        return f"{jump}: leave out {step.px} pixels of the wide view there (border compensation)."
    if step.px and step.px < 0:
        return f"{jump}: show {-step.px} pixels of the wide view twice there."
    return f"{jump}."
