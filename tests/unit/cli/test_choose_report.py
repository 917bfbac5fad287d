"""What `choose` says: constraints in words, and which exclude each other by how much."""

from seamsight.cli.choose_report import conflict_words, limit_words
from seamsight.viewer.studies.choosing import Answer, Cost, Point
from seamsight.viewer.studies.choosing_tries import Limit

ROOM, SEEN, WIDTH = Limit("head-room", 60), Limit("seen", 0.98), Limit("width", 900)


def answer(without):
    figures = {"head-room": 50.0, "seen": 0.98, "width": 912.5}
    costs = tuple(Cost(limit, None, without.get(limit), False) for limit in (ROOM, SEEN, WIDTH))
    return Answer({}, None, Point({}, figures), {ROOM: 10.0, WIDTH: 12.5}, costs)


def test_constraints_in_words():
    assert limit_words(ROOM) == "head room at least 60.0 mm"
    assert limit_words(SEEN) == "share of the least seen screen at least 98.0 %"
    assert limit_words(WIDTH) == "width of the screens at most 900.0 mm"
    assert limit_words(Limit("hide", 0.0)) == "no strip in which hidden parts show"


def test_which_constraints_exclude_each_other_and_by_how_much():
    words = conflict_words(answer({ROOM: 1.5, WIDTH: 1.2}))
    assert "the head room is 10.0 mm too little" in words
    assert "the width of the screens is 12.5 mm too much" in words
    assert words.endswith(f"done: {limit_words(ROOM)}; {limit_words(WIDTH)}")
    assert "without this one: width" in conflict_words(answer({WIDTH: 1.2}))
    assert conflict_words(answer({})).endswith("Leaving out a single one does not help")
