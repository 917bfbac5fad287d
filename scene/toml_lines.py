"""Where in a TOML file each key and value is. The values themselves are tomllib's business."""

import re
import tomllib
from typing import Any

DEEPEST = 16  # parts of a path; no rig needs more than 6, as plate, 1, holes, 2, at, 0

Path = tuple[str | int, ...]

# possessive, and begun at the start of a word only: else long words take forever
_LONG_KEY = re.compile(
    rf"""(?<![\w-])(?:(?:"[^"\n]*+"|'[^'\n]*+'|[\w-]++)[ \t]*+\.[ \t]*+){{{DEEPEST},}}+"""
)


def long_key_line(source: str) -> int | None:
    """Return the line (from 1) of the first dotted key of more than `DEEPEST` parts, or None.

    tomllib's time grows with the square of their number: 200,000 parts take it hours.
    """
    found = _LONG_KEY.search(source)
    return source.count("\n", 0, found.start()) + 1 if found else None


def key_lines(source: str) -> dict[Path, int]:
    """Return the line (from 1) of every table, key and array item of a valid TOML text.

    What lies deeper than `DEEPEST` is left out.

    Parameters
    ----------
    source : str
        A text that tomllib accepts, without long keys.

    Returns
    -------
    dict
        From a path of keys and array positions, as `("screen", 1, "pixels", 0)`, to its line.
    """
    return _Index(source.encode()).lines


def value_spans(content: bytes) -> dict[Path, tuple[int, int]]:
    """Return from which byte to which each value of a valid TOML file is written, by its path."""
    return _Index(content).spans


class _Index:
    """The lines and spans of a file, and how many tables of each array of tables."""

    def __init__(self, content: bytes) -> None:
        import tree_sitter_toml
        from tree_sitter import Language, Parser

        self.lines: dict[Path, int] = {}
        self.spans: dict[Path, tuple[int, int]] = {}
        self._newest: dict[Path, int] = {}
        root = Parser(Language(tree_sitter_toml.language())).parse(content).root_node
        self.pairs(root, ())
        for node in root.named_children:
            if node.type in ("table", "table_array_element"):
                self.table(node)

    def mark(self, path: Path, node: Any) -> None:
        for length in range(1, len(path) + 1):
            self.lines.setdefault(path[:length], node.start_point[0] + 1)

    def value(self, node: Any, path: Path) -> None:
        if len(path) > DEEPEST:
            return
        self.mark(path, node)
        self.spans[path] = node.start_byte, node.end_byte
        if node.type == "array":
            for number, item in enumerate(_without_comments(node)):
                self.value(item, (*path, number))
        elif node.type == "inline_table":
            self.pairs(node, path)

    def pairs(self, node: Any, base: Path) -> None:
        for pair in (child for child in node.named_children if child.type == "pair"):
            key, *values = _without_comments(pair)
            path = base + _keys(key)
            self.mark(path, pair)
            for item in values:
                self.value(item, path)

    def table(self, node: Any) -> None:
        path: Path = ()
        *parents, last = _keys(node.named_children[0])
        for key in parents:  # a dotted header continues the newest table of an array
            path = (*path, key)
            path = (*path, self._newest[path]) if path in self._newest else path
        path = (*path, last)
        if node.type == "table_array_element":
            self._newest[path] = self._newest.get(path, -1) + 1
            path = (*path, self._newest[path])
        self.mark(path, node)
        self.lines[path] = node.start_point[0] + 1
        self.pairs(node, path)


def _without_comments(node: Any) -> list[Any]:
    return [child for child in node.named_children if child.type != "comment"]


def _keys(node: Any) -> tuple[str, ...]:
    """Return the words of a key node: one, or several where it is dotted."""
    if node.type == "dotted_key":
        return tuple(word for child in node.named_children for word in _keys(child))
    text = node.text.decode()
    return (tomllib.loads(f"key = {text}")["key"] if text[0] in "\"'" else text,)
