"""Rigs tried: each once, rounded, ranked by what they miss and then by the goal."""

import math

import numpy as np
import pytest

from seamsight.scene.freedom import free_values
from seamsight.scene.rig_file import source_of
from seamsight.viewer.studies.choosing_figures import Views
from seamsight.viewer.studies.choosing_tries import Limit, Tries, Try, outside_alone

TEXT = """\
format = 1
name = "one"
[pilot]
eye_point = [0, 0, 0]
[[bank]]
name = "row"
count = 1
radius = 600
screen = { width = 400, height = 300, pixels = [300, 100] }
lens = { focal_length = 300, distance = 150, width = 420, height = 400 }
[[board]]
name = "board"
size = [9, 9, 9]
centre = [0, 300, 0]
"""


def tries(text=TEXT, **free):
    source = source_of("one.toml", text.encode())
    frees = free_values(source.data, free or {"row.lens.distance": "100..400"})
    return Tries(source, {}, frees, Views("design", ("design",)), frozenset(["magnification"]))


def test_rigs_are_tried_once_and_rounded():
    rigs = tries()
    calls = []
    rigs.on_try = lambda: calls.append(1)
    first, second = (rigs.at(np.array([value])) for value in (120.04, 120.0401))
    assert first is second and len(rigs) == 1 and len(calls) == 2
    assert first.figures == {"magnification": pytest.approx(300 / 180, rel=1e-3)}
    assert rigs.changes(first.values) == {"row.lens.distance": pytest.approx(120, abs=0.1)}
    assert first.change == pytest.approx(30 / 300, abs=1e-3)  # from 150, in a range of 300
    assert rigs.as_it_is().figures == {"magnification": 2}
    assert rigs.start == pytest.approx([150])


def test_a_rig_that_breaks_a_rule_misses_more_than_any_other():
    broken = tries().at(np.array([350.0]))
    assert broken.figures is None and broken.loss("magnification") == math.inf
    assert broken.short([]) > Try((1.0,), {"magnification": None}).short(
        [Limit("magnification", 9)]
    )


def test_limits_are_missed_by_so_much_of_a_lot():
    room, width = Limit("head-room", 30), Limit("width", 1000)
    assert room.short({"head-room": 20.0}) == 10 and room.short({"head-room": 30.0}) == 0
    assert width.short({"width": 1250.0}) == 250 and width.short({"width": 900.0}) == 0
    one = Try((1.0,), {"head-room": 20.0, "width": 1250.0})
    assert one.short([room, width]) == pytest.approx(10 / 50 + 250 / 500)
    assert (one.loss("head-room"), one.loss("width")) == (-20, 1250)


def test_what_stands_round_about_is_left_out_unless_it_may_count():
    data = source_of("one.toml", TEXT.encode()).data
    assert "board" not in outside_alone(data, ["row.radius"])
    assert outside_alone(data, ["board.size.1"]) is data
    formula = source_of("one.toml", TEXT.replace("radius = 600", 'radius = "= 2 * 300"').encode())
    assert outside_alone(formula.data, ["row.lens.width"]) is formula.data
    standing = data | {"head": [{"name": "here", "on": "board"}]}
    assert outside_alone(standing, ["row.radius"]) is standing
