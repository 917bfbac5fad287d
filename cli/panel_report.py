"""What is told of a panel: the windows behind its holes, what hides them, as tables and words."""

import itertools
from collections.abc import Iterator

from seamsight.cli.answer import names_words
from seamsight.cli.tables import NumbersTable
from seamsight.viewer.numbers.units import MM, PERCENT, in_words, number_words
from seamsight.viewer.setup.panel import HoleView, Panel

TITLE = "windows behind the holes, in pixels from the screen's top left"
WHOLE = 0.9995  # share of a hole from which it counts as filled


def tables(found: Panel) -> list[NumbersTable]:
    """Return where each window is, and what the plate hides of it."""
    return [_window_table(found), _hidden_table(found)]


def density(view: HoleView) -> tuple[float, float]:
    """Return pixels for each mm, across and down."""
    across, down = view.screen.display.pixels
    width, height = view.screen.size
    return across / width, down / height


def _window_table(found: Panel) -> NumbersTable:
    on_desktop = any(view.on_desktop for view in found.views)
    headings = ["screen", "x", "y", "width", "height", "pixels\nper mm"]
    if on_desktop:
        headings.append("x, y on the\ndesktop")
    rows = []
    for view in found.views:
        window = view.window
        across, down = (number_words(density, 2) for density in density(view))
        cells = [
            view.screen.name,
            *map(str, (window.x, window.y, window.width, window.height)),
            across if across == down else f"{across} × {down}",
        ]
        if on_desktop:
            cells.append(_place_words(view))
        rows.append((view.hole.name, cells))
    title = "Window of each instrument: what at least one eye sees from the design eye point"
    return NumbersTable(title, "hole", tuple(headings), rows)


def _place_words(view: HoleView) -> str:
    """Return a window's place on the desktop, with its size if that is another there."""
    place = view.on_desktop
    if not place:
        return "–"
    size = (place.width, place.height)
    told = f"{place.x}, {place.y}"
    if size == (view.window.width, view.window.height):
        return told
    return f"{told}: {place.width} × {place.height}"


def _hidden_table(found: Panel) -> NumbersTable:
    rows = [
        (
            view.hole.name,
            [in_words(view.stand_off, MM), *_hidden_cells(view), _past_words(view)],
        )
        for view in found.views
    ]
    title = (
        "What the plate hides from the worse eye of the pixels straight behind the hole; and how "
        "many pixels past the window other head positions see"
    )
    headings = ("behind\nplate", "by\ndistance", "by thick\nplate", "sees past the window")
    return NumbersTable(title, "hole", headings, rows, worded=True)


def _hidden_cells(view: HoleView) -> list[str]:
    return [
        in_words(100 * max((by_eye[why] for by_eye in view.hidden.values()), default=0.0), PERCENT)
        if view.hidden
        else "–"
        for why in ("stand_off", "thickness")
    ]


def _past_words(view: HoleView) -> str:
    past = {head: px for head in view.sights if (px := view.past(head))}
    return ", ".join(f"{head} {px}" for head, px in past.items()) or "none"


def sentences(found: Panel) -> Iterator[str]:
    """Yield which holes are not filled, what serves all heads, and which have no screen."""
    for view in found.views:
        if view.filled < WHOLE:
            yield (
                f"{view.hole.name}: an eye sees past the image's edge; {view.screen.name} fills "
                f"{in_words(100 * view.filled, PERCENT)} of what shows through the hole."
            )
    if any(view.everywhere != view.window for view in found.views):
        yield (
            "Where other head positions see past a window, its background shows there: make it "
            "black, or draw the instrument larger (--json has the rectangle for all of them)."
        )
    for plate, holes in itertools.groupby(found.others, key=lambda hole: hole.plate):
        yield (
            f"No screen can be seen through these holes of {plate}: "
            f"{names_words(hole.name for hole in holes)}."
        )
