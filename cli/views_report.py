"""What `views` tells of a rig: tables, sentences and a picture; a sheet tells the same."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from PIL import Image

from seamsight.cli.answer import names_words
from seamsight.cli.tables import NumbersTable
from seamsight.scene import Assembly
from seamsight.viewer.numbers.units import number_words
from seamsight.viewer.pictures.captions import change_words
from seamsight.viewer.pictures.setups import Setup, setups_picture
from seamsight.viewer.setup.parallax import Parallax, parallax
from seamsight.viewer.setup.views import ScreenViews, entries, projection_of, screen_views
from seamsight.viewer.setup.wide import Step, WideView, best_wide, rigs_own_wide

DIGITS = 3  # of a degree: a tenth of a pixel
WORTH_TELLING = math.radians(0.01)

Found = Mapping[str, ScreenViews]


@dataclass(frozen=True)
class ViewsReport:
    """All that is told of a rig: views by screen, wide views, and what none of them mends."""

    screens: dict[str, ScreenViews | None]
    wide: WideView | None
    middle: WideView | None
    own: WideView | None
    unmended: Parallax

    @property
    def views(self) -> dict[str, ScreenViews]:
        """The views of those screens that have some."""
        return {name: each for name, each in self.screens.items() if each}

    def as_json(self) -> dict[str, Any]:
        """Return what `views --json` prints."""
        return {
            "screens": {name: each and each.as_json() for name, each in self.screens.items()},
            "wide": self.wide and self.wide.as_json(),
            "wide_middle": self.middle and self.middle.as_json(),
            "rig_wide": self.own and self.own.as_json(),
            "parallax": self.unmended.as_json(),
        }


def views_report(assembly: Assembly) -> ViewsReport:
    """Return what to enter in a simulator for a rig with outside screens.

    Raises
    ------
    PoseError
        When the rig's own wide picture lacks a part, or has one twice.
    """
    return ViewsReport(
        screen_views(assembly),
        best_wide(assembly),
        best_wide(assembly, middle_only=True),
        rigs_own_wide(assembly),
        parallax(assembly),
    )


def tables(found: ViewsReport) -> list[NumbersTable]:
    """Return the views as tables that one can type in."""
    told = []
    if found.views:
        told += [_off_axis_table(found.views), _matrix_table(found.views)]
        told.append(_symmetric_table(found.views))
    if found.wide and found.middle:
        told.append(_wide_table(found.wide, found.middle, found.own))
    return told


def sentences(found: ViewsReport) -> list[str]:
    """Return what happens at seams, which screens have no view, and what no view mends."""
    steps = _step_sentences(found.wide) if found.wide else ()
    return [*steps, *_unmended_sentences(found)]


def picture(assembly: Assembly, found: ViewsReport, width: int) -> Image.Image | None:
    """Return what is seen from the seat with each kind of view; None where there is none.

    Each is so many pixels wide.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read.
    PoseError
        When the design eye point is inside a part.
    """
    views = found.views
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
        return None
    rig = assembly.rig
    return setups_picture(assembly, setups, " · ".join([rig.name, *change_words(rig)]), width)


def _up_to(error: float) -> str:
    return f"wrong by up to {_degrees(error, 1)}°" if error > WORTH_TELLING else "right everywhere"


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


def _unmended_sentences(found: ViewsReport) -> Iterator[str]:
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
        yield "At the seams the parts of the wide view join without a step."
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
