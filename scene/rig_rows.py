"""The tables of a rig file that may be wrong, one by one."""

from collections.abc import Iterator

from seamsight.scene.rig import Rig
from seamsight.scene.rig_words import Data
from seamsight.scene.toml_lines import Path as KeyPath


def rows(data: Data, table: str) -> Iterator[tuple[KeyPath, Data]]:
    """Yield the tables of an array of tables, whatever else stands in its place.

    Those beyond the most there may be are refused unseen.
    """
    found = data.get(table)
    for number, row in enumerate(found[: _most(table)] if isinstance(found, list) else []):
        if isinstance(row, dict):
            yield (table, number), row


def named_rows(data: Data, table: str) -> Iterator[tuple[KeyPath, str, Data]]:
    """Yield the tables that have a name: where that stands, the name, the table."""
    for path, row in rows(data, table):
        name = row.get("name")
        if isinstance(name, str):
            yield (*path, "name"), name, row


def images(row: Data) -> int:
    """Return how many things a table makes: two where it has a mirror image."""
    return 2 if row.get("mirror") else 1


def _most(table: str) -> int:
    """Return how many tables an array of tables may have."""
    [most] = [kept.max_length for kept in Rig.model_fields[table].metadata]
    return int(most)
