"""The best values for a rig: a search with goals and constraints, and what each of these costs.

With two goals there is no best rig but a curve: no rig that is better for one goal than one of its
points is as good for the other. It is found by a sweep of constraints: the best for the first goal
among those that reach so much of the second.
"""

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from seamsight.scene.errors import ChoiceError
from seamsight.scene.freedom import Free
from seamsight.scene.rig_file import RigSource, rig_of
from seamsight.viewer.studies.choosing_figures import FIGURES, GOALS, Views
from seamsight.viewer.studies.choosing_search import Task, best_of, budget, searched
from seamsight.viewer.studies.choosing_tries import Figures, Limit, Tries, Try, refuse_without

POINTS = 11  # of a trade-off curve
CLASH = Limit("clash", 0.05)  # mm; always kept, as neighbours that touch may be this much off
AT_LIMIT = 0.01  # of a lot of a figure, within which a constraint counts as reached
NO_COST = 2e-3  # of a goal; what costs less costs nothing, as searches differ by about as much
SAME = 1e-6  # of a figure; points of a curve that differ by less are one


@dataclass(frozen=True)
class Question:
    """What to choose.

    Attributes
    ----------
    source : RigSource
    given : dict
        Changes of the file's values that hold for all.
    frees : tuple of Free
    views : Views
    goals : tuple of str
        One or two keys of `GOALS`.
    limits : tuple of Limit
    """

    source: RigSource
    given: Mapping[str, Any]
    frees: tuple[Free, ...]
    views: Views
    goals: tuple[str, ...]
    limits: tuple[Limit, ...]

    @property
    def kept(self) -> tuple[Limit, ...]:
        """All constraints, those that nobody needs to ask for too."""
        return (*self.limits, CLASH)


@dataclass(frozen=True)
class Point:
    """A rig that was found: the changes that make it, by their paths, and its figures."""

    changes: Mapping[str, float]
    figures: Figures


@dataclass(frozen=True)
class Cost:
    """What a constraint costs.

    Attributes
    ----------
    limit : Limit
    goal_with, goal_without : float or None
        The best that the first goal can be with all constraints, and with all others; None where
        nothing keeps them.
    reached : bool
        Whether the rig that is best so has just as much as it asks for, and would be better with
        less.
    """

    limit: Limit
    goal_with: float | None
    goal_without: float | None
    reached: bool


@dataclass(frozen=True)
class Answer:
    """What was found.

    Attributes
    ----------
    now : dict
        {path: what a free value is in the rig as it is, None where nothing in particular}.
    before : Figures or None
        Of the rig as it is; None for one that its own rules forbid.
    best : Point
        Nearest to what was asked for where nothing keeps all constraints. With two goals: the point
        of the curve that is at least as far, as a share, from the worse end for either goal.
    missed : dict
        {limit: by how much} of constraints that it does not keep.
    costs : tuple of Cost
    curve : tuple of Point
        With two goals: from the best for the first goal to the best for the second.
    at_ends : dict
        {path: "low" or "high"} of free values at an end of their range.
    tried : int
    """

    now: Mapping[str, float | None]
    before: Figures | None
    best: Point
    missed: Mapping[Limit, float]
    costs: tuple[Cost, ...]
    curve: tuple[Point, ...] = ()
    at_ends: Mapping[str, str] = dataclasses.field(default_factory=dict)
    tried: int = 0


