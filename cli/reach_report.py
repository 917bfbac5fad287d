"""What `reach` prints: tables of reach, seats, focus and view, then what they come to."""

from collections.abc import Iterator

from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene.rig import Pilot
from seamsight.viewer.numbers.units import DEGREES, DIOPTRES, MM, PERCENT, in_words, number_words
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.studies.body import BODIES, EYES_OVER_SHOULDERS, SMALLEST, Seat
from seamsight.viewer.studies.clear_view import ClearView, OverTheNose, Upright
from seamsight.viewer.studies.fit import Fit
from seamsight.viewer.studies.reach import Reach
from seamsight.viewer.studies.refocus import Change, Focus

MOST_NAMED = 3  # controls of several
EYE_DEPTH = 0.3  # dioptres each way that look sharp, at best, through a 3 mm pupil (published)
TO_FINGERTIP = 100  # mm from the middle of a grip (from memory)


def print_fit(found: Fit) -> None:
    """Print how pilots fit into a rig."""
    console = console_of_width()
    say(console, f"{found.assembly.rig.name}, from head position {head_words(found.head)}")
    for table in tables(found):
        print_table(console, table)
    for sentence in sentences(found):
        say(console, sentence)


def tables(found: Fit) -> list[NumbersTable]:
    """Return what is reached, which seat is needed, focus, and the view."""
    some = [_seat_table(found.seats)]
    if found.reaches:
        some.insert(0, _reach_table(found.reaches))
    if found.focuses:
        some.append(_focus_table(found.focuses))
    if found.views:
        some.append(_view_table(found.views["left"]))
    return some


def sentences(found: Fit) -> list[str]:
    """Return what the tables come to."""
    return [
        *_reach_words(found.reaches),
        _seat_words(found.assembly.rig.pilot, found.seats),
        *([_change_words(found.change)] if found.change else []),
        *_view_words(found),
    ]


def _reach_table(reaches: list[Reach]) -> NumbersTable:
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
    return NumbersTable(title, "control", headings, rows)


def _short(name: str) -> str:
    """Return a body's name in lines so short that a table fits 80 characters."""
    return name.replace(" percentile", "").replace(" ", "\n")


def _seat_table(found: list[Seat]) -> NumbersTable:
    rows = [(seat.body.name, _seat_cells(seat)) for seat in found]
    headings = ("eyes\nover\nseat", "seat at\nheight", "higher than\nthe rig's")
    title = "Seat that brings each pilot's eyes, sitting erect, to the design eye point, mm"
    return NumbersTable(title, "pilot", headings, rows)


def _seat_cells(seat: Seat) -> list[str]:
    higher = number_words(seat.higher, 0, signed=True)
    return [number_words(seat.body.eye_height, 0), number_words(seat.surface, 0), higher]


def _focus_table(found: list[Focus]) -> NumbersTable:
    rows = [
        (one.screen, [in_words(one.dioptres, DIOPTRES), in_words(one.vergence, DEGREES)])
        for one in found
    ]
    title = "What the eyes focus and converge on, at the middle of each image"
    return NumbersTable(title, "screen", ("focus", "vergence"), rows)


def _view_table(view: ClearView) -> NumbersTable:
    rows = [
        (f"{number_words(one.azimuth, 0)}°", list(_upright_cells(one))) for one in view.uprights
    ]
    headings = ("should be\nclear", "images seen")
    title = "Clear view for a left seat: degrees down and up, by degrees to the right"
    return NumbersTable(title, "azimuth", headings, rows)


def _upright_cells(one: Upright) -> Iterator[str]:
    for ends in (one.asked, one.seen):
        yield "–" if ends is None else " to ".join(number_words(e, 1, signed=True) for e in ends)


def _reach_words(reaches: list[Reach]) -> Iterator[str]:
    if not reaches:
        yield (
            "There is nothing to reach: no mesh without a role, no hole without a screen behind "
            "it, no reference point."
        )
        return
    yield _who_reaches(reaches)
    yield (
        f"Shoulders are {EYES_OVER_SHOULDERS:g} mm below the eyes and as far back as the neck "
        "pivot; an arm ends at the middle of what the hand grips. A fingertip reaches some "
        f"{TO_FINGERTIP} mm farther. Parts in the hand's way do not count."
    )


def _who_reaches(reaches: list[Reach]) -> str:
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


def _view_words(found: Fit) -> Iterator[str]:
    if not found.views:
        yield "This rig has no screen of the outside view."
        return
    yield _nose_words(found.nose)
    shares = " and ".join(
        f"{in_words(100 * view.share, PERCENT)} of it for a {seat} seat"
        for seat, view in found.views.items()
    )
    yield (
        "Clear view of AC 25.773-1, a guideline for the windscreens of large aircraft: outside "
        f"images fill {shares}, seen with the head still."
    )


def _nose_words(nose: OverTheNose | None) -> str:
    if nose is None:
        return "Straight ahead there is no outside image."
    below = f"; below that is {nose.below}" if nose.below else ""
    down, up = (in_words(angle, DEGREES, 1) for angle in (nose.down, nose.up))
    return f"Over the nose, outside images are seen {down} down and {up} up{below}."
