"""How exactly to build: what goes wrong how often in builds that are off, why, and what would do.

A build is off by values that lie within ± the rig's tolerances, all equally likely: the rectangular
distribution of JCGM 100:2008 (GUM), 4.3.7. Tolerances are tried larger and smaller on the same
draws, so that chances rise and fall with them.
"""

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.rig import Head
from seamsight.viewer.studies.tolerance_bench import Bench
from seamsight.viewer.studies.tolerance_draws import Share, draws, shares
from seamsight.viewer.studies.tolerance_errors import GROUPS, limits_of

FEWEST, MOST = 64, 65_536  # builds; powers of two
BUILDS_FOR_SHARES = 256  # of each sample that tells which tolerance matters most
BUILDS_FOR_PARTS = 64  # that tell which part is in the way
BUILDS_FOR_SEARCH = 512  # of a kind that takes long
SEARCH_STEPS, SLOW_STEPS = 10, 6  # of kinds that take next to no time, and of others
LARGEST_FACTOR = 8.0  # by which tolerances are tried larger


@dataclass(frozen=True)
class Fault:
    """Something that may go wrong in a build.

    Attributes
    ----------
    key : str
    kind : str
        Of `tolerance_bench.KINDS`.
    limit : float
        Above what it goes wrong, in that kind's unit.
    beyond : bool
        Whether only what is more than as designed counts.
    """

    key: str
    kind: str
    limit: float
    beyond: bool

    def limits(self, design: Array) -> Array:
        """Return above what (k,) it goes wrong at each place, for values of the design (k,)."""
        if self.beyond and self.kind != "broken":  # which is measured beyond the design
            return np.maximum(design, 0.0) + self.limit
        return np.full(len(design), self.limit)


FAULTS = (
    # a 20/20 eye resolves 1/60 degree; half the moon's width and 5 pixels are our choice
    Fault("shown", "shown", 1 / 60, beyond=False),
    Fault("shown_more", "shown", 0.25, beyond=True),
    Fault("lost", "lost", 0.05, beyond=False),
    Fault("lost_more", "lost", 5.0, beyond=True),
    Fault("breaks_1", "broken", 1.0, beyond=True),
    Fault("breaks_5", "broken", 5.0, beyond=True),
)


class Worst(NamedTuple):
    """Where something goes wrong most often.

    Attributes
    ----------
    place : str
    chance : float
        Share of builds in which it does there.
    part : str or None
        The part that shows most there, or at whose edge a strip is lost.
    """

    place: str
    chance: float
    part: str | None


@dataclass(frozen=True)
class Chance:
    """How often something goes wrong, and what would do.

    Attributes
    ----------
    fault : Fault
    design : float
        The worst that the rig has as designed, in the kind's unit.
    chance : float
        Share of builds in which it goes wrong somewhere.
    worst : Worst
    matters : dict
        {place in `GROUPS`: Share} for those that are there, most important first: in how near
        builds come to what is beyond the design.
    factor : float or None
        How large all tolerances may be, times those given, so that enough builds are free of it; at
        most 8. None where the rig as designed has it.
    single : tuple of (int, float) or None
        Where they must be smaller: the tolerance that matters most, and how large that one alone
        may be; None where it alone does not do.
    rest : float or None
        Then: how large all others may be if that one is exact.
    """

    fault: Fault
    design: float
    chance: float
    worst: Worst
    matters: dict[int, Share]
    factor: float | None
    single: tuple[int, float] | None = None
    rest: float | None = None


