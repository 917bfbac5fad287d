"""What a rig file's parts are called, and whether what they stand on is there."""

from collections.abc import Iterator, Sequence

from seamsight.scene.carcass import board_names
from seamsight.scene.layout import unit_name
from seamsight.scene.parts import OWN_ROLES, own_part_name
from seamsight.scene.places import PILOT, SEAM
from seamsight.scene.rig import MOST_UNITS
from seamsight.scene.rig_rows import named_rows, rows
from seamsight.scene.rig_words import Data, Finding, hint, shown
from seamsight.scene.solids import Hood
from seamsight.scene.toml_lines import Path as KeyPath

MOST_LEVELS = 32  # things that stand on one another
MOST_HINTS = 100  # things that stand on others up to which each wrong one gets a hint

_PART_TABLES = ("screen", "bank", "board", "plate", "mesh", "lamp")
_LET_IN = ("screen", "board", "plate", "mesh", "lamp")
_STANDING = (*_LET_IN, "mark", "head")
_OWN_ROLES = {"screen": OWN_ROLES, "bank": OWN_ROLES, "lamp": ("housing",)}


def part_names(data: Data) -> Iterator[tuple[KeyPath, str]]:
    """Yield the names of all parts that a file makes, a screen's own too, and of its banks."""
    mirrors = _mirrors(data)
    for path, row in rows(data, "lens"):
        screen = row.get("screen")
        if isinstance(screen, str):
            for unit in dict.fromkeys((screen, mirrors.get(screen, screen))):
                yield from (((*path, "screen"), board) for board in _built_names(unit, row))

    for table in _PART_TABLES:
        own = _OWN_ROLES.get(table, ())
        for path, name, row in named_rows(data, table):
            units = [name]
            count = row.get("count")
            if table == "bank" and isinstance(count, int):
                numbers = range(1, min(count, MOST_UNITS) + 1)
                units += [unit_name(name, number) for number in numbers]
            if isinstance(row.get("mirror"), str):
                units.append(row["mirror"])
            for unit in units:
                yield path, unit
                yield from ((path, own_part_name(unit, role)) for role in own)
            for unit in units if table == "bank" else ():
                yield from ((path, board) for board in _built_names(unit, row))


def place_rules(data: Data) -> Iterator[Finding]:
    """Yield that something stands on, or is let into, what is not there, or things in a circle."""
    known = {PILOT, *(name for _, name in part_names(data))}
    stands: dict[str, list[str]] = {image: [name] for name, image in _mirrors(data).items()}
    found = []
    for table in _STANDING:
        for path, name, row in named_rows(data, table):
            on = row.get("on")
            if isinstance(on, str):
                below = on.split(SEAM) if SEAM in on else [on]
                part = name if table in _PART_TABLES else None
                found.append(((*path[:2], "on"), part, below))
                stands |= {part: below} if part else {}

    yield from _let_into_rules(data, known - {PILOT})
    upon = _parts_below(stands)
    circles = {part for part in upon if part in _all_below(part, upon)}
    for place, part, below in found:
        missing = [one for one in below if one not in known]
        if missing:
            hints = known if len(found) <= MOST_HINTS else ()
            hint_ = hint(missing[0], hints)
            yield Finding(place, f"there is nothing called {shown(missing[0])} to stand on{hint_}")
        elif part in circles:
            yield Finding(place, f"{shown(part)} would stand on itself: they go round in a circle")
        elif part and _levels(part, upon, circles) >= MOST_LEVELS:
            what = f"{shown(part)} stands on more than {MOST_LEVELS} things, one upon the other"
            yield Finding(place, what)


def _let_into_rules(data: Data, known: set[str]) -> Iterator[Finding]:
    let_in = [
        ((*path[:2], "in"), row["in"])
        for table in _LET_IN
        for path, _, row in named_rows(data, table)
        if isinstance(row.get("in"), str)
    ]
    hints = known if len(let_in) <= MOST_HINTS else ()
    for place, into in let_in:
        if into not in known:
            hint_ = hint(into, hints)
            yield Finding(place, f"there is nothing called {shown(into)} to be in{hint_}")


def _built_names(unit: str, row: Data) -> list[str]:
    """Return the names of the boards that a lens's or bank's carcass and hood stand for."""
    hood = row.get("hood")
    sides = hood.get("sides", Hood.model_fields["sides"].default) if isinstance(hood, dict) else ()
    named = [side for side in sides if isinstance(side, str)] if isinstance(sides, Sequence) else []
    return board_names(unit, isinstance(row.get("carcass"), dict), tuple(named))


def _mirrors(data: Data) -> dict[str, str]:
    """Return the names of all mirror images, by what they are of."""
    return {
        name: row["mirror"]
        for table in _PART_TABLES
        for _, name, row in named_rows(data, table)
        if isinstance(row.get("mirror"), str)
    }


def _parts_below(stands: dict[str, list[str]]) -> dict[str, set[str]]:
    """Return on which parts each stands, itself or by way of a part's own parts."""
    owners: dict[str, set[str]] = {}
    for below in {one for others in stands.values() for one in others}:
        words = below.split(" ")
        names = (" ".join(words[:count]) for count in range(1, len(words) + 1))
        owners[below] = {name for name in names if name in stands}
    return {part: set().union(*(owners[one] for one in below)) for part, below in stands.items()}


def _all_below(part: str, upon: dict[str, set[str]]) -> set[str]:
    """Return all that a part stands on, by way of others too; itself where it is a circle."""
    waiting = list(upon[part])
    seen = set(waiting)
    while waiting:
        further = upon[waiting.pop()] - seen
        seen |= further
        waiting += further
    return seen


def _levels(part: str, upon: dict[str, set[str]], circles: set[str]) -> int:
    """Return how many parts that stand on others are below a part, one upon the other."""
    layer = upon[part] - circles
    for count in range(MOST_LEVELS):
        if not layer:
            return count
        layer = set().union(*(upon[one] for one in layer)) - circles
    return MOST_LEVELS
