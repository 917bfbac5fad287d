"""What `choose` prints: values and figures side by side, constraints, the curve, sentences."""

import sys
from collections.abc import Iterator

from rich.console import Console

from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene.freedom import Free
from seamsight.scene.rig import Rig
from seamsight.viewer.numbers.lens_models import optics_of_rig
from seamsight.viewer.numbers.units import MM, in_words, number_words
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.studies.choosing import Answer, Cost, Point, Question
from seamsight.viewer.studies.choosing_figures import FIGURES
from seamsight.viewer.studies.choosing_proof import Proof
from seamsight.viewer.studies.choosing_tries import Figures, Limit

MOST_PAIRS = 3  # of parts that run into each other
HARDLY = 1.0  # mm of head room; less of a difference needs no sentence


def print_answer(rig: Rig, question: Question, answer: Answer, best: Point, proved: Proof) -> None:
    """Print what was found."""
    console = console_of_width()
    say(console, f"{rig.name}, from head position {head_words(rig.heads()[question.views.head])}")
    _print_values(console, question, answer, best)
    _print_figures(console, question, answer, best)
    _print_costs(console, question, answer)
    if answer.curve:
        _print_curve(console, question, answer)
    for sentence in _sentences(rig, best, proved):
        say(console, sentence)


def print_so_far(question: Question, best: Point | None) -> None:
    """Say on standard error that a search was stopped, and what was best by then."""
    values = "no rig that can be built was found yet"
    if best:
        frees = question.frees
        values = ", ".join(f"{free.path} = {best.changes[free.path]:g}" for free in frees)
        values = f"the best so far: {values}; {_told(best.figures, question.goals[0])}"
    print(f"stopped; {values}", file=sys.stderr)


def conflict_words(answer: Answer) -> str:
    """Return that constraints exclude each other, which, and by how much."""
    missed = " and ".join(_missed_words(limit, by) for limit, by in answer.missed.items())
    words = f"no values that are allowed keep all constraints; with the nearest, {missed}"
    helpful = [cost.limit for cost in answer.costs if cost.goal_without is not None]
    if len(helpful) > 1:
        listed = "; ".join(map(limit_words, helpful))
        words += f". These exclude each other, and without any one of them it can be done: {listed}"
    elif helpful:
        words += f". It can be done without this one: {limit_words(helpful[0])}"
    else:
        words += ". Leaving out a single one does not help"
    return words


def limit_words(limit: Limit) -> str:
    """Return a constraint in words, such as "head room at least 50.0 mm"."""
    figure = FIGURES[limit.key]
    if limit.key == "hide":
        return "no strip in which hidden parts show"
    most = "at least" if figure.better == "more" else "at most"
    return f"{figure.words} {most} {_in_words(limit.key, limit.value)}"


def _missed_words(limit: Limit, by: float) -> str:
    figure = FIGURES[limit.key]
    way = "too little" if figure.better == "more" else "too much"
    return f"the {figure.words} is {_in_words(limit.key, by)} {way}"


def _in_words(key: str, value: float | None) -> str:
    unit = FIGURES[key].unit
    return in_words(None if value is None else value * unit.scale, unit)


def _told(figures: Figures, key: str) -> str:
    return f"{FIGURES[key].words} {_in_words(key, figures[key])}"


def _print_values(console: Console, question: Question, answer: Answer, best: Point) -> None:
    rows = []
    for free in question.frees:
        now = answer.now[free.path]
        end = answer.at_ends.get(free.path) if best == answer.best else None
        note = f"{end}est allowed" if end else ""
        rows.append((free.path, [_value(free, now), _value(free, best.changes[free.path]), note]))
    headings = ("as it is", _called(answer), "")
    print_table(console, NumbersTable("Values", "path", headings, rows, worded=True))


def _called(answer: Answer) -> str:
    return "nearest" if answer.missed else "best"


def _value(free: Free, value: float | None) -> str:
    if value is None:
        return "–"
    space = "" if free.unit == "°" else " "
    digits = 2 if free.choices else max(0, free.digits)
    return f"{number_words(value, digits)}{space}{free.unit}".strip()


def _print_figures(console: Console, question: Question, answer: Answer, best: Point) -> None:
    limits = {limit.key: limit for limit in question.limits}
    rows = []
    for key in (key for key in FIGURES if key in best.figures and key != "clash"):
        now = answer.before[key] if answer.before else None
        least = "at least" if FIGURES[key].better == "more" else "at most"
        asked = f"{least} {_in_words(key, limits[key].value)}" if key in limits else ""
        if key in question.goals:
            way = "as large" if FIGURES[key].better == "more" else "as small"
            asked = ", ".join(filter(None, [f"{way} as can be", asked]))
        rows.append(
            (FIGURES[key].words, [_in_words(key, now), _in_words(key, best.figures[key]), asked])
        )
    headings = ("as it is", _called(answer), "asked for")
    print_table(console, NumbersTable("What they come to", "figure", headings, rows, worded=True))


def _print_costs(console: Console, question: Question, answer: Answer) -> None:
    goal = question.goals[0]
    rows = [(limit_words(cost.limit), _cost_cells(goal, cost)) for cost in answer.costs]
    title = f"What each constraint costs: {FIGURES[goal].words}, the best there is"
    headings = ("with it", "without it", "")
    print_table(console, NumbersTable(title, "constraint", headings, rows, worded=True))


def _cost_cells(goal: str, cost: Cost) -> list[str]:
    note = "reached" if cost.reached else "costs nothing"
    if cost.goal_with is None:
        note = "" if cost.goal_without is None else "excludes others"
    return [_in_words(goal, cost.goal_with), _in_words(goal, cost.goal_without), note]


def _print_curve(console: Console, question: Question, answer: Answer) -> None:
    rows = []
    for number, point in enumerate(answer.curve, start=1):
        name = f"{number} (middle)" if point == answer.best else f"{number}"
        goals = [_in_words(goal, point.figures[goal]) for goal in question.goals]
        values = [_value(free, point.changes[free.path]) for free in question.frees]
        rows.append((name, [*goals, *values]))
    headings = tuple(FIGURES[goal].words.replace(" of ", "\nof ") for goal in question.goals)
    headings += tuple(free.path.replace(".", ".\n") for free in question.frees)
    print_table(console, NumbersTable("Trade-off curve", "rig", headings, rows))


def _sentences(rig: Rig, best: Point, proved: Proof) -> Iterator[str]:
    """Yield what the figures leave out: parts in the way, parts that run into each other."""
    for head, text in proved.in_the_way.items():
        yield f'With all parts in place, at head position "{head}", {text}.'
    room = best.figures.get("head-room")
    if room is not None and proved.head_room < room - HARDLY and not proved.in_the_way:
        yield (
            f"With all parts in place the head may move {in_words(proved.head_room, MM)}; then "
            f"{proved.stopped_by} is in the way."
        )
    if room is not None and any(optic.model == "grooved" for optic in optics_of_rig(rig)):
        yield "Head room is that of ideal lenses; `head-box` tells it for the lenses of the file."
    if proved.runs_into:
        pairs = [" and ".join(pair) for pair in proved.runs_into]
        more = len(pairs) - MOST_PAIRS
        told = "; ".join(pairs[:MOST_PAIRS]) + (f"; and {more} more" if more > 0 else "")
        yield f"Parts that would now run into each other, so that one must move: {told}."
