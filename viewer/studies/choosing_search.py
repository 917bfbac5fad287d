"""The search for the best of many changed rigs: scipy's differential evolution, seeded.

Figures have steps and flat places, where methods that follow slopes fail. Rigs are compared by what
they miss of the constraints, then by the goal, then by how little they change.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from seamsight.scene.frames import Array
from seamsight.viewer.studies.choosing_tries import Limit, Tries, Try

SEED = 1
LEAST_MEMBERS = 16  # rigs of a generation
MEMBERS, MORE_MEMBERS = 15, 8  # for each free value: in the first search, in those that build on it
GENERATIONS, MORE_GENERATIONS = (24, 10), (10, 2)  # at most: in all, and for each free value
PATIENCE = 10  # generations without a better rig, after which a search ends
SETTLED = 1e-7  # of the goal, by which a generation may differ when a search ends
NEARER = 1e-4  # of the goal, that a change of all values from end to end counts
NOTHING = 1e9  # loss of a rig that lacks the goal's figure


@dataclass(frozen=True)
class Task:
    """What to look for: the best for a goal among those that keep constraints."""

    goal: str
    limits: tuple[Limit, ...]

    def loss(self, one: Try) -> float:
        """Return how bad a rig is for the goal; of equals, the less it changes the better."""
        loss = min(one.loss(self.goal), NOTHING)
        return loss + NEARER * max(1.0, abs(loss)) * one.change

    def rank(self, one: Try) -> tuple[float, float]:
        """Return what the better of two rigs has less of."""
        return one.short(self.limits), self.loss(one)


def best_of(tries: Sequence[Try], task: Task) -> Try:
    """Return the best of some rigs for a task, the first of equals."""
    return min(tries, key=task.rank)


def budget(count: int, *, first: bool) -> int:
    """Return how many rigs a search with so many free values may look at."""
    return _members(count, first=first) * (_generations(count, first=first) + 1)


def searched(tries: Tries, task: Task) -> Try:
    """Return the best rig for a task.

    A search that is not the first begins with the best rigs so far.
    """
    from scipy.optimize import NonlinearConstraint, differential_evolution

    count = len(tries.frees)
    before = tries.all()

    def loss(members: Array) -> Array:
        """Return how bad rigs are, members (f, m) as scipy has them, (m,)."""
        return np.array([task.loss(tries.at(numbers)) for numbers in members.T])

    def short(members: Array) -> Array:
        """Return what rigs (f, m) miss of the constraints, (1, m); scipy asks for one (f,) too."""
        each = members.reshape(count, -1).T
        missed = np.array([[tries.at(numbers).short(task.limits) for numbers in each]])
        return missed if members.ndim == 2 else missed[:, 0]

    ends = [free.ends() for free in tries.frees]
    differential_evolution(
        loss,
        [(low, high) if low < high else (low, low + 1e-9) for low, high in ends],
        constraints=NonlinearConstraint(short, -np.inf, 0.0),
        integrality=[bool(free.choices) for free in tries.frees],
        init=_first_members(tries, task, before),
        maxiter=_generations(count, first=not before),
        callback=_Patience(),
        tol=0.0,
        atol=SETTLED,
        rng=np.random.default_rng(SEED),
        polish=False,
        updating="deferred",
        vectorized=True,
    )
    _put_back(tries, task)
    return best_of(tries.all(), task)


def _put_back(tries: Tries, task: Task) -> None:
    """Try the best rig with each of its values as the rig file has it: many do not matter."""
    if tries.start is None:
        return
    for number, start in enumerate(tries.start):
        numbers = tries.numbers(best_of(tries.all(), task).values)
        numbers[number] = start
        tries.at(numbers)


class _Patience:
    """Ends a search that finds nothing better any more; scipy calls it after each generation."""

    def __init__(self) -> None:
        self._best: Array | None = None
        self._same = 0

    def __call__(self, intermediate_result: Any) -> None:
        best = np.array(intermediate_result.x)
        known = self._best is not None and np.array_equal(best, self._best)
        self._same = self._same + 1 if known else 0
        self._best = best
        if self._same >= PATIENCE:
            raise StopIteration


def _generations(count: int, *, first: bool) -> int:
    least, each = GENERATIONS if first else MORE_GENERATIONS
    return least + each * count


def _members(count: int, *, first: bool) -> int:
    return max(LEAST_MEMBERS, (MEMBERS if first else MORE_MEMBERS) * count)


def _first_members(tries: Tries, task: Task, before: Sequence[Try]) -> Array:
    """Return the numbers (m, f) of the first generation.

    Spread over all ranges, one in each of as many strips of each; half are the best so far.
    """
    count = len(tries.frees)
    members = _members(count, first=not before)
    random = np.random.default_rng(SEED)
    strips = np.stack([random.permutation(members) for _ in range(count)], axis=1)
    low, high = np.array([free.ends() for free in tries.frees]).T
    found = low + (strips + random.random(strips.shape)) / members * (high - low)
    known = sorted(before, key=task.rank)[: members // 2]
    for row, one in enumerate(known):
        found[row] = tries.numbers(one.values)
    if tries.start is not None:
        found[-1] = tries.start
    return np.asarray(found)
