"""Searches held to problems with a known answer, and trade-off curves to a grid of all rigs.

One screen of width w behind a thin lens of half-width a and focal length f, eyes p either side of
the axis and e before the lens, which is d before the screen. By the thin lens law at the lens's
edge, the right eye sees a + d ((a - p) / e - a / f) beyond the middle (see `margins`); with
k = a / f + (w / 2 - a) / d it sees the edge up to e k = a - p. Whole for both eyes, the head may
move a - p - e k sideways, by similar triangles; M = f / (f - d).
"""

import json
import math

import numpy as np
import pytest

from seamsight.scene import ChoiceError, RigError
from seamsight.scene.freedom import free_values
from seamsight.scene.rig_file import rig_of, source_of
from seamsight.viewer.studies.choosing import Question, Search, goal_of
from seamsight.viewer.studies.choosing_figures import Views
from seamsight.viewer.studies.choosing_tries import Limit

A, E, W, P = 200.0, 400.0, 300.0, 31.5
WHOLE = Limit("seen", 1.0)


def source(focal_length=300.0, distance=150.0, radius=E, more="", **bank):
    """Return a rig file of one screen behind a lens; heights are too large to matter."""
    screen = f"width = {W}, height = 100, pixels = [300, 100], body = 40"
    text = (
        'format = 1\nname = "one"\n[pilot]\neye_point = [0, 0, 0]\n[[head]]\nname = "aside"\n'
        f"offset = [20, 0, 0]\n{more}"
        f'[[bank]]\nname = "row"\ncount = {bank.get("count", 1)}\nradius = {radius}\n'
        f"screen = {{ {screen} }}\n"
        f"lens = {{ focal_length = {focal_length}, distance = {distance}, "
        f"width = {2 * A}, height = 400 }}\n"
    )
    return source_of("one.toml", text.encode())


def asked(free, goals, limits, heads=("design",), seen=1.0, **keys):
    rig = source(**keys)
    frees = tuple(free_values(rig.data, free))
    views = Views("design", heads, seen)
    return Question(rig, {}, frees, views, tuple(goals), tuple(limits))


def chosen(*words, **keys):
    return Search(asked(*words, **keys), lambda looked, most: None).run()


def k_of(d, f=300.0):
    return A / f + (W / 2 - A) / d


def room_of(d, f=300.0):
    return A - P - E * k_of(d, f)


def d_of_room(room, f=300.0):
    # room = a - p - e k, solved for d
    return (W / 2 - A) / ((A - P - room) / E - A / f)


DISTANCE = {"row.lens.distance": "100..280"}


def test_1_most_magnification_with_the_image_whole():
    # (a - p) / e = k: d = (w / 2 - a) / ((a - p) / e - a / f)
    d = d_of_room(0)
    found = chosen(DISTANCE, ["magnification"], [WHOLE])
    assert found.best.changes["row.lens.distance"] == pytest.approx(d, rel=5e-3)
    assert found.best.figures["magnification"] == pytest.approx(300 / (300 - d), rel=5e-3)
    [cost] = found.costs
    # without the constraint: as far from the screen as the range goes
    assert cost.reached and cost.goal_without == pytest.approx(300 / 20, rel=5e-3)


def test_2_most_magnification_with_head_room():
    d = d_of_room(40)
    found = chosen(DISTANCE, ["magnification"], [WHOLE, Limit("head-room", 40)])
    assert found.best.figures["magnification"] == pytest.approx(300 / (300 - d), rel=5e-3)
    assert [cost.reached for cost in found.costs] == [False, True]
    # what head room costs is what problem 1 has more
    assert found.costs[1].goal_without == pytest.approx(300 / (300 - d_of_room(0)), rel=5e-3)


