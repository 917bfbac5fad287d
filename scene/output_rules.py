"""Whether a rig file's outputs feed screens that are there, each only once."""

from collections.abc import Iterator

from seamsight.scene.layout import unit_name
from seamsight.scene.rig import MOST_UNITS
from seamsight.scene.rig_rows import named_rows, rows
from seamsight.scene.rig_words import Data, Finding, hint, shown


def output_rules(data: Data) -> Iterator[Finding]:
    """Yield that two outputs have one name, that a screen is not there, or is fed twice."""
    known = set(_screen_names(data))
    fed: dict[str, str] = {}
    names: set[str] = set()
    for number, (path, row) in enumerate(rows(data, "output"), start=1):
        name = row.get("name")
        if isinstance(name, str):
            if name in names:
                yield Finding((*path, "name"), f"the name {shown(name)} is used twice")
            names.add(name)

        # look after each of its screens
        called = f"output {shown(name)}" if isinstance(name, str) else f"output #{number}"
        screens = row.get("screens")
        for item, screen in enumerate(screens if isinstance(screens, list) else []):
            if not isinstance(screen, str):
                continue
            place = (*path, "screens", item)
            if screen not in known:
                yield Finding(place, f"there is no screen {shown(screen)}{hint(screen, known)}")
            elif screen in fed:
                yield Finding(place, f"screen {shown(screen)} is fed by {fed[screen]} already")
            fed.setdefault(screen, called)


def _screen_names(data: Data) -> Iterator[str]:
    """Yield what all screens are called, mirror images and those of banks too."""
    for _, name, row in named_rows(data, "screen"):
        yield name
        if isinstance(row.get("mirror"), str):
            yield row["mirror"]
    for _, name, row in named_rows(data, "bank"):
        count = row.get("count")
        for number in range(1, min(count, MOST_UNITS) + 1) if isinstance(count, int) else ():
            yield unit_name(name, number)
