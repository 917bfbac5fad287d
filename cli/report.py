"""Numbers as tables and plain words for the builder, and as JSON."""

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from seamsight.cli.answer import ACUITY, SOFT, WORTH_A_BORDER, names_words, note_words
from seamsight.cli.lens_report import lens_tables, lens_words
from seamsight.cli.tables import (
    NumbersTable,
    cell,
    console_of_width,
    heading,
    print_table,
    say,
)
from seamsight.scene import Assembly
from seamsight.scene.parts import Part
from seamsight.scene.shapes import volume
from seamsight.viewer.eye import EYES
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.measures import MarkNumbers, Numbers, ScreenNumbers
from seamsight.viewer.numbers.quantities import COLUMNS, hider_words
from seamsight.viewer.numbers.seams import Lost, Seam, SeamFrom
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

MOST_LINES = 10  # of the answer
MOST_HIDERS = 4  # parts named for each screen
CALLED = {
    "span": "image field of view",
    "frustum": "off-axis view",
    "arcmin_per_px": "pixel size",
}
"""What is called how where a grooved lens leaves it dark; what two eyes feel has its own words."""


def print_numbers(
    numbers: Numbers, answer: Sequence[str], cautions: Sequence[str], *, whole: bool = False
) -> None:
    """Print what a rig's numbers come to, what to check, tables of numbers, and cautions.

    Parameters
    ----------
    numbers : Numbers
    answer : sequence of str
        Sentences, what matters most first: as many as go into ten lines, or all.
    cautions : sequence of str
    whole : bool
        Whether to print all tables, and what each screen's numbers mean.
    """
    console = console_of_width()
    console.print(Text(f'{numbers.rig}, head position "{numbers.head}"', style="bold"))
    if not numbers.screens:
        say(console, "There is no screen in this rig.")
    shown = answer if whole else _that_fit(console, answer)
    for sentence in shown:
        say(console, sentence)
    console.print()
    if numbers.notes:
        console.print(Text("Check before you build", style="bold"))
        for note in note_words(numbers.notes, whole=whole):
            say(console, note)
        console.print()

    for table in tables(numbers, whole=whole):
        print_table(console, table)
    if whole:
        _print_meaning(console, numbers)
    else:
        more = "more sentences and tables" if len(shown) < len(answer) else "more tables"
        say(console, f"Add --all for {more}, and for each screen's numbers in words.")

    if cautions:
        console.print(Text("Cautions", style="bold"))
        for caution in cautions:
            say(console, caution)


def _that_fit(console: Console, sentences: Sequence[str]) -> list[str]:
    """Return the first sentences, as many as go into ten lines; one at least."""
    lines = (len(Text(sentence).wrap(console, console.width - 4)) for sentence in sentences)
    fit = [
        sentence
        for sentence, used in zip(sentences, itertools.accumulate(lines), strict=True)
        if used <= MOST_LINES
    ]
    return fit or list(sentences[:1])


def _print_meaning(console: Console, numbers: Numbers) -> None:
    """Print what the numbers of each screen and mark mean."""
    console.print(Text("In words", style="bold"))
    for sentence, names in _sentences(numbers).items():
        say(console, f"{names_words(names)}: {sentence}")
    for name, mark in numbers.marks.items():
        say(console, _mark_words(name, mark))


def part_rows(assembly: Assembly) -> list[dict[str, Any]]:
    """Return a row for each part of a rig.

    Its name, what it is, its size along its own right, away and up (mm), its triangles, its mass
    (kg).
    """
    return [
        {
            "name": part.name,
            "role": part.role,
            "size": [round(side, 3) for side in part.size],
            "triangles": len(part.triangles),
            "mass": _mass(part),
        }
        for part in assembly.parts
    ]


