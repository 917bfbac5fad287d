"""How exactly to build: what goes wrong how often in builds that are off, why, and what would do.

A build is off by values that lie within ± the rig's tolerances, all equally likely: the rectangular
distribution of JCGM 100:2008 (GUM), 4.3.7. Tolerances are tried larger and smaller on the same
draws, so that chances rise and fall with them.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.rig import Head
from seamsight.viewer.studies.tolerance_bench import Bench
from seamsight.viewer.studies.tolerance_draws import Share, draws, shares
from seamsight.viewer.studies.tolerance_errors import GROUPS, limits_of

FEWEST, MOST = 64, 65_536  # builds; powers of two
BUILDS_FOR_SHARES = 256  # of each sample that tells which tolerance matters most
# tried at most in a search; what shows takes rays, and the rest next to no time
BUILDS_FOR_SEARCH = {"shown": 512, "lost": MOST, "broken": MOST}
SEARCH_STEPS = 7
LARGEST_FACTOR = 8.0  # by which tolerances are tried larger
LOOKS_PER_SEARCH = SEARCH_STEPS + 1


@dataclass(frozen=True)
class Fault:
    """Something that may go wrong in a build.

    Attributes
    ----------
    key : str
    kind : str
        Of `tolerance_bench.KINDS`.
    least : float or None
        What counts at all, in that kind's unit; None for what counts only beyond the design.
    more : float
        What counts beyond the design.
    """

    key: str
    kind: str
    least: float | None
    more: float

    def limits(self, design: Array, *, beyond: bool) -> Array:
        """Return above what (k,) it goes wrong at each place, at all or beyond the design."""
        if self.kind == "broken":  # which is measured beyond the design
            return np.full(len(design), self.more)
        if beyond or self.least is None:
            return np.maximum(design, 0.0) + self.more
        return np.full(len(design), self.least)


FAULTS = (
    # a 20/20 eye resolves 1/60 degree; half the moon's width and 5 pixels are our choice
    Fault("shown", "shown", 1 / 60, 0.25),
    Fault("lost", "lost", 0.05, 5.0),
    Fault("breaks_1", "broken", None, 1.0),
    Fault("breaks_5", "broken", None, 5.0),
)


@dataclass(frozen=True)
class Chance:
    """How often something goes wrong.

    Attributes
    ----------
    fault : Fault
    design : float
        The worst that the rig has as designed, in the kind's unit.
    at_all, beyond : float
        Share of builds in which it goes wrong somewhere: at all, and beyond the design. For broken
        lines both are the same.
    asked : str
        Which of both is looked at further: "at_all" if the rig as designed is free of it.
    worst : tuple of (str, float)
        The place where that happens most often, and in which share of builds.
    matters : dict
        {place in `GROUPS`: Share} for those that are there, most important first.
    factor : float
        How large all tolerances may be, times those given, so that enough builds are free of it;
        at most 8.
    single : tuple of (int, float) or None
        The tolerance that matters most, and how large that one alone may be; None where enough
        builds are free of it already, or one alone does not do.
    """

    fault: Fault
    design: float
    at_all: float
    beyond: float
    asked: str
    worst: tuple[str, float]
    matters: dict[int, Share]
    factor: float
    single: tuple[int, float] | None

    @property
    def chance(self) -> float:
        """The share of builds that is looked at further."""
        return self.at_all if self.asked == "at_all" else self.beyond


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
        self._shares: dict[str, dict[int, Share]] = {}
        self._looked = 0
        self._tell: Callable[[int], None] = lambda done: None

    @property
    def work(self) -> int:
        """How many builds are looked at in all, at most."""
        for_shares = min(self._builds, BUILDS_FOR_SHARES) * (len(self._present) + 1)
        return sum(
            self._builds
            + for_shares
            + 2 * LOOKS_PER_SEARCH * min(self._builds, BUILDS_FOR_SEARCH[fault.kind])
            for fault in self._faults
        )

    @property
    def groups(self) -> list[int]:
        """Which of `GROUPS` this rig has."""
        return self._present

    def chances(self, tell: Callable[[int], None]) -> list[Chance]:
        """Return what goes wrong how often; tells how many builds of `work` are looked at."""
        self._tell = tell
        self._looked = 0
        return [self._chance(fault) for fault in self._faults]

    @property
    def _faults(self) -> list[Fault]:
        return [fault for fault in FAULTS if self._bench.places[fault.kind]]

    def _chance(self, fault: Fault) -> Chance:
        design = self._bench.design[fault.kind]
        values = self._measured(fault.kind, self._own, self._limits)
        free = fault.least is not None and design.max() <= fault.least
        goals = fault.limits(design, beyond=not free)
        at_all, beyond = (
            float((values > fault.limits(design, beyond=more)).any(axis=1).mean())
            for more in (False, True)
        )
        often = (values > goals).mean(axis=0)
        worst = int(often.argmax())
        matters = self._matters(fault, values, goals)
        factor = self._largest(fault, goals, np.ones(len(GROUPS), bool), values)
        return Chance(
            fault=fault,
            design=float(design.max()),
            at_all=at_all,
            beyond=beyond,
            asked="at_all" if free else "beyond",
            worst=(self._bench.places[fault.kind][worst], float(often[worst])),
            matters=matters,
            factor=factor,
            single=self._single(fault, goals, matters, values) if factor < 1 else None,
        )

    def _matters(self, fault: Fault, values: Array, goals: Array) -> dict[int, Share]:
        """Return the share of each group in how near builds come to going wrong.

        It is the same for all faults of a kind of which as much counts everywhere.
        """
        if fault.kind in self._shares and fault.least is None:
            return self._shares[fault.kind]
        count = min(self._builds, BUILDS_FOR_SHARES)
        own, other = self._own[:count], self._other[:count]
        swapped = []
        for group in self._present:
            drawn = np.where(self._bench.errors.groups == group, other, own)
            swapped.append(self._worst(fault, drawn, goals))
        found = shares(
            (values[:count] - goals).max(axis=1),
            self._worst(fault, other, goals),
            np.array(swapped).reshape(-1, count),
        )
        each = zip(self._present, found, strict=True)
        self._shares[fault.kind] = dict(sorted(each, key=lambda one: -one[1].total))
        return self._shares[fault.kind]

    def _worst(self, fault: Fault, drawn: Array, goals: Array) -> Array:
        values = self._measured(fault.kind, drawn, self._limits)
        return np.asarray((values - goals).max(axis=1))

    def _single(
        self, fault: Fault, goals: Array, matters: dict[int, Share], values: Array
    ) -> tuple[int, float] | None:
        group = next(iter(matters))
        chosen = np.arange(len(GROUPS)) == group
        factor = self._largest(fault, goals, chosen, values)
        return (group, factor) if factor > 0 else None

    def _largest(self, fault: Fault, goals: Array, chosen: Array, values: Array) -> float:
        """Return how large some tolerances may be, times those given; 0 where not even that does.

        `values` are those of the tolerances given.
        """
        count = min(self._builds, BUILDS_FOR_SEARCH[fault.kind])

        def holds(factor: float) -> bool:
            limits = np.where(chosen, factor, 1.0) * self._limits
            tried = self._measured(fault.kind, self._own[:count], limits)
            return self._enough(tried, goals)

        if self._enough(values[:count], goals):
            low, high = 1.0, LARGEST_FACTOR
            if holds(high):
                return high
        else:
            low, high = 0.0, 1.0
            if not holds(low):
                return 0.0
        for _ in range(SEARCH_STEPS):
            middle = (low + high) / 2
            low, high = (middle, high) if holds(middle) else (low, middle)
        return low

    def _enough(self, values: Array, goals: Array) -> bool:
        return bool((values <= goals).all(axis=1).mean() >= self._wanted)

    def _measured(self, kind: str, drawn: Array, limits: Array) -> Array:
        values = self._bench.measured(kind, drawn, limits)
        self._looked += len(drawn)
        self._tell(self._looked)
        return values
