"""The tables of a rig file, whatever stands in their place."""

import pytest

from seamsight.scene.rig_rows import named_rows, rows


@pytest.mark.parametrize("screens", [None, 3, "x", {"name": "a"}, [3, "x", None]])
def test_what_is_no_table_is_passed_by(screens):
    assert list(rows({"screen": screens}, "screen")) == []


def test_tables_come_with_their_places_up_to_the_most_there_may_be():
    found = list(rows({"screen": [3, {"name": "a"}, *[{}] * 100]}, "screen"))
    assert found[0] == (("screen", 1), {"name": "a"})
    assert len(found) == 47


def test_only_those_with_a_name():
    screens = [{"name": "a"}, {"name": 3}, {}]
    found = list(named_rows({"screen": screens}, "screen"))
    assert found == [(("screen", 0, "name"), "a", screens[0])]
