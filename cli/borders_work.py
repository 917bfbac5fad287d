"""The work of `borders`: pixels to keep black, as a table or as JSON."""

import dataclasses
from collections.abc import Iterator

from seamsight.cli import options
from seamsight.cli.answer import names_words
from seamsight.cli.arguments import RigWords
from seamsight.cli.output import print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import Head
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.units import DEGREES, in_words
from seamsight.viewer.studies.borders import Border, borders


def print_borders(rig_words: RigWords, names: list[str], *, as_json: bool) -> None:
    """Print which pixels to keep black so that heads see the rest with both eyes."""
    rig = options.read(rig_words)
    heads = [options.head(rig, name) for name in names] or list(rig.heads().values())
    found = borders(options.with_outside_view(rig), heads)
    if as_json:
        screens = {name: dataclasses.asdict(border) for name, border in found.items()}
        heads_told = [head.name for head in heads]
        print_json({"rig": rig.name, "heads": heads_told, "screens": screens})
    else:
        _print(rig.name, heads, found)


def _print(rig: str, heads: list[Head], found: dict[str, Border]) -> None:
    console = console_of_width()
    say(console, f"{rig}, for these head positions: {', '.join(head.name for head in heads)}")
    rows = [
        (
            name,
            [
                *(str(border.px[side]) for side in SIDES),
                _field(border.field),
                _field(border.left),
            ],
        )
        for name, border in found.items()
    ]
    headings = (*SIDES, "field of\nview before", "and after")
    title = "Pixels to keep black at each edge, and what of the image is left"
    print_table(console, NumbersTable(title, "screen", headings, rows))

    for head in heads:
        for sentence in _sentences(head.name, found):
            say(console, sentence)


def _field(angles: dict[str, float | None]) -> str:
    return " × ".join(in_words(angles[way], DEGREES) for way in ("h", "v"))


def _sentences(head: str, found: dict[str, Border]) -> Iterator[str]:
    """Yield where a head is the one that asks for the border, and which screens do not serve it."""
    asking = {
        side: [name for name, border in found.items() if border.head[side] == head]
        for side in SIDES
    }
    places = [f"{side} of {names_words(names)}" for side, names in asking.items() if names]
    if places:
        yield f'"{head}" needs these borders: {"; ".join(places)}.'
    lost = [name for name, border in found.items() if head in border.unserved]
    if lost:
        yield (
            f'No border serves "{head}" at {names_words(lost)}: an eye is beside or behind it, or '
            "sees too little of it."
        )
