"""Tables of numbers as the commands print them."""

import textwrap
from collections.abc import Mapping
from typing import Any

from rich import box
from rich.table import Table

from seamsight.viewer.numbers.quantities import Quantity
from seamsight.viewer.numbers.units import in_words

NARROW = 7  # characters, about those of a value, into which a heading is wrapped

Column = tuple[Quantity, ...]  # a pair stands in one column, with "×" between


def numbers_table(first: str, *headings: str) -> Table:
    """Return an empty table with names on the left, under `first`, and numbers on the right."""
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    table.add_column(first, min_width=9, overflow="fold")
    for heading in headings:
        table.add_column(heading, justify="right", no_wrap=True)
    return table


def heading(column: Column) -> str:
    """Return what stands above a column, in lines so short that a table fits 80 characters."""
    times = "\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}"
    words = times.join(each.heading or each.words for each in column)
    return textwrap.fill(words, NARROW, break_long_words=False).replace(times, " × ")


def cell(tree: Mapping[str, Any], column: Column) -> str:
    """Return what a JSON of numbers has in a column: one dash where it has nothing."""
    if all(each.value(tree) is None for each in column):
        return in_words(None, column[0].unit)
    return " × ".join(each.told(tree) for each in column)
