"""Lengths on a command line: as in rig files, within limits."""

import pytest
import typer

from seamsight.cli.lengths import length_between, lens_size


@pytest.mark.parametrize(("word", "mm"), [("450", 450), ("22 in", 558.8), ("1 ft 6 in", 457.2)])
def test_length(word, mm):
    assert length_between(20, 600)(word) == pytest.approx(mm)


@pytest.mark.parametrize("word", ["19", "601", "nan", "x", "4,5", "-450"])
def test_no_length(word):
    with pytest.raises(typer.BadParameter, match=word):
        length_between(20, 600)(word)


@pytest.mark.parametrize(
    ("word", "size"),
    [
        ("517x330", (517, 330)),
        ("22 x 14 in", (558.8, 355.6)),
        ("22 in x 330 mm", (558.8, 330)),
        ("51.7 × 33 cm", (517, 330)),
    ],
)
def test_size(word, size):
    assert lens_size(word) == pytest.approx(size)


@pytest.mark.parametrize("word", ["517", "517x", "517x330x2", "10x330", "axb"])
def test_no_size(word):
    with pytest.raises(typer.BadParameter):
        lens_size(word)
