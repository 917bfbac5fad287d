"""Numbers as tables and plain words for the builder, and as JSON."""

from typing import Any

import numpy as np
from rich import box
from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from seamsight.scene import Assembly
from seamsight.scene.parts import Part
from seamsight.scene.shapes import volume
from seamsight.viewer.numbers.grooved import GroovedNumbers
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.measures import Numbers, ScreenNumbers
from seamsight.viewer.numbers.seams import Seam, SeamFrom

ACUITY = 1.0  # arcmin: what a 20/20 eye resolves, one stroke of a Snellen letter
SOFT = 3.0  # arcmin per pixel from which text and far runways look coarse (our choice)
NOTICED = 0.05  # mm and percent points below which nothing is said
MEETING = 0.02  # degrees; about one arcmin, what a 20/20 eye resolves
WORTH_A_BORDER = (
    0.5  # mm; about two pixels of a usual monitor, below which no border is worth keeping black
)


def print_numbers(numbers: Numbers, cautions: list[str]) -> None:
    """Print tables of a rig's numbers, what they mean, and the cautions."""
    console = _console()
    console.print(Text(f'{numbers.rig}, head "{numbers.head}"', style="bold"))
    if numbers.screens:
        console.print(_seen_table(numbers), _edge_table(numbers))
        if any(
            max(screen.gap_needed.values()) > NOTICED
            for screen in numbers.screens.values()
            if screen.gap_needed
        ):
            console.print(_border_table(numbers))
        outside = [seam for seam in numbers.seams if seam.in_scene]
        if outside:
            console.print(_seam_table(outside))
        console.print(Text("What this means", style="bold"))
    else:
        console.print("  There is no screen in this rig.")
    for sentence, names in _sentences(numbers).items():
        _say(console, f"{', '.join(names)}: {sentence}")
    for name, mark in numbers.marks.items():
        verdict = "within its tolerance" if mark.good else "OUTSIDE its tolerance"
        _say(console, f'The mark "{name}" is {mark.off:.1f} mm from where it should be, {verdict}.')
    if cautions:
        console.print(Text("Cautions", style="bold"))
        for caution in cautions:
            _say(console, caution)


def part_rows(assembly: Assembly) -> list[dict[str, Any]]:
    """Return a row for each part: name, what it is, size along the rig's axes (mm), triangles, mass (kg)."""
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


def _seen_table(numbers: Numbers) -> Group:
    headings = (
        "looks larger",
        "image at",
        "focus",
        "across × up",
        "one pixel",
        "left sees",
        "right sees",
        "both see",
    )
    table = _table("screen", *headings)
    for name, screen in numbers.screens.items():
        seen = [f"{100 * screen.seen[eye]:.1f} %" for eye in ("left", "right", "both")]
        table.add_row(Text(name), f"{screen.magnification:.2f} ×", *_image_cells(screen), *seen)
    return Group(Text("Each screen as it is seen"), table)


def _image_cells(screen: ScreenNumbers) -> list[str]:
    if screen.span is None or screen.arcmin_per_px is None or screen.image_distance is None:
        return ["–"] * 4
    return [
        f"{screen.image_distance:.0f} mm",
        f"{screen.image_dioptres:.2f} D",
        f"{screen.span['h']:.1f}° × {screen.span['v']:.1f}°",
        f"{screen.arcmin_per_px['h']:.2f}′",
    ]


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
            seen = [
                f"{_mm(screen.margin[side]['left'])} / {_mm(screen.margin[side]['right'])}"
                for side in SIDES
            ]
            table.add_row(Text(name), *seen)
    return Group(Text(title), table)


def _border_table(numbers: Numbers) -> Group:
    title = "Border beyond the image that the mid-eye must have for both eyes to see it whole, mm"
    table = _table("screen", *SIDES)
    for name, screen in numbers.screens.items():
        if screen.gap_needed:
            table.add_row(Text(name), *(f"{abs(screen.gap_needed[side]):.1f}" for side in SIDES))
    return Group(Text(title), table)


def _mm(value: float) -> str:
    return f"{value:+.1f}".replace("-", "−")


def _seam_table(seams: list[Seam]) -> Group:
    title = "Each seam: dark strip for left / right / mid-eye (−: repeated), and border beyond both images there"
    table = _table("between", "face", "dark", "border", "needed", "verdict")
    for seam in seams:
        for face, seen in (("as it is", seam), ("to the seam", seam.facing)):
            if seen:
                name = " and ".join(seam.between) if seen is seam else ""
                table.add_row(
                    Text(name),
                    face,
                    _dark(seen),
                    f"{seen.gap_present:.1f} mm",
                    f"{seen.gap_needed:.1f} mm",
                    _verdict(seen),
                )
    return Group(Text(title), table)


def _dark(seam: SeamFrom) -> str:
    values = (seam.dark[eye] for eye in ("left", "right", "mid"))
    return " / ".join("–" if value is None else f"{value:.2f}°" for value in values)


