"""What `reach` prints: tables, each with sentences on what it comes to."""

from collections.abc import Iterator

from rich.console import Console

from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene.rig import Pilot
from seamsight.viewer.numbers.units import DEGREES, DIOPTRES, MM, PERCENT, in_words, number_words
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.studies.body import BODIES, EYES_OVER_SHOULDERS, SMALLEST, Seat
from seamsight.viewer.studies.clear_view import OverTheNose, Upright
from seamsight.viewer.studies.fit import Fit
from seamsight.viewer.studies.reach import Reach
from seamsight.viewer.studies.refocus import Change

MOST_NAMED = 3  # controls of several
EYE_DEPTH = 0.3  # dioptres each way that an eye sees sharp without refocusing (Campbell)


def print_fit(found: Fit) -> None:
    """Print how pilots fit into a rig."""
    console = console_of_width()
    say(console, f"{found.assembly.rig.name}, from head position {head_words(found.head)}")
    _print_reach(console, found.reaches)
    _print_seats(console, found)
    _print_focus(console, found)
    _print_view(console, found)


def _print_reach(console: Console, reaches: list[Reach]) -> None:
    if not reaches:
        say(
            console,
            "There is nothing to reach: no mesh without a role, no hole without a screen behind "
            "it, no reference point.",
        )
        return
    rows = [
        (
            one.target.name,
            [
                one.hand,
                number_words(one.distance, 0),
                *(number_words(one.spare[body.name], 0, signed=True) for body in BODIES),
            ],
        )
        for one in reaches
    ]
    title = "Reach, mm: from the nearer shoulder, and how much arm each pilot has to spare"
    headings = ("hand", "away", *(_short(body.name) for body in BODIES))
    print_table(console, NumbersTable(title, "control", headings, rows))
    say(console, _reach_words(reaches))
    say(
        console,
        f"Shoulders are {EYES_OVER_SHOULDERS:g} mm below the eyes and as far back as the neck "
        "pivot; an arm ends at the middle of what the hand grips. A fingertip reaches some 100 mm "
        "farther. Parts in the hand's way do not count.",
    )


def _reach_words(reaches: list[Reach]) -> str:
    far = [one.target.name for one in reaches if not one.reached]
    if not far:
        return f"A {SMALLEST.name} reaches everything."
    nobody = [one.target.name for one in reaches if max(one.spare.values()) < 0]
    words = f"A {SMALLEST.name} does not reach {_some(far)}."
    return words + (f" Nobody here reaches {_some(nobody)}." if nobody else "")


def _some(names: list[str]) -> str:
    """Return some names, and how many more there are."""
    more = len(names) - MOST_NAMED
    words = ", ".join(names[:MOST_NAMED] if more > 1 else names)
    return f"{words} and {more} more" if more > 1 else words


def _short(name: str) -> str:
    """Return a body's name in lines so short that a table fits 80 characters."""
    return name.replace(" percentile", "").replace(" ", "\n")


def _print_seats(console: Console, found: Fit) -> None:
    pilot = found.assembly.rig.pilot
    rows = [(seat.body.name, _seat_cells(seat)) for seat in found.seats]
    headings = ("eyes\nover\nseat", "seat at\nheight", "higher than\nthe rig's")
    title = "Seat that brings each pilot's eyes, sitting erect, to the design eye point, mm"
    print_table(console, NumbersTable(title, "pilot", headings, rows))
    say(console, _seat_words(pilot, found.seats))


def _seat_cells(seat: Seat) -> list[str]:
    higher = number_words(seat.higher, 0, signed=True)
    return [number_words(seat.body.eye_height, 0), number_words(seat.surface, 0), higher]


def _seat_words(pilot: Pilot, found: list[Seat]) -> str:
    highest, lowest = (number_words(found[place].surface, 0) for place in (0, -1))
    fits = f"heights from {lowest} to {highest} fit them all"
    if pilot.seat is None:
        return f"Seat {fits}. Add `seat` to [pilot] to compare yours."
    over = pilot.eye_point[2] - pilot.seat
    nearest = min(found, key=lambda seat: abs(seat.body.eye_height - over)).body
    return (
        f"The design eye point is {in_words(over, MM, 0)} above the seat, which suits a "
        f"{nearest.name} best; seat {fits}."
    )


def _print_focus(console: Console, found: Fit) -> None:
    rows = [
        (one.screen, [in_words(one.dioptres, DIOPTRES), in_words(one.vergence, DEGREES)])
        for one in found.focuses
    ]
    if rows:
        title = "What the eyes focus and converge on, at the middle of each image"
        print_table(console, NumbersTable(title, "screen", ("focus", "vergence"), rows))
    if found.change:
        say(console, _change_words(found.change))


def _change_words(change: Change) -> str:
    eased = abs(change.dioptres) <= EYE_DEPTH
    effort = "the eyes need not refocus" if eased else "the eyes must refocus"
    converged = ""
    if change.vergence is not None:
        converged = f" and {number_words(change.vergence, 2, signed=True)}° of vergence"
    dioptres = number_words(change.dioptres, 2, signed=True)
    return (
        f"From {change.outside} to {change.inside} it is {dioptres} D{converged}: {effort} "
        f"(what is within about {EYE_DEPTH:g} D looks sharp)."
    )


def _print_view(console: Console, found: Fit) -> None:
    if not found.views:
        say(console, "This rig has no screen of the outside view.")
        return
    say(console, _nose_words(found.nose))
    shares = " and ".join(
        f"{in_words(100 * view.share, PERCENT)} of it for a {seat} seat"
        for seat, view in found.views.items()
    )
    say(
        console,
        f"Clear view of AC 25.773-1, a guideline for the windscreens of large aircraft: outside "
        f"images fill {shares}, seen with the head still.",
    )
    rows = [
        (f"{number_words(one.azimuth, 0)}°", list(_upright_cells(one)))
        for one in found.views["left"].uprights
    ]
    headings = ("should be\nclear", "images seen")
    title = "Clear view for a left seat: degrees down and up, by degrees to the right"
    print_table(console, NumbersTable(title, "azimuth", headings, rows))


def _nose_words(nose: OverTheNose | None) -> str:
    if nose is None:
        return "Straight ahead there is no outside image."
    below = f"; below that is {nose.below}" if nose.below else ""
    down, up = (in_words(angle, DEGREES, 1) for angle in (nose.down, nose.up))
    return f"Over the nose, outside images are seen {down} down and {up} up{below}."


def _upright_cells(one: Upright) -> Iterator[str]:
    for ends in (one.asked, one.seen):
        yield "–" if ends is None else " to ".join(number_words(e, 1, signed=True) for e in ends)
