"""Numbers as tables and plain words for the builder, and as JSON."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from rich import box
from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from seamsight.scene import Assembly
from seamsight.scene.parts import Part, own_part_name
from seamsight.scene.shapes import volume
from seamsight.viewer.eye import EYES
from seamsight.viewer.numbers.grooved import GroovedNumbers
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.measures import MarkNumbers, Numbers, ScreenNumbers
from seamsight.viewer.numbers.quantities import COLUMNS, Quantity
from seamsight.viewer.numbers.seams import Seam, SeamFrom
from seamsight.viewer.numbers.units import (
    ARCMIN,
    DEGREES,
    DIOPTRES,
    MM,
    PERCENT,
    TIMES,
    in_words,
    number_words,
)

ACUITY = 1.0  # arcmin: what a 20/20 eye resolves, one stroke of a Snellen letter
SOFT = 3.0  # arcmin per pixel from which text and far runways look coarse (our choice)
WORTH_A_BORDER = 0.5  # mm; about two pixels of a usual monitor; a narrower strip is no matter
MOST_HIDERS = 4  # parts named for each screen


def print_numbers(numbers: Numbers, cautions: list[str]) -> None:
    """Print tables of a rig's numbers, what they mean, and the cautions."""
    console = _console()
    console.print(Text(f'{numbers.rig}, head "{numbers.head}"', style="bold"))

    if numbers.screens:
        console.print(*_tables(numbers))
        console.print(Text("What this means", style="bold"))
    else:
        console.print("  There is no screen in this rig.")

    for sentence, names in _sentences(numbers).items():
        _say(console, f"{', '.join(names)}: {sentence}")
    for name, mark in numbers.marks.items():
        _say(console, _mark_words(name, mark))

    if cautions:
        console.print(Text("Cautions", style="bold"))
        for caution in cautions:
            _say(console, caution)


def part_rows(assembly: Assembly) -> list[dict[str, Any]]:
    """Return a row for each part of a rig.

    Its name, what it is, its size along the rig's axes (mm), its triangles, its mass (kg).
    """
    return [
        {
            "name": part.name,
            "role": part.role,
            "size": [
                round(float(side), 3) for side in np.ptp(part.triangles.reshape(-1, 3), axis=0)
            ],
            "triangles": len(part.triangles),
            "mass": _mass(part),
        }
        for part in assembly.parts
    ]


def print_parts(rows: list[dict[str, Any]]) -> None:
    """Print the rows of `part_rows`."""
    table = Table(box=box.SIMPLE_HEAD)
    for heading in ("part", "is a", "right × forward × up, mm", "triangles", "kg"):
        table.add_column(
            heading, justify="left" if heading in ("part", "is a") else "right", overflow="fold"
        )
    for row in rows:
        size = " × ".join(f"{side:.0f}" for side in row["size"])
        mass = "" if row["mass"] is None else f"{row['mass']:.2f}"
        table.add_row(Text(row["name"]), row["role"], size, str(row["triangles"]), mass)
    _console().print(table)


def _mass(part: Part) -> float | None:
    return None if part.density is None else round(volume(part.triangles) * 1e-9 * part.density, 3)


def _console() -> Console:
    console = Console(highlight=False)
    return console if console.is_terminal else Console(highlight=False, width=120)


def _say(console: Console, sentence: str) -> None:
    """Print a sentence with its further lines set in."""
    for number, line in enumerate(Text(sentence).wrap(console, console.width - 4)):
        console.print("  " if number == 0 else "    ", line, sep="")


def _tables(numbers: Numbers) -> list[Group]:
    """Return the tables that a rig with screens has something to put in."""
    tables = [_seen_table(numbers), _edge_table(numbers)]
    needed = [
        max(screen.gap_needed.values()) for screen in numbers.screens.values() if screen.gap_needed
    ]
    if max(needed, default=0.0) > MM.within:
        tables.append(_border_table(numbers))
    outside = [seam for seam in numbers.seams if seam.in_scene]
    if outside:
        tables.append(_seam_table(outside))
    return tables


