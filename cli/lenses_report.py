"""What `lenses` prints: a table of combinations, one of kinds of lens for each, sentences."""

from collections.abc import Iterator

from rich.console import Console

from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.viewer.numbers.units import (
    ARCMIN,
    DEGREES,
    MM,
    PERCENT,
    TIMES,
    in_words,
    number_words,
)
from seamsight.viewer.studies.lens_choice import ROOM, SEEN, KindFigures, Tried, best
from seamsight.viewer.studies.lens_filling import Lens

TIMES_SIGN = "\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}"

MOST_PAIRS = 3  # of parts that run into each other, told for a lens


def print_choices(title: str, found: list[Tried]) -> None:
    """Print what each combination shows, and which is best."""
    console = console_of_width()
    say(console, title)
    possible = [one for one in found if one.kinds]
    if possible:
        _print_overview(console, possible)
        for one in possible:
            _print_kinds(console, one)
    for sentence in _sentences(found):
        say(console, sentence)


def _print_overview(console: Console, possible: list[Tried]) -> None:
    rows = [(_short(one.lens), _overview(one)) for one in possible]
    headings = (
        "distance",
        "magni-\nfication",
        "visible,\nboth eyes",
        "lost\nstrip",
        "dark\nstrip",
        "head room\nleft/right",
        "forward/\nback",
    )
    print_table(
        console, NumbersTable("Ideal lenses: size and focal length f, mm", "lens", headings, rows)
    )
    if any(one.head_room for one in possible):
        say(
            console,
            f"Head room: how far the head may move before an eye sees less than {100 * SEEN:g} % "
            "of an image; 0 where one does so to begin with.",
        )


def _overview(one: Tried) -> list[str]:
    ideal = one.kinds[0]
    room = one.head_room
    return [
        in_words(one.distance, MM),
        in_words(one.magnification, TIMES),
        _field(ideal),
        in_words(ideal.lost, MM),
        in_words(ideal.dark, DEGREES),
        *(
            "/".join(number_words(room[way], 0) for way in ways) + " mm" if room else "–"
            for ways in (ROOM[:2], ROOM[2:])
        ),
    ]


def _print_kinds(console: Console, one: Tried) -> None:
    rows = [(kind.lens, _kind(kind)) for kind in one.kinds]
    headings = (
        "visible,\nboth eyes",
        "lost\nstrip",
        "dark\nstrip",
        "corner\nlight",
        "distor-\ntion",
        "corner\nblur",
    )
    title = f"Lens of {lens_words(one.lens)}, {in_words(one.distance, MM)} from the screen"
    print_table(console, NumbersTable(title, "lens", headings, rows))


def _kind(kind: KindFigures) -> list[str]:
    return [
        _field(kind),
        in_words(kind.lost, MM),
        in_words(kind.dark, DEGREES),
        in_words(100 * kind.light, PERCENT, 0),
        in_words(kind.distortion, DEGREES),
        in_words(kind.blur, ARCMIN, 1),
    ]


def _field(kind: KindFigures) -> str:
    return TIMES_SIGN.join(in_words(kind.field[way], DEGREES, 1) for way in ("h", "v"))


def _short(lens: Lens) -> str:
    width, height = lens.size
    return f"{width:g}×{height:g}, f {lens.focal_length:g}"


def lens_words(lens: Lens) -> str:
    """Return a lens's size and focal length in words."""
    width, height = (f"{side:g}" for side in lens.size)
    return f"{width}{TIMES_SIGN}{height} mm with a focal length of {lens.focal_length:g} mm"


def _sentences(found: list[Tried]) -> Iterator[str]:
    """Yield what is impossible and why, then how far the ideal lens is from a real one."""
    for one in found:
        if one.impossible:
            yield f"A lens of {lens_words(one.lens)} is impossible: {'; '.join(one.impossible)}."
        if one.runs_into:
            yield f"With a lens of {lens_words(one.lens)}, {_clash_words(one)}."
    choice = best(found)
    if choice:
        yield _best_words(*choice)


def _clash_words(one: Tried) -> str:
    pairs = [" and ".join(pair) for pair in one.runs_into]
    more = len(pairs) - MOST_PAIRS
    told = "; ".join(pairs[:MOST_PAIRS]) + (f"; and {more} more" if more > 0 else "")
    return f"other parts would run into each other and must move: {told}"


def _best_words(one: Tried, real: KindFigures) -> str:
    ideal = one.kinds[0]
    words = (
        f"Both eyes see most through a real lens of {lens_words(one.lens)} ({real.lens}): "
        f"{_field(real)}, where the ideal lens shows {_field(ideal)}. Its corners keep "
        f"{in_words(100 * real.light, PERCENT, 0)} of the light"
    )
    if real.blur is not None:
        words += f", a point there is blurred to {in_words(real.blur, ARCMIN, 1)}"
    if real.distortion is not None:
        words += f", and the image's edge is shifted by up to {in_words(real.distortion, DEGREES)}"
    return f"{words}; the ideal lens has none of these faults."
