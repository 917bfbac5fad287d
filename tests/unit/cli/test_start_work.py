"""What is read of the words for measures."""

import pytest
import typer

from seamsight.cli.start_work import QUESTIONS

READ = {question.key: question.read for question in QUESTIONS}


@pytest.mark.parametrize(
    ("key", "word", "value"),
    [
        ("screens", " 3 ", 3),
        ("diagonal", "27 in", 685.8),
        ("diagonal", '23 1/2"', 596.9),
        ("aspect", "16 : 9", (16, 9)),
        ("pixels", "1920 x 1080", (1920, 1080)),
        ("bezel", "1 cm", 10),
        ("lens", "650 x 365 mm", (650, 365)),
        ("lens", "650x365", (650, 365)),
        ("lens", "20 in x 30 cm", (508, 300)),
        ("lens", "20 1/2 × 14 in", (520.7, 355.6)),
        ("focal_length", "0.5 m", 500),
        ("eye_height", "4 ft", 1219.2),
    ],
)
def test_words_become_values(key, word, value):
    assert READ[key](word) == pytest.approx(value)


@pytest.mark.parametrize(
    ("key", "word"),
    [
        ("screens", "0"),
        ("screens", "25"),
        ("screens", "three"),
        ("diagonal", "27 inches wide"),
        ("diagonal", "1e9"),
        ("aspect", "16/9"),
        ("pixels", "1080p"),
        ("pixels", "0x5"),
        ("bezel", "-1"),
        ("lens", "650"),
        ("lens", "650 x 365 x 2"),
        ("focal_length", "nan"),
        ("eye_height", ""),
    ],
)
def test_other_words_are_refused_with_what_was_got(key, word):
    with pytest.raises(typer.BadParameter, match="got"):
        READ[key](word)