class Study:
    """Many builds of one rig.

    Parameters
    ----------
    assembly : Assembly
    head : Head
    builds : int
        A power of two.
    wanted : float
        Share of builds that should be free of a fault, above 0 and below 1.

    Raises
    ------
    ChoiceError
        When no screen of the outside view is before both eyes.
    """

    def __init__(self, assembly: Assembly, head: Head, builds: int, wanted: float) -> None:
        self._bench = Bench(assembly, head)
        self._limits = limits_of(assembly.rig.tolerance)
        self._wanted = wanted
        self._builds = builds
        groups = self._bench.errors.groups
        self._present = [n for n in range(len(GROUPS)) if (groups == n).any()]
        columns = len(groups)
        both = draws(2 * columns, 0, builds)
        self._own, self._other = both[:, :columns], both[:, columns:]
        self._kept: dict[str, Array] = {}
        self._shares: dict[str, dict[int, Share]] = {}
        self._looked = 0
        self._tell: Callable[[int], None] = lambda done: None

    @property
    def work(self) -> int:
        """How many builds are looked at in all, at most, for what takes long; 1 or more."""
        slow = [fault for fault in self._faults if fault.kind in self._bench.slow]
        searched = sum(not self._has(fault) for fault in slow)
        search = 2 * (SLOW_STEPS + 2) * min(self._builds, BUILDS_FOR_SEARCH)
        for_shares = min(self._builds, BUILDS_FOR_SHARES) * (len(self._present) + 1)
        kinds = {fault.kind for fault in slow}
        return max(1, len(kinds) * (self._builds + for_shares) + searched * search)

    @property
    def groups(self) -> list[int]:
        """Which of `GROUPS` this rig has."""
        return self._present

    def chances(self, tell: Callable[[int], None]) -> list[Chance]:
        """Return what goes wrong how often; tells how many of `work` are done."""
        self._tell = tell
        self._looked = 0
        return [self._chance(fault) for fault in self._faults]

    @property
    def _faults(self) -> list[Fault]:
        return [fault for fault in FAULTS if self._bench.places[fault.kind]]

    def _chance(self, fault: Fault) -> Chance:
        design = self._bench.design[fault.kind]
        values = self._values(fault.kind)
        goals = fault.limits(design)
        found = Chance(
            fault=fault,
            design=float(design.max()),
            chance=1.0 - self._free(values, goals),
            worst=self._worst(fault.kind, values > goals),
            matters=self._matters(fault.kind),
            factor=None,
        )
        if self._has(fault):
            return found

        # how exact would do: all, the one that matters most, or all others
        everything = np.ones(len(GROUPS), bool)
        factor = self._largest(fault, goals, everything)
        if factor >= 1:
            return dataclasses.replace(found, factor=factor)
        most = np.arange(len(GROUPS)) == next(iter(found.matters))
        single = self._largest(fault, goals, most)
        if single:
            by_one = (int(most.argmax()), single)
            return dataclasses.replace(found, factor=factor, single=by_one)
        rest = self._largest(fault, goals, ~most, exact=most)
        return dataclasses.replace(found, factor=factor, rest=rest)

    def _has(self, fault: Fault) -> bool:
        """Return whether the rig as designed has a fault."""
        return not fault.beyond and bool(self._bench.design[fault.kind].max() > fault.limit)

    def _worst(self, kind: str, wrong: npt.NDArray[np.bool_]) -> Worst:
        often = wrong.mean(axis=0)
        place = int(often.argmax())
        # some of the builds in which it goes wrong there
        rows = np.flatnonzero(wrong[:, place])[:BUILDS_FOR_PARTS]
        drawn = self._own[rows]
        part = self._bench.in_the_way(kind, place, drawn, self._limits) if len(rows) else None
        return Worst(self._bench.places[kind][place], float(often[place]), part)

    def _values(self, kind: str) -> Array:
        if kind not in self._kept:
            self._kept[kind] = self._measured(kind, self._own, self._limits)
        return self._kept[kind]

    def _matters(self, kind: str) -> dict[int, Share]:
        """Return the share of each group in how near builds come to being worse than designed."""
        if kind not in self._shares:
            count = min(self._builds, BUILDS_FOR_SHARES)
            design = np.maximum(self._bench.design[kind], 0.0) * (kind != "broken")

            def worst(drawn: Array) -> Array:
                values = self._measured(kind, drawn, self._limits)
                return np.asarray((values - design).max(axis=1))

            own, other = self._own[:count], self._other[:count]
            groups = self._bench.errors.groups
            swapped = [worst(np.where(groups == group, other, own)) for group in self._present]
            as_they_are = (self._values(kind)[:count] - design).max(axis=1)
            found = shares(as_they_are, worst(other), np.array(swapped).reshape(-1, count))
            each = zip(self._present, found, strict=True)
            self._shares[kind] = dict(sorted(each, key=lambda one: -one[1].total))
        return self._shares[kind]

    def _largest(
        self, fault: Fault, goals: Array, chosen: Array, exact: Array | None = None
    ) -> float:
        """Return how large some tolerances may be, times those given; 0 where not even that does.

        Others are as given, or exact.
        """
        slow = fault.kind in self._bench.slow
        count = min(self._builds, BUILDS_FOR_SEARCH) if slow else self._builds
        others = np.ones(len(GROUPS)) if exact is None else 1.0 - exact

        def holds(factor: float) -> bool:
            limits = np.where(chosen, factor, others) * self._limits
            if (limits == self._limits).all():
                tried = self._values(fault.kind)[:count]
            else:
                tried = self._measured(fault.kind, self._own[:count], limits)
            return self._free(tried, goals) >= self._wanted

        if holds(1.0):
            low, high = 1.0, LARGEST_FACTOR
            if holds(high):
                return high
        else:
            low, high = 0.0, 1.0
            if not holds(low):
                return 0.0
        for _ in range(SLOW_STEPS if slow else SEARCH_STEPS):
            middle = (low + high) / 2
            low, high = (middle, high) if holds(middle) else (low, middle)
        return low

    def _free(self, values: Array, goals: Array) -> float:
        """Return in which share of builds nothing goes wrong."""
        return float((values <= goals).all(axis=1).mean())

    def _measured(self, kind: str, drawn: Array, limits: Array) -> Array:
        values = self._bench.measured(kind, drawn, limits)
        if kind in self._bench.slow:
            self._looked += len(drawn)
            self._tell(self._looked)
        return values