def test_3_shortest_focal_length_with_the_image_whole():
    # a / f = (a - p) / e + (a - w / 2) / d
    f = A / ((A - P) / E + (A - W / 2) / 150)
    found = chosen({"row.lens.focal_length": "200..400"}, ["magnification"], [WHOLE])
    assert found.best.figures["magnification"] == pytest.approx(f / (f - 150), rel=5e-3)


def test_4_most_head_room_with_a_magnification():
    d = 300 * (1 - 1 / 1.8)
    found = chosen(DISTANCE, ["head-room"], [WHOLE, Limit("magnification", 1.8)])
    assert found.best.figures["head-room"] == pytest.approx(room_of(d), rel=5e-3)
    assert found.best.changes["row.lens.distance"] == pytest.approx(d, rel=5e-3)


def test_5_most_magnification_within_a_depth():
    # from the lens's front face to the back of the housing: thickness in front + d + body
    found = chosen(DISTANCE, ["magnification"], [WHOLE, Limit("depth", 200)])
    before = chosen(DISTANCE, ["magnification"], [WHOLE, Limit("depth", 1000)]).before
    in_front = before["depth"] - 150 - 40
    assert 0 <= in_front <= 2
    d = 200 - 40 - in_front
    assert found.best.figures["magnification"] == pytest.approx(300 / (300 - d), rel=5e-3)


def test_6_widest_field_with_head_room():
    # the whole image, M w wide at e + M d, is seen over 2 atan(M w / 2 / (e + M d)); f < e: the
    # more magnified, the wider
    d = d_of_room(40)
    larger = 300 / (300 - d)
    field = 2 * math.degrees(math.atan(larger * W / 2 / (E + larger * d)))
    found = chosen(DISTANCE, ["field"], [WHOLE, Limit("head-room", 40)])
    assert found.best.figures["field"] == pytest.approx(field, rel=5e-3)


def test_7_most_head_room_within_a_width():
    # a is half the width that is allowed; the lens is wider than its screen
    a = 230.0
    room = a - P - E * (a / 300 + (W / 2 - a) / 150)
    found = chosen(
        {"row.lens.width": "320..600"}, ["head-room"], [WHOLE, Limit("width", 2 * a)], seen=1.0
    )
    assert found.best.figures["head-room"] == pytest.approx(room, rel=5e-3)


def test_8_most_head_room_where_sideways_and_forward_are_equal():
    # sideways a - p - e k, forward e, up to the lens: e = (a - p) / (1 + k)
    e = (A - P) / (1 + k_of(150))
    found = chosen({"row.radius": "60..500"}, ["head-room"], [WHOLE])
    assert found.best.figures["head-room"] == pytest.approx(e, rel=5e-3)
    assert found.best.changes["row.radius"] == pytest.approx(e, rel=5e-3)


def test_9_most_magnification_with_the_image_whole_at_two_heads():
    # the right eye of the head 20 mm to the right is p + 20 from the axis
    d = d_of_room(20)
    found = chosen(DISTANCE, ["magnification"], [WHOLE], heads=("design", "aside"))
    assert found.best.figures["magnification"] == pytest.approx(300 / (300 - d), rel=5e-3)


def test_10_most_magnification_with_98_hundredths_seen():
    # the right eye loses w / 50 on the right, and nothing on the left
    d = (W / 2 - W / 50 - A) / ((A - P) / E - A / 300)
    assert A + d * ((A + P) / E - A / 300) - W / 2 > 0
    found = chosen(DISTANCE, ["magnification"], [Limit("seen", 0.98)], seen=0.98)
    assert found.best.figures["magnification"] == pytest.approx(300 / (300 - d), rel=5e-3)


