"""Tables of numbers as the commands print them, and how wide they may be."""

import os
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

from seamsight.viewer.numbers.quantities import Quantity
from seamsight.viewer.numbers.units import in_words

NARROW = 7  # characters, about those of a value, into which a heading is wrapped
WORD = 14  # characters of a name's longest word that never break
PIPED = 100  # characters, where there is no terminal that has a width, nor COLUMNS

Column = tuple[Quantity, ...]  # a pair shares one column, with "×" between


@dataclass(frozen=True)
class NumbersTable:
    """A table with names on the left and numbers on the right.

    Attributes
    ----------
    title : str
    first : str
        What the names are.
    headings : tuple of str
    rows : sequence of (str, sequence of str or Text)
        Each name, and its cells.
    worded : bool
        Whether the last column has words, which may be wrapped.
    """

    title: str
    first: str
    headings: tuple[str, ...]
    rows: Sequence[tuple[str, Sequence[str | Text]]]
    worded: bool = False


def console_of_width() -> Console:
    """Return the console of standard output; a pipe is as wide as COLUMNS says, or 100."""
    console = Console(highlight=False)
    if console.is_terminal or "COLUMNS" in os.environ:
        return console
    return Console(highlight=False, width=PIPED)


def say(console: Console, sentence: str) -> None:
    """Print a sentence, its lines set in."""
    for number, line in enumerate(Text(sentence).wrap(console, console.width - 4)):
        console.print("  " if number == 0 else "    ", line, sep="")


def print_table(console: Console, table: NumbersTable) -> None:
    """Print a table below its title; in parts, each with all names, where it is too wide."""
    console.print(Text(table.title))
    count = len(table.headings)
    start = 0
    while start < count:
        stop = start + 1
        while stop < count and _fits(console, _part(table, start, stop + 1)):
            stop += 1
        console.print(_part(table, start, stop))
        start = stop


def _fits(console: Console, part: Table) -> bool:
    unbounded = console.options.update(max_width=10 * console.width)
    return Measurement.get(console, unbounded, part).minimum <= console.width


def _part(table: NumbersTable, start: int, stop: int) -> Table:
    """Return the names and some of the columns of a table."""
    words = [word for name, _ in table.rows for word in name.split()]
    part = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    longest = max(map(len, [table.first, *words]))
    part.add_column(table.first, min_width=min(longest, WORD), overflow="fold")
    for number, heading in enumerate(table.headings[start:stop], start=start):
        if table.worded and number == len(table.headings) - 1:
            part.add_column(heading, min_width=NARROW)
            continue
        # a value never breaks
        lines = [*heading.splitlines(), *(str(cells[number]) for _, cells in table.rows)]
        longest = max(map(cell_len, lines))
        part.add_column(heading, justify="right", no_wrap=True, min_width=longest)
    for name, cells in table.rows:
        part.add_row(Text(name), *cells[start:stop])
    return part


def heading(column: Column) -> str:
    """Return a column's heading, in lines so short that a table fits 80 characters."""
    times = "\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}"
    words = times.join(each.heading or each.words for each in column)
    return textwrap.fill(words, NARROW, break_long_words=False).replace(times, " × ")


def cell(tree: Mapping[str, Any], column: Column) -> str:
    """Return what a JSON of numbers has in a column: one dash where it has nothing."""
    if all(each.value(tree) is None for each in column):
        return in_words(None, column[0].unit)
    return " × ".join(each.told(tree) for each in column)
