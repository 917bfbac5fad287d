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

_PART_TABLES = ("screen", "bank", "board", "plate", "mesh")
_LET_IN = ("screen", "board", "plate", "mesh")
_STANDING = ("screen", "board", "plate", "mesh", "mark", "head")


def part_names(data: Data) -> Iterator[tuple[KeyPath, str]]:
    """Yield the names of all parts that a file makes, a screen's own too, and of its banks."""
    mirrors = _mirrors(data)
    for path, row in rows(data, "lens"):
        screen = row.get("screen")
        if isinstance(screen, str):
            for unit in dict.fromkeys((screen, mirrors.get(screen, screen))):
                yield from (((*path, "screen"), board) for board in _built_names(unit, row))

    for table in _PART_TABLES:
        own = OWN_ROLES if table in ("screen", "bank") else ()
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
    for place, part, below in found:
        missing = [one for one in below if one not in known]
        if missing:
            hint_ = hint(missing[0], known)
            yield Finding(place, f"there is nothing called {shown(missing[0])} to stand on{hint_}")
        elif part and _rests_on(part, stands):
            yield Finding(place, f"{shown(part)} would stand on itself: they go round in a circle")


def _let_into_rules(data: Data, known: set[str]) -> Iterator[Finding]:
    for table in _LET_IN:
        for path, _, row in named_rows(data, table):
            into = row.get("in")
            if isinstance(into, str) and into not in known:
                hint_ = hint(into, known)
                yield Finding(
                    (*path[:2], "in"), f"there is nothing called {shown(into)} to be in{hint_}"
                )


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


def _rests_on(part: str, stands: dict[str, list[str]]) -> bool:
    """Return whether a part stands on itself, by way of others and their own parts."""
    waiting, seen = list(stands[part]), set()
    while waiting:
        below = waiting.pop()
        owners = [one for one in stands if below == one or below.startswith(f"{one} ")]
        if part in owners:
            return True
        for owner in owners:
            if owner not in seen:
                seen.add(owner)
                waiting += stands[owner]
    return False