def _verdict(seam: SeamFrom) -> str:
    """Return what a seam's numbers say, in a few words."""
    widths = [value for value in seam.dark.values() if value is not None]
    if not widths:
        return "no eye sees both"
    if not seam.both_whole:
        return "a strip is lost"
    if min(widths) <= -MEETING:
        return "images repeat"
    if max(widths) < MEETING:
        return "images meet"
    return "no strip is lost"


def _sentences(numbers: Numbers) -> dict[str, list[str]]:
    """Return what the numbers mean for the builder: each sentence with the screens that it holds for."""
    found: dict[str, list[str]] = {}
    for name, screen in numbers.screens.items():
        for sentence in _in_words(name, screen, numbers.hidden_by[name]):
            found.setdefault(sentence, []).append(name)
    return found


def _in_words(name: str, screen: ScreenNumbers, hidden_by: dict[str, float]) -> list[str]:
    if (
        screen.image_distance is None
        or screen.image_dioptres is None
        or screen.arcmin_per_px is None
    ):
        return ["an eye is not before its lens (or its front), so it has no numbers from here."]
    words = [_focus_words(screen.magnification, screen.image_dioptres)]
    words.append(_sharpness_words(screen.arcmin_per_px["h"]))
    words += _edge_words(screen) + (_sheet_words(screen.sheet) if screen.sheet else [])
    for part, share in list(hidden_by.items())[:4]:
        if 100 * share > NOTICED:
            what = "the edge of its own lens" if part == f"{name} lens" else part
            words.append(
                f"{100 * share:.1f} % of the image is hidden by {what} (mean of both eyes)."
            )
    return words


def _focus_words(enlarged: float, dioptres: float) -> str:
    distance = (
        1000 / dioptres
    )  # to the image's middle, which is farther than its plane when seen aslant
    if enlarged == 1.0:
        return f"no lens; the eyes focus on the screen itself, {distance:.0f} mm away ({dioptres:.2f} dioptres)."
    return (
        f"looks {enlarged:.2f} times as large, as a screen of {enlarged:.2f} times the diagonal would, "
        f"and the eyes focus {distance:.0f} mm away ({dioptres:.2f} dioptres)."
    )


def _sharpness_words(arcmin: float) -> str:
    if arcmin <= ACUITY:
        verdict = "finer than a 20/20 eye resolves (1′)"
    elif arcmin <= SOFT:
        verdict = f"{arcmin / ACUITY:.1f} times what a 20/20 eye resolves (1′): single pixels can be made out"
    else:
        verdict = f"{arcmin / ACUITY:.1f} times what a 20/20 eye resolves (1′): small text and far detail look coarse"
    return f"a pixel spans {arcmin:.2f} arcmin, {verdict}."


def _sheet_words(sheet: GroovedNumbers) -> list[str]:
    """Return what a real grooved lens does to the picture."""
    light, blocked, sharp = sheet.light, sheet.blocked, sheet.sharp
    blur = (
        f"over a 4 mm pupil a point blurs to {sharp['centre']:.1f}′ in the middle"
        if sharp["centre"] is not None
        else ""
    )
    if sharp["corner"] is not None:
        blur += f" and {sharp['corner']:.1f}′ in the corners"
    border = "lets nothing of the image's border through"
    if sheet.distortion is not None and sheet.colour is not None:
        border = f"shifts the image's edge by up to {sheet.distortion:.2f}° against an ideal one, "
        border += f"and parts red from blue by up to {sheet.colour:.1f}′"
    walls = (
        ""
        if blocked["corner"] is None
        else f"; groove walls block {100 * blocked['corner']:.0f} % there"
    )
    return [
        f"the grooved lens {border}.",
        f"the grooved lens passes {100 * light['centre']:.0f} % of the light in the middle and "
        f"{100 * light['corner']:.0f} % in the corners{walls}.",
        f"{blur or 'no point can be seen sharp through it'}.",
    ]


def _edge_words(screen: ScreenNumbers) -> list[str]:
    lost, keep = [], []
    for side, by_eye in (screen.margin or {}).items():
        losers = [eye for eye in ("left", "right") if by_eye[eye] < -WORTH_A_BORDER]
        if len(losers) == 2 and abs(by_eye["left"] - by_eye["right"]) < NOTICED:
            lost.append(f"both eyes lose {-by_eye['left']:.1f} mm at the {side}")
        else:
            lost += [f"the {eye} eye loses {-by_eye[eye]:.1f} mm at the {side}" for eye in losers]
        if losers:
            keep.append(f"{-min(by_eye['left'], by_eye['right']):.1f} mm {side}")
    if not lost:
        return ["its own opening hides no edge of the image from either eye."]
    return [
        f"{', '.join(lost)}.",
        f"keep a black border of {', '.join(keep)} inside the image, or widen the opening, "
        "so that both eyes see it whole.",
    ]