class Search:
    """A search under way: `run` it, or ask for the best so far.

    Parameters
    ----------
    question : Question
    tell : function of two ints
        Called with how many rigs were looked at, and how many will have been at most.
    """

    def __init__(self, question: Question, tell: Callable[[int, int], None]) -> None:
        self.question = question
        self._keys = frozenset([*question.goals, *(limit.key for limit in question.kept)])
        of = (question.source, question.given, question.frees, question.views, self._keys)
        self._tries = Tries(*of)
        self._tries.on_try = self._one_more
        self._tell = tell
        self._looked = 0
        self._searches = 0

    def run(self) -> Answer:
        """Return the answer.

        Raises
        ------
        ChoiceError
            When the rig has nothing that a goal is about.
        RigError
            When no values make a rig that can be built.
        """
        question = self.question
        before = self._tries.as_it_is()
        refuse_without(sorted(self._keys), before.figures)
        task = Task(question.goals[0], question.kept)
        best = self._search(task)
        if best.figures is None:
            rig_of(question.source, {**question.given, **self._tries.changes(best.values)})
        possible = not best.short(question.kept)
        sweep = self._swept(best) if possible and len(question.goals) > 1 else []
        others = [self._without(limit) for limit in question.limits]
        for other in others:
            self._search(other)

        # what one search found may serve another: look through all once more
        tries = self._tries.all()
        best = best_of(tries, task)
        found = [best_of(tries, of_sweep) for of_sweep in sweep]
        curve = list(_rising(found, question.goals))
        each = zip(question.limits, others, strict=True)
        costs = tuple(self._cost(limit, best, best_of(tries, other)) for limit, other in each)
        point = self._point(_middle(curve, question.goals) if curve else best)
        missed = {limit: limit.short(point.figures) for limit in question.kept}
        return Answer(
            now=self._tries.now,
            before=before.figures,
            best=point,
            missed={limit: by for limit, by in missed.items() if by},
            costs=costs,
            curve=tuple(map(self._point, curve)),
            at_ends=dict(_at_ends(question.frees, point)),
            tried=len(tries),
        )

    def best_so_far(self) -> Point | None:
        """Return the best rig for the first goal so far, None where none was possible."""
        tries = self._tries.all()
        best = best_of(tries, Task(self.question.goals[0], self.question.kept)) if tries else None
        return None if best is None or best.figures is None else self._point(best)

    def _search(self, task: Task) -> Try:
        best = searched(self._tries, task)
        self._searches += 1
        self._looked = self._budget(self._searches)
        return best

    def _budget(self, searches: int) -> int:
        """Return how many rigs so many searches may look at, each twice."""
        count = len(self.question.frees)
        more = budget(count, first=False) * max(0, searches - 1)
        return 2 * (budget(count, first=True) * min(1, searches) + more)

    def _one_more(self) -> None:
        self._looked += 1
        extra = POINTS if len(self.question.goals) > 1 else 0
        self._tell(self._looked, self._budget(1 + extra + len(self.question.limits)))

    def _swept(self, best: Try) -> list[Task]:
        """Return what the rigs of the curve are the best for, when these were searched.

        From the first goal alone to as much of the second as there can be.
        """
        first, second = self.question.goals
        kept = self.question.kept
        other = self._search(Task(second, kept))
        start, stop = (_figure(one, second) for one in (best, other))
        steps = (start + (stop - start) * step / (POINTS - 1) for step in range(1, POINTS))
        tasks = [Task(first, (*kept, Limit(second, step))) for step in steps]
        for task in tasks:
            self._search(task)
        return [Task(first, kept), *tasks]

    def _without(self, limit: Limit) -> Task:
        """Return the task for the first goal with all constraints but one."""
        others = tuple(one for one in self.question.kept if one is not limit)
        return Task(self.question.goals[0], others)

    def _cost(self, limit: Limit, best: Try, without: Try) -> Cost:
        """Return what a constraint costs the rig that is best for the first goal."""
        task = self._without(limit)
        near = AT_LIMIT * FIGURES[limit.key].scale
        gain = best.loss(task.goal) - without.loss(task.goal)
        return Cost(
            limit,
            goal_with=None if best.short(self.question.kept) else _figure(best, task.goal),
            goal_without=None if without.short(task.limits) else _figure(without, task.goal),
            reached=(
                abs(_figure(best, limit.key) - limit.value) <= near
                and gain > NO_COST * abs(best.loss(task.goal))
            ),
        )

    def _point(self, one: Try) -> Point:
        assert one.figures is not None
        return Point(self._tries.changes(one.values), one.figures)


def goal_of(words: str) -> str:
    """Return a goal by its name.

    Raises
    ------
    ChoiceError
        When there is none of that name.
    """
    if words not in GOALS:
        msg = f"there is no goal {words!r} (there are {', '.join(GOALS)})"
        raise ChoiceError(msg)
    return words


def _figure(one: Try, key: str) -> float:
    value = None if one.figures is None else one.figures[key]
    return math.nan if value is None else value


def _rising(found: Sequence[Try], goals: Sequence[str]) -> Iterator[Try]:
    """Yield those rigs that are better for the second goal than all before."""
    best = math.inf
    for one in found:
        loss = one.loss(goals[1])
        if loss < best - SAME * max(1.0, abs(loss)):
            yield one
            best = loss


def _middle(curve: Sequence[Try], goals: Sequence[str]) -> Try:
    """Return the point that loses least of either goal, as a share of what the curve has of it."""
    losses = [[one.loss(goal) for one in curve] for goal in goals]
    spans = [max(max(loss) - min(loss), 1e-12) for loss in losses]

    def worse(number: int) -> float:
        each = zip(losses, spans, strict=True)
        return max((loss[number] - min(loss)) / span for loss, span in each)

    return curve[min(range(len(curve)), key=worse)]


def _at_ends(frees: Sequence[Free], best: Point) -> Iterator[tuple[str, str]]:
    for free in frees:
        value = best.changes[free.path]
        if not free.choices and value in (free.low, free.high):
            yield free.path, "low" if value == free.low else "high"
