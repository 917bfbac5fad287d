"""The code stays easy to read: what the linters do not count."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = sorted(
    path for folder in ("scene", "viewer", "cli") for path in (ROOT / folder).rglob("*.py")
)
MOST_LINES = 400  # of a file
MOST_IN_BODY = 50  # lines of a function without its docstring


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_files_and_functions_are_short(file):
    text = file.read_text("utf-8")
    assert len(text.splitlines()) <= MOST_LINES
    too_long = [
        node.name
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and body_lines(node) > MOST_IN_BODY
    ]
    assert not too_long


def body_lines(function):
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0
