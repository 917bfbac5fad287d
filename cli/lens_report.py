"""What `check` says of lenses: ideal or real, too fast, and what others would do instead."""

import dataclasses
from collections.abc import Sequence

from seamsight.cli.answer import names_words
from seamsight.cli.comfort_words import comfort_words
from seamsight.cli.tables import NumbersTable, cell, heading
from seamsight.viewer.numbers.grooved import GroovedNumbers
from seamsight.viewer.numbers.lens_models import LensFigures
from seamsight.viewer.numbers.measures import Numbers, ScreenNumbers
from seamsight.viewer.numbers.quantities import CORNER_LIGHT, LENS_COLUMNS
from seamsight.viewer.numbers.units import ARCMIN, DEGREES, PERCENT, in_words, number_words

FASTEST = 0.5  # f-number below which hardly any is made: common practice, from memory
DIM = 0.5  # share of the middle's light below which corners are told to be dim (our choice)


def lens_tables(numbers: Numbers) -> list[NumbersTable]:
    """Return for each distinct lens a table of what each kind of lens would do in its place."""
    return [_lens_table(names, units) for names, units in _distinct_lenses(numbers)]


def lens_words(screen: ScreenNumbers) -> list[str]:
    """Return what a screen's lens does, a sentence each."""
    words: list[str] = []
    if screen.sheet:
        pixel = (screen.arcmin_per_px or {}).get("h")
        words = [*_sheet_words(screen.sheet), *comfort_words(screen.comfort, pixel)]
    elif screen.f_number is not None:
        words = [
            'the lens is ideal (model = "thin"): the table of lenses shows what real ones would do '
            "here."
        ]
    fast = _too_fast(screen)
    return [*words, fast] if fast else words


def _distinct_lenses(
    numbers: Numbers,
) -> list[tuple[list[str], list[tuple[LensFigures, ...]]]]:
    """Return screens by name with their lenses' figures, those together that are like units.

    Like units look alike from the point between the eyes; the strips that each eye loses may not.
    """
    groups: list[tuple[list[str], list[tuple[LensFigures, ...]]]] = []
    for name, screen in numbers.screens.items():
        if not screen.lens_models:
            continue
        alike = [_but_strips(screen.lens_models) == _but_strips(units[0]) for _, units in groups]
        if True in alike:
            names, units = groups[alike.index(True)]
            names.append(name)
            units.append(screen.lens_models)
        else:
            groups.append(([name], [screen.lens_models]))
    return groups


def _but_strips(figures: Sequence[LensFigures]) -> list[LensFigures]:
    return [dataclasses.replace(each, lost=0.0) for each in figures]


def _lens_table(names: list[str], units: list[tuple[LensFigures, ...]]) -> NumbersTable:
    title = f"What other lenses would do in front of {names_words(names)} (*: this rig's"
    title += "; lost strip: the widest of all screens)" if len(names) > 1 else ")"
    rows = []
    for of_units in zip(*units, strict=True):
        worst = max(of_units, key=lambda figures: figures.lost)
        own = " *" if worst.in_rig else ""
        tree = dataclasses.asdict(worst)
        rows.append((f"{worst.lens}{own}", [cell(tree, column) for column in LENS_COLUMNS]))
    headings = tuple(heading(column) for column in LENS_COLUMNS)
    return NumbersTable(title, "lens", headings, rows)


def _too_fast(screen: ScreenNumbers) -> str | None:
    """Return what to do about a lens that is too wide for its focal length, None if it is not."""
    if screen.f_number is None or not screen.lens_models:
        return None
    fast = f"f/{number_words(screen.f_number, 2)}"
    sheets = [figures for figures in screen.lens_models if figures.groove_angle > 0]
    bright = [figures for figures in sheets if _is_bright(figures)]
    own = next((figures for figures in sheets if figures.in_rig), None)

    cure = (
        "use a longer focal length, with the screen farther behind the lens for the same "
        "magnification, or a smaller aperture"
    )
    if own and own not in bright:
        better = [figures for figures in bright if figures.lost <= own.lost]
        if better:
            best = min(better, key=lambda figures: figures.distortion or 0.0)
            cure = f'"{best.lens}" would pass {CORNER_LIGHT.told(dataclasses.asdict(best))}'
        steep = in_words(own.groove_angle, DEGREES, 0)
        left = CORNER_LIGHT.told(dataclasses.asdict(own))
        return (
            f"the lens is too fast for its grooves: at {fast} they are up to {steep} steep in the "
            f"corners, where total reflection and groove walls leave {left} of the light; {cure}."
        )
    if screen.f_number < FASTEST:
        return (
            f"the aperture is very wide for the focal length: {fast} to its corners, and hardly "
            f"any Fresnel lens is made below f/{FASTEST} (from memory); {cure}."
        )
    if sheets and not bright:
        return f"at {fast} every real lens in the table leaves the corners dim or dark; {cure}."
    return None


def _is_bright(figures: LensFigures) -> bool:
    return figures.light["corner"] >= DIM * figures.light["centre"] > 0


def _sheet_words(sheet: GroovedNumbers) -> list[str]:
    """Return what a real grooved lens does to the picture."""
    border = "the grooved lens lets through nothing of the image's edge"
    if sheet.distortion is not None and sheet.colour is not None:
        border = (
            "compared with an ideal lens, the grooves shift the image's edge by up to "
            f"{in_words(sheet.distortion, DEGREES)} and separate red from blue by up to "
            f"{in_words(sheet.colour, ARCMIN, 1)}"
        )

    centre, corner = (
        in_words(100 * sheet.light[place], PERCENT, 0) for place in ("centre", "corner")
    )
    walls = ""
    if sheet.blocked["corner"] is not None:
        walls = f"; groove walls block {in_words(100 * sheet.blocked['corner'], PERCENT, 0)} there"

    blur = ""
    if sheet.blur["centre"] is not None:
        middle = in_words(sheet.blur["centre"], ARCMIN, 1)
        blur = f"with a 4 mm pupil, a point is blurred to {middle} at the centre"
    if sheet.blur["corner"] is not None:
        blur += f" and {in_words(sheet.blur['corner'], ARCMIN, 1)} in the corners"

    return [
        f"{border}.",
        f"the grooved lens passes {centre} of the light at the centre and {corner} in the "
        f"corners{walls}.",
        f"{blur or 'no point can be seen sharp through it'} (glare and moulding faults left out).",
    ]