def test_more_magnification_at_one_lens_size_leaves_less_head_room():
    # common practice; and the curve is what no rig of a grid of 10,000 beats by more than 1 %
    free = {"row.lens.distance": "100..280", "row.lens.focal_length": "250..400"}
    found = chosen(free, ["magnification", "head-room"], [WHOLE])
    rooms = [point.figures["head-room"] for point in found.curve]
    magnifications = [point.figures["magnification"] for point in found.curve]
    assert len(rooms) >= 8 and rooms == sorted(rooms)
    assert magnifications == sorted(magnifications, reverse=True)

    d, f = np.meshgrid(np.linspace(100, 280, 100), np.linspace(250, 400, 100))
    possible = (room_of(d, f) >= 0) & (d < f)
    d, f = d[possible], f[possible]
    sideways, larger = room_of(d, f), f / (f - d)
    for room, magnification in zip(rooms, magnifications, strict=True):
        assert room <= A - P
        assert larger[sideways >= room].max(initial=0) <= 1.01 * magnification
        assert sideways[larger >= magnification].max(initial=0) <= max(1.01 * room, room + 0.5)


def test_the_same_question_has_the_same_answer():
    question = asked(DISTANCE, ["magnification", "head-room"], [WHOLE, Limit("head-room", 10)])
    answers = [Search(question, lambda looked, most: None).run() for _ in range(2)]
    assert answers[0] == answers[1]


def test_a_list_is_chosen_from():
    # least focal length of the list that keeps the image whole; 265 is just enough, see problem 3
    lengths = {"row.lens.focal_length": "240,250,270,300"}
    found = chosen(lengths, ["magnification"], [WHOLE])
    assert found.best.changes == {"row.lens.focal_length": 270}
    assert found.before["magnification"] == pytest.approx(300 / 150)


def test_values_that_do_not_matter_stay_as_they_are():
    free = DISTANCE | {"pilot.eye_point.3": "-50..50"}
    found = chosen(free, ["magnification"], [WHOLE])
    assert found.best.changes["pilot.eye_point.3"] == 0


def test_constraints_that_exclude_each_other_are_told_with_the_least_miss():
    limits = [WHOLE, Limit("head-room", 60), Limit("magnification", 3)]
    found = chosen(DISTANCE, ["magnification"], limits)
    missed = {limit.key: by for limit, by in found.missed.items()}
    assert missed and missed.keys() <= {"head-room", "magnification"}
    # either can be had alone: M = 3 at d = 200, where the image is just whole; 60 mm nearer
    helpful = {cost.limit.key for cost in found.costs if cost.goal_without is not None}
    assert helpful == {"head-room", "magnification"}
    assert all(cost.goal_with is None for cost in found.costs)


@pytest.mark.parametrize(
    ("goal", "says"),
    [("dark-strip", "no seam"), ("blur", "an ideal one"), ("corner-light", "an ideal one")],
)
def test_a_goal_that_nothing_can_meet_is_refused(goal, says):
    with pytest.raises(ChoiceError, match=says):
        chosen(DISTANCE, [goal], [WHOLE])
    with pytest.raises(ChoiceError, match="there are field, head-room"):
        goal_of("cheap")


def test_values_of_which_none_makes_a_rig_are_refused():
    with pytest.raises(RigError, match="must be closer to the screen than its focal length"):
        chosen({"row.lens.distance": "310..400"}, ["magnification"], [WHOLE])


def test_the_best_so_far_is_there_when_a_search_is_stopped():
    looked = []

    def stop(done, most):
        looked.append(done)
        if done == 40:
            raise KeyboardInterrupt
        assert done <= most

    search = Search(asked(DISTANCE, ["magnification"], [WHOLE]), stop)
    with pytest.raises(KeyboardInterrupt):
        search.run()
    best = search.best_so_far()
    assert best is not None
    assert best.figures["seen"] == pytest.approx(1)
    assert (best.figures["magnification"] or 0) > 2


def test_the_rig_found_measures_what_was_said():
    found = chosen(DISTANCE, ["magnification"], [WHOLE])
    rig = rig_of(source(), found.best.changes)
    assert json.loads(json.dumps(dict(found.best.changes))) == found.best.changes
    [bank] = rig.bank
    assert bank.lens.separation == found.best.changes["row.lens.distance"]