def print_parts(rows: list[dict[str, Any]]) -> None:
    """Print the rows of `part_rows`."""
    table = Table(box=box.SIMPLE_HEAD)
    for name in ("part", "is a"):
        table.add_column(name, overflow="fold")
    for number in ("its own width × depth × height, mm", "triangles", "kg"):
        table.add_column(number, justify="right", overflow="fold")
    for row in rows:
        size = " × ".join(f"{side:.0f}" for side in row["size"])
        mass = "" if row["mass"] is None else f"{row['mass']:.2f}"
        table.add_row(Text(row["name"]), row["role"], size, str(row["triangles"]), mass)
    console_of_width().print(table)


def _mass(part: Part) -> float | None:
    return None if part.density is None else round(volume(part.triangles) * 1e-9 * part.density, 3)


def tables(numbers: Numbers, *, whole: bool = False) -> list[NumbersTable]:
    """Return the tables that a rig with screens has something to put in."""
    if not numbers.screens:
        return []
    found = [_seen_table(numbers)]
    outside = [seam for seam in numbers.seams if seam.in_scene]
    if outside:
        found.append(_seam_table(outside))
    found += lens_tables(numbers)
    if not whole:
        return found

    found.append(_edge_table(numbers))
    needed = [
        max(screen.gap_needed.values()) for screen in numbers.screens.values() if screen.gap_needed
    ]
    if max(needed, default=0.0) > MM.within:
        found.append(_needed_table(numbers))
    return found


def _seen_table(numbers: Numbers) -> NumbersTable:
    rows = [
        (name, [cell(screen, column) for column in COLUMNS])
        for name, screen in numbers.as_json()["screens"].items()
    ]
    headings = tuple(heading(column) for column in COLUMNS)
    return NumbersTable("What is seen of each screen", "screen", headings, rows)


def _edge_table(numbers: Numbers) -> NumbersTable:
    title = (
        "Visible margin: how far beyond each image edge the left / right eye sees, mm (minus: that "
        "much of the image is lost)"
    )
    rows = [
        (name, [_past_edge(screen.margin[side]) for side in SIDES])
        for name, screen in numbers.screens.items()
        if screen.margin
    ]
    return NumbersTable(title, "screen", tuple(SIDES), rows)


def _past_edge(by_eye: dict[str, float]) -> str:
    return " / ".join(
        number_words(by_eye[eye], MM.digits, signed=True) for eye in ("left", "right")
    )


def _needed_table(numbers: Numbers) -> NumbersTable:
    title = "Margin needed so that neither eye loses a strip, mm"
    needed = {
        name: [screen.gap_needed[side] for side in SIDES]
        for name, screen in numbers.screens.items()
        if screen.gap_needed
    }
    if min(min(margins) for margins in needed.values()) < -MM.within:
        title += " (minus: both eyes see farther there than the point between them; none is needed)"
    rows = [
        (name, [number_words(margin, MM.digits) for margin in margins])
        for name, margins in needed.items()
    ]
    return NumbersTable(title, "screen", tuple(SIDES), rows)


def _seam_table(seams: list[Seam]) -> NumbersTable:
    title = (
        "Seams: width of the dark strip for the left eye / the right eye / the point between them "
        "(minus: images repeat), and of the widest lost strip"
    )
    rows = []
    for seam in seams:
        rows.append((" and ".join(seam.between), _seam_cells(seam, seam.clash)))
        if seam.facing:
            rows.append(("– facing it", _seam_cells(seam.facing, seam.clash)))
    headings = ("dark strip", "lost strip", "verdict")
    return NumbersTable(title, "seam between", headings, rows, worded=True)


def _seam_cells(seam: SeamFrom, clash: float) -> list[str]:
    return [
        " / ".join(in_words(seam.dark[eye], DEGREES) for eye in EYES),
        in_words(max((strip.width for strip in _lost_strips(seam)), default=None), MM),
        "the screens clash" if clash > 0 else _verdict(seam),
    ]