def _seen_table(numbers: Numbers) -> Group:
    headings = (" × ".join(each.heading or each.words for each in column) for column in COLUMNS)
    table = _table("screen", *headings)
    for name, screen in numbers.as_json()["screens"].items():
        table.add_row(Text(name), *(_cell(screen, column) for column in COLUMNS))
    return Group(Text("Each screen as it is seen"), table)


def _cell(screen: Mapping[str, Any], column: tuple[Quantity, ...]) -> str:
    """Return what a screen has in a column: one dash where there are no numbers from here."""
    if column[0].value(screen) is None:
        return in_words(None, column[0].unit)
    return " × ".join(each.told(screen) for each in column)


def _table(first: str, *headings: str) -> Table:
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    table.add_column(first, min_width=12, overflow="fold")
    for heading in headings:
        table.add_column(heading, justify="right", no_wrap=True)
    return table


def _edge_table(numbers: Numbers) -> Group:
    title = "Beyond each edge of the image, seen by left / right eye, mm (−: that strip is lost)"
    table = _table("screen", *SIDES)
    for name, screen in numbers.screens.items():
        if screen.margin:
            table.add_row(Text(name), *(_past_edge(screen.margin[side]) for side in SIDES))
    return Group(Text(title), table)


def _past_edge(by_eye: dict[str, float]) -> str:
    return " / ".join(
        number_words(by_eye[eye], MM.digits, signed=True) for eye in ("left", "right")
    )


def _border_table(numbers: Numbers) -> Group:
    title = "Border beyond the image that the mid-eye must have for both eyes to see it whole, mm"
    table = _table("screen", *SIDES)
    for name, screen in numbers.screens.items():
        if screen.gap_needed:
            borders = (abs(screen.gap_needed[side]) for side in SIDES)
            table.add_row(Text(name), *(number_words(border, MM.digits) for border in borders))
    return Group(Text(title), table)


def _seam_table(seams: list[Seam]) -> Group:
    title = (
        "Each seam: dark strip for left / right / mid-eye (−: repeated), and border beyond both "
        "images there"
    )
    table = _table("between", "face", "dark", "border", "needed", "verdict")
    for seam in seams:
        table.add_row(Text(" and ".join(seam.between)), "as it is", *_seam_cells(seam))
        if seam.facing:
            table.add_row("", "to the seam", *_seam_cells(seam.facing))
    return Group(Text(title), table)


def _seam_cells(seam: SeamFrom) -> list[str]:
    return [
        " / ".join(in_words(seam.dark[eye], DEGREES) for eye in EYES),
        in_words(seam.gap_present, MM),
        in_words(seam.gap_needed, MM),
        _verdict(seam),
    ]


def _verdict(seam: SeamFrom) -> str:
    """Return what a seam's numbers say, in a few words."""
    widths = [value for value in seam.dark.values() if value is not None]
    if not widths:
        return "no eye sees both"
    if not seam.both_whole:
        return "a strip is lost"
    if min(widths) <= -DEGREES.within:
        return "images repeat"
    if max(widths) < DEGREES.within:
        return "images meet"
    return "no strip is lost"


def _sentences(numbers: Numbers) -> dict[str, list[str]]:
    """Return what the numbers mean for the builder: each sentence with the screens it holds for."""
    found: dict[str, list[str]] = {}
    for name, screen in numbers.screens.items():
        for sentence in _screen_words(name, screen, numbers.hidden_by[name]):
            found.setdefault(sentence, []).append(name)
    return found


def _mark_words(name: str, mark: MarkNumbers) -> str:
    verdict = "within its tolerance" if mark.good else "OUTSIDE its tolerance"
    return f'The mark "{name}" is {in_words(mark.off, MM)} from where it should be, {verdict}.'


