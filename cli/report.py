"""Numbers as tables and plain words for the builder, and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from rich import box
from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from seamsight.cli.lens_report import lens_tables, lens_words
from seamsight.cli.tables import cell, heading, numbers_table
from seamsight.scene import Assembly
from seamsight.scene.parts import Part, own_part_name
from seamsight.scene.shapes import volume
from seamsight.viewer.eye import EYES
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.measures import MarkNumbers, Numbers, ScreenNumbers
from seamsight.viewer.numbers.quantities import COLUMNS
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
CALLED = {
    "span": "angle between the image's edges",
    "frustum": "view to set in the simulator",
    "arcmin_per_px": "size of a pixel",
}
"""What is called how where a grooved lens leaves it dark; what two eyes feel has its own words."""


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
    for note in numbers.notes:
        _say(console, f"{note.text}: they cannot be built so.")

    if cautions:
        console.print(Text("Cautions", style="bold"))
        for caution in cautions:
            _say(console, caution)


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
        tables.append(_needed_table(numbers))
    outside = [seam for seam in numbers.seams if seam.in_scene]
    if outside:
        tables.append(_seam_table(outside))
    return tables + lens_tables(numbers)


def _seen_table(numbers: Numbers) -> Group:
    table = numbers_table("screen", *(heading(column) for column in COLUMNS))
    for name, screen in numbers.as_json()["screens"].items():
        table.add_row(Text(name), *(cell(screen, column) for column in COLUMNS))
    return Group(Text("Each screen as it is seen"), table)


def _edge_table(numbers: Numbers) -> Group:
    title = (
        "Margin: how far beyond each edge of the image the left / right eye sees, mm "
        "(−: that strip is lost)"
    )
    table = numbers_table("screen", *SIDES)
    for name, screen in numbers.screens.items():
        if screen.margin:
            table.add_row(Text(name), *(_past_edge(screen.margin[side]) for side in SIDES))
    return Group(Text(title), table)


def _past_edge(by_eye: dict[str, float]) -> str:
    return " / ".join(
        number_words(by_eye[eye], MM.digits, signed=True) for eye in ("left", "right")
    )


def _needed_table(numbers: Numbers) -> Group:
    title = "Margin that the mid-eye must have for both eyes to see the image whole, mm"
    negative = False
    table = numbers_table("screen", *SIDES)
    for name, screen in numbers.screens.items():
        if screen.gap_needed:
            needed = [screen.gap_needed[side] for side in SIDES]
            table.add_row(Text(name), *(number_words(margin, MM.digits) for margin in needed))
            negative |= min(needed) < -MM.within
    if negative:
        title += " (−: there both eyes see farther than the mid-eye, and none is needed)"
    return Group(Text(title), table)


def _seam_table(seams: list[Seam]) -> Group:
    title = (
        "Each seam: dark strip for left / right / mid-eye (−: repeated), and margin beyond both "
        "images there"
    )
    table = numbers_table("between", "face", "dark", "margin", "needed")
    table.add_column("verdict", min_width=8)
    lost: dict[str, None] = {}
    for seam in seams:
        table.add_row(Text(" and ".join(seam.between)), "as it is", *_seam_cells(seam, seam.clash))
        lost |= dict.fromkeys(_lost_words(seam, seam))
        if seam.facing:
            table.add_row("", "to the seam", *_seam_cells(seam.facing, seam.clash))
            faced = (f"facing it, {words}" for words in _lost_words(seam, seam.facing))
            lost |= dict.fromkeys(faced)
    return Group(Text(title), table, *(Text(f"  {_capital(words)}.") for words in lost))


def _seam_cells(seam: SeamFrom, clash: float) -> list[str]:
    return [
        " / ".join(in_words(seam.dark[eye], DEGREES) for eye in EYES),
        in_words(seam.gap_present, MM),
        in_words(seam.gap_needed, MM),
        "the screens clash" if clash > 0 else _verdict(seam),
    ]


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _lost_words(seam: Seam, here: SeamFrom) -> Iterator[str]:
    """Yield what each eye loses at a seam, seen from one head or the other, and behind what."""
    for number, (name, side) in enumerate(zip(seam.between, seam.sides, strict=True)):
        by_eye = {eye: strips[number] for eye, strips in here.lost.items() if strips}
        losers = [
            f"the {eye} eye loses {in_words(by_eye[eye].width, MM)}"
            for eye in ("left", "right")
            if eye in by_eye and by_eye[eye].width > WORTH_A_BORDER
        ]
        hiders = dict.fromkeys(by_eye[eye].behind for eye in ("left", "right") if eye in by_eye)
        behind = " and ".join(hider for hider in hiders if hider)
        if losers:
            where = f"at the {side} of {name}" + (f", behind {behind}" if behind else "")
            yield f"{' and '.join(losers)} {where}"


def _verdict(seam: SeamFrom) -> str:
    """Return what a seam's numbers say, in a few words."""
    widths = [value for value in seam.dark.values() if value is not None]
    if not widths:
        return "no eye sees both"
    strips = (strip for eye in ("left", "right") for strip in seam.lost[eye] or ())
    if not seam.both_whole or any(strip.width > WORTH_A_BORDER for strip in strips):
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
    if screen.image_dioptres is None:
        return ["an eye is not before its lens (or its front), so it has no numbers from here."]

    words = [
        _focus_words(screen.magnification, screen.image_dioptres),
        *_sharpness_words(screen),
        *_edge_words(screen),
        *lens_words(screen),
        *_missing_words(screen.reasons),
    ]
    for part, share in list(hidden_by.items())[:MOST_HIDERS]:
        if 100 * share > PERCENT.within:
            what = "the edge of its own lens" if part == own_part_name(name, "lens") else part
            covered = in_words(100 * share, PERCENT)
            words.append(f"{covered} of the image is hidden by {what} (mean of both eyes).")
    return words


def _missing_words(reasons: Mapping[str, str]) -> list[str]:
    """Return which numbers cannot be told, and why."""
    told: dict[str, list[str]] = {}
    for key, called in CALLED.items():
        if key in reasons:
            told.setdefault(reasons[key], []).append(called)
    return [f"there is no {' and no '.join(keys)}: {reason}." for reason, keys in told.items()]


def _focus_words(enlarged: float, dioptres: float) -> str:
    distance = in_words(1000 / dioptres, MM, 0)
    focus = f"viewing distance {distance} ({number_words(dioptres, DIOPTRES.digits)} dioptres)"
    if enlarged == 1.0:
        return f"no lens: the eyes focus on the screen itself, {focus}."
    times = number_words(enlarged, TIMES.digits)
    return (
        f"looks {times} times as large, as a screen of {times} times the diagonal would; {focus}."
    )


def _sharpness_words(screen: ScreenNumbers) -> list[str]:
    arcmin = (screen.arcmin_per_px or {}).get("h")
    if arcmin is None:
        return []
    times = f"{number_words(arcmin / ACUITY, 1)} times what a 20/20 eye resolves (1′)"
    if arcmin <= ACUITY:
        verdict = "finer than a 20/20 eye resolves (1′)"
    elif arcmin <= SOFT:
        verdict = f"{times}: single pixels can be made out"
    else:
        verdict = f"{times}: small text and far detail look coarse"
    return [f"a pixel spans {number_words(arcmin, ARCMIN.digits)} arcmin, {verdict}."]


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
