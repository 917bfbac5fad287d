"""The search itself: what is better, and that it takes no more rigs than it says."""

from seamsight.scene.freedom import free_values
from seamsight.scene.rig_file import source_of
from seamsight.viewer.studies.choosing_figures import Views
from seamsight.viewer.studies.choosing_search import Task, best_of, budget, searched
from seamsight.viewer.studies.choosing_tries import Limit, Tries, Try

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
"""


def test_constraints_come_first_then_the_goal_then_the_least_change():
    task = Task("field", (Limit("head-room", 10),))
    good = Try((1.0,), {"field": 90.0, "head-room": 10.0}, change=0.5)
    wide = Try((2.0,), {"field": 150.0, "head-room": 9.0})
    narrow = Try((3.0,), {"field": 80.0, "head-room": 99.0})
    nearer = Try((4.0,), {"field": 90.0, "head-room": 10.0}, change=0.1)
    assert best_of([wide, narrow, good], task) is good
    assert best_of([good, nearer, narrow], task) is nearer
    assert best_of([wide, Try((5.0,), None)], task) is wide


def test_a_search_goes_on_from_what_is_known_and_keeps_to_its_budget():
    source = source_of("one.toml", TEXT.encode())
    words = {"row.lens.distance": "100..280", "row.lens.focal_length": "300,350"}
    frees = free_values(source.data, words)
    keys = frozenset(["magnification", "depth"])
    tries = Tries(source, {}, frees, Views("design", ("design",)), keys)
    # M = f / (f - d): the shortest f, and d as far as the depth of 300 lets it
    task = Task("magnification", (Limit("depth", 300),))
    best = searched(tries, task)
    assert best.values[1] == 300 and 255 < best.values[0] < 262
    first = len(tries)
    assert first <= budget(2, first=True) + 2  # and each value put back
    again = searched(tries, task)
    assert task.rank(again) <= task.rank(best)
    assert len(tries) - first <= budget(2, first=False) + 2
