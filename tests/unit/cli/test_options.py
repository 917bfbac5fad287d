"""From a command line's words to values: the endings of files to write."""

from pathlib import Path

import pytest
import typer

from seamsight.cli.options import require_ending


def test_an_ending_may_have_capitals():
    assert require_ending(Path("a/b.c/Shapes.STL"), (".glb", ".stl"), "FILE") == ".stl"


@pytest.mark.parametrize(
    ("endings", "words"),
    [
        ((".md",), "must end in .md (got page.csv)"),
        ((".html", ".htm"), "must end in .html or .htm (got page.csv)"),
        ((".pdf", ".svg", ".dxf"), "must end in .pdf, .svg or .dxf (got page.csv)"),
    ],
)
def test_another_ending_is_refused_with_the_option_that_it_was_given_for(endings, words):
    with pytest.raises(typer.BadParameter) as refused:
        require_ending(Path("folder/page.csv"), endings, "--picture")
    assert (refused.value.message, refused.value.param_hint) == (words, "--picture")
