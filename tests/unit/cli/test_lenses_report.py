"""What `lenses` prints of what was tried."""

import dataclasses

import pytest

from seamsight.cli.lenses_report import lens_words, print_choices
from seamsight.viewer.studies.lens_choice import KindFigures, Tried
from seamsight.viewer.studies.lens_filling import Lens

LENS = Lens((558.8, 330), 450)
IDEAL = KindFigures("ideal", {"h": 46.2, "v": 31.0}, 8.1, 0.7, 1.0, 0.0, 0.0)
STOCK = KindFigures("stock, grooves to the screen", {"h": 45.1, "v": 30.9}, 9, 0.6, 0.84, 1.53, 0.4)
ROOM = {"left": 12.4, "right": 13.6, "forward": 55.0, "back": 17.0}
WHOLE = Tried(LENS, 150.2, 1.5, (), (IDEAL, STOCK), ROOM)
NONE = Tried(LENS, None, None, ("no distance will do",))


@pytest.fixture
def printed(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")

    def of(*found):
        print_choices("a rig", list(found))
        return " ".join(capsys.readouterr().out.split())

    return of


def test_lens_words():
    assert lens_words(LENS).replace("\xa0", " ") == "558.8 × 330 mm with a focal length of 450 mm"


def test_a_row_and_a_block_for_each(printed):
    text = printed(WHOLE)
    assert "558.8×330, f 450 150.2 mm 1.50 × 46.2° × 31.0° 8.1 mm 0.70° 12/14 mm 55/17 mm" in text
    assert "screen 45.1° × 30.9° 9.0 mm 0.60° 84 % 0.40° 1.5′" in text
    assert "Its corners keep 84 % of the light, a point there is blurred to 1.5′, and" in text
    assert "impossible" not in text


def test_what_is_impossible_has_a_reason_and_no_row(printed):
    text = printed(NONE)
    assert text.startswith("a rig A lens of 558.8 × 330 mm with a focal length of 450 mm is")
    assert "impossible: no distance will do." in text
    assert "Both eyes" not in text


def test_what_is_not_known_is_a_dash(printed):
    kind = dataclasses.replace(STOCK, dark=None, blur=None, distortion=None)
    text = printed(dataclasses.replace(WHOLE, kinds=(IDEAL, kind), head_room=None))
    assert "30.9° 9.0 mm – 84 % – –" in text
    assert "Head room:" not in text and "of the light; the ideal lens" in text


def test_parts_that_must_move_are_named(printed):
    pairs = (
        ("sill", "row.1"),
        ("sill", "row.2"),
        ("brow", "row.1"),
        ("brow", "row.2"),
        ("post", "row.2"),
    )
    text = printed(dataclasses.replace(WHOLE, runs_into=pairs))
    assert "must move: sill and row.1; sill and row.2; brow and row.1; and 2 more." in text