def _lost_strips(seam: SeamFrom) -> list[Lost]:
    return [strip for eye in ("left", "right") for strip in seam.lost[eye] or ()]


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _verdict(seam: SeamFrom) -> str:
    """Return what a seam's numbers say, in a few words."""
    widths = [value for value in seam.dark.values() if value is not None]
    if not widths:
        return "no eye sees both"
    if not seam.both_whole or any(strip.width > WORTH_A_BORDER for strip in _lost_strips(seam)):
        return "a strip is lost"
    if min(widths) <= -DEGREES.within:
        return "images repeat"
    if max(widths) < DEGREES.within:
        return "images meet"
    return "no strip is lost"


def _sentences(numbers: Numbers) -> dict[str, list[str]]:
    """Return what the numbers mean for the builder: each sentence with its screens."""
    found: dict[str, list[str]] = {}
    for name, screen in numbers.screens.items():
        for sentence in _screen_words(name, screen, numbers.hidden_by[name]):
            found.setdefault(sentence, []).append(name)
    return found


def _mark_words(name: str, mark: MarkNumbers) -> str:
    verdict = "within its tolerance" if mark.good else "OUTSIDE its tolerance"
    return f'Reference point "{name}": {in_words(mark.off, MM)} off, {verdict}.'


def _screen_words(name: str, screen: ScreenNumbers, hidden_by: dict[str, float]) -> list[str]:
    """Return what a screen's numbers mean, a sentence each."""
    if screen.image_dioptres is None:
        return ["no numbers from this head position: an eye is beside or behind its lens or bezel."]

    words = [
        _focus_words(screen.magnification, screen.image_dioptres),
        *_sharpness_words(screen),
        *_edge_words(screen),
        *lens_words(screen),
        *_missing_words(screen.reasons),
    ]
    for part, share in list(hidden_by.items())[:MOST_HIDERS]:
        if 100 * share > PERCENT.within:
            what = hider_words(name, part)
            covered = in_words(100 * share, PERCENT)
            words.append(f"{what} hides {covered} of the image area (mean of both eyes).")
    return words


def _missing_words(reasons: Mapping[str, str]) -> list[str]:
    """Return which numbers cannot be told, and why."""
    told: dict[str, list[str]] = {}
    for key, called in CALLED.items():
        if key in reasons:
            told.setdefault(reasons[key], []).append(called)
    return [f"no value for {' or '.join(keys)}: {reason}." for reason, keys in told.items()]


def _focus_words(enlarged: float, dioptres: float) -> str:
    distance = in_words(1000 / dioptres, MM, 0)
    focus = f"{distance} away ({number_words(dioptres, DIOPTRES.digits)} dioptres)"
    if enlarged == 1.0:
        return f"no lens: the eyes focus on the screen itself, {focus}."
    times = number_words(enlarged, TIMES.digits)
    return f"looks like a screen of {times} times the size, {focus}."


def _sharpness_words(screen: ScreenNumbers) -> list[str]:
    arcmin = (screen.arcmin_per_px or {}).get("h")
    if arcmin is None:
        return []
    times = f"{number_words(arcmin / ACUITY, 1)} times the 1′ that a 20/20 eye resolves"
    if arcmin <= ACUITY:
        verdict = "finer than a 20/20 eye resolves (1′)"
    elif arcmin <= SOFT:
        verdict = f"{times}: you can make out single pixels"
    else:
        verdict = f"{times}: small text and far detail look coarse"
    return [f"a pixel looks {in_words(arcmin, ARCMIN)} wide, {verdict}."]


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
        keep.append(f"{in_words(-min(by_eye['left'], by_eye['right']), MM)} at the {side}")

    part, aperture = ("lens", "lens") if screen.f_number else ("bezel", "bezel opening")
    if not lost:
        return [f"the edge of its {part} hides no strip of the image from either eye."]
    return [
        f"{', '.join(lost)}.",
        f"to lose nothing, keep a black border of {', '.join(keep)}, or use a larger {aperture} if "
        "there is room.",
    ]