def _screen_words(name: str, screen: ScreenNumbers, hidden_by: dict[str, float]) -> list[str]:
    """Return what a screen's numbers mean, a sentence each."""
    if screen.image_dioptres is None or screen.arcmin_per_px is None:
        return ["an eye is not before its lens (or its front), so it has no numbers from here."]

    words = [
        _focus_words(screen.magnification, screen.image_dioptres),
        _sharpness_words(screen.arcmin_per_px["h"]),
        *_edge_words(screen),
    ]
    if screen.sheet:
        words += _sheet_words(screen.sheet)

    for part, share in list(hidden_by.items())[:MOST_HIDERS]:
        if 100 * share > PERCENT.within:
            what = "the edge of its own lens" if part == own_part_name(name, "lens") else part
            covered = in_words(100 * share, PERCENT)
            words.append(f"{covered} of the image is hidden by {what} (mean of both eyes).")
    return words


def _focus_words(enlarged: float, dioptres: float) -> str:
    # to the image's middle, which is farther than its plane when seen aslant
    distance = in_words(1000 / dioptres, MM, 0)
    focus = f"{distance} away ({number_words(dioptres, DIOPTRES.digits)} dioptres)"
    if enlarged == 1.0:
        return f"no lens; the eyes focus on the screen itself, {focus}."
    times = number_words(enlarged, TIMES.digits)
    return (
        f"looks {times} times as large, as a screen of {times} times the diagonal would, "
        f"and the eyes focus {focus}."
    )


def _sharpness_words(arcmin: float) -> str:
    times = f"{number_words(arcmin / ACUITY, 1)} times what a 20/20 eye resolves (1′)"
    if arcmin <= ACUITY:
        verdict = "finer than a 20/20 eye resolves (1′)"
    elif arcmin <= SOFT:
        verdict = f"{times}: single pixels can be made out"
    else:
        verdict = f"{times}: small text and far detail look coarse"
    return f"a pixel spans {number_words(arcmin, ARCMIN.digits)} arcmin, {verdict}."


def _sheet_words(sheet: GroovedNumbers) -> list[str]:
    """Return what a real grooved lens does to the picture."""
    border = "lets nothing of the image's border through"
    if sheet.distortion is not None and sheet.colour is not None:
        border = (
            f"shifts the image's edge by up to {in_words(sheet.distortion, DEGREES)} against an "
            f"ideal one, and parts red from blue by up to {in_words(sheet.colour, ARCMIN, 1)}"
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
        blur = f"over a 4 mm pupil a point blurs to {middle} in the middle"
    if sheet.blur["corner"] is not None:
        blur += f" and {in_words(sheet.blur['corner'], ARCMIN, 1)} in the corners"

    return [
        f"the grooved lens {border}.",
        f"the grooved lens passes {centre} of the light in the middle and {corner} in the "
        f"corners{walls}.",
        f"{blur or 'no point can be seen sharp through it'}.",
    ]


def _edge_words(screen: ScreenNumbers) -> list[str]:
    """Return what the eyes lose at the image's edges, and what to do about it."""
    lost: list[str] = []
    keep: list[str] = []
    for side, by_eye in (screen.margin or {}).items():
        losers = [eye for eye in ("left", "right") if by_eye[eye] < -WORTH_A_BORDER]
        if not losers:
            continue
        if len(losers) == 2 and abs(by_eye["left"] - by_eye["right"]) < MM.within:
            lost.append(f"both eyes lose {in_words(-by_eye['left'], MM)} at the {side}")
        else:
            lost += [
                f"the {eye} eye loses {in_words(-by_eye[eye], MM)} at the {side}" for eye in losers
            ]
        keep.append(f"{in_words(-min(by_eye['left'], by_eye['right']), MM)} {side}")

    if not lost:
        return ["its own opening hides no edge of the image from either eye."]
    return [
        f"{', '.join(lost)}.",
        f"keep a black border of {', '.join(keep)} inside the image, or widen the opening, "
        "so that both eyes see it whole.",
    ]
