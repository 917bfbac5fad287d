"""On which line of a TOML file each key stands. The values themselves are tomllib's business."""

import tomllib
from typing import Any

Path = tuple[str | int, ...]


def key_lines(source: str) -> dict[Path, int]:
    """Return the line (from 1) of every table, key and array item of a valid TOML text.

    Parameters
    ----------
    source : str
        A text that tomllib accepts.

    Returns
    -------
    dict
        From a path of keys and array positions, as `("screen", 1, "pixels", 0)`, to its line.
    """
    import tree_sitter_toml
    from tree_sitter import Language, Parser

    lines: dict[Path, int] = {}
    counts: dict[Path, int] = {}  # tables seen so far of each array of tables

    def mark(path: Path, node: Any) -> None:
        for length in range(1, len(path) + 1):
            lines.setdefault(path[:length], node.start_point[0] + 1)

    def value(node: Any, path: Path) -> None:
        mark(path, node)
        if node.type == "array":
            items = [child for child in node.named_children if child.type != "comment"]
            for number, item in enumerate(items):
                value(item, (*path, number))
        elif node.type == "inline_table":
            pairs(node, path)

    def pairs(node: Any, base: Path) -> None:
        for pair in (child for child in node.named_children if child.type == "pair"):
            key, item = (child for child in pair.named_children if child.type != "comment")
            path = base + _keys(key)
            mark(path, pair)
            value(item, path)

    def table(node: Any) -> None:
        keys = _keys(node.named_children[0])
        path: Path = ()
        for key in keys[:-1]:  # a dotted header continues the newest table of an array
            path = (*path, key)
            path = (*path, counts[path]) if path in counts else path
        path = (*path, keys[-1])
        if node.type == "table_array_element":
            counts[path] = counts.get(path, -1) + 1
            path = (*path, counts[path])
        mark(path, node)
        lines[path] = node.start_point[0] + 1
        pairs(node, path)

    root = Parser(Language(tree_sitter_toml.language())).parse(source.encode()).root_node
    pairs(root, ())
    for node in root.named_children:
        if node.type in ("table", "table_array_element"):
            table(node)
    return lines


def _keys(node: Any) -> tuple[str, ...]:
    """Return the words of a key node: one, or several where it is dotted."""
    if node.type == "dotted_key":
        return tuple(word for child in node.named_children for word in _keys(child))
    text = node.text.decode()
    return (tomllib.loads(f"key = {text}")["key"] if text[0] in "\"'" else text,)
