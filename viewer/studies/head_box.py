"""How far a head may move before an eye loses more of the outside screens than it should.

From a head position the head goes each way alone, left, right, up, down, forward, back, or turns,
until what is asked for does not hold any more: what stops it is the part that hides most of the
image then.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly, parts_around
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.parts import own_part_name
from seamsight.scene.rig import Head
from seamsight.viewer.casting.trace import parts_between, trace
from seamsight.viewer.eye import Eyes, eyes_of
from seamsight.viewer.numbers.areas import eye_areas, seen_places
from seamsight.viewer.numbers.margins import SIDES, in_front, margin
from seamsight.viewer.numbers.seams import outside_neighbours
from seamsight.viewer.numbers.strips import Gaze, dark_strips
from seamsight.viewer.studies.sweep import seen_shares

FARTHEST = 1000.0  # mm that a way is followed
WIDEST_TURN = 60.0  # degrees
PACE, TURN_PACE = 20.0, 5.0  # mm and degrees from look to look; what is between is not seen
CLOSE, TURN_CLOSE = 0.25, 0.05  # how closely the end of a way is found
BETWEEN = 256  # rays across the strip between two images
UNSURE = 0.004  # twice what shares counted by rays may be off (tests of `sweep`)
LEAST = 1e-6  # mm of margin that counts as none
NEAREST_STEPS = (64.0, 32.0, 16.0, 8.0, 4.0, 2.0)  # mm, of the search for a place that is right

WAYS = {
    "left": (-1.0, 0.0, 0.0),
    "right": (1.0, 0.0, 0.0),
    "forward": (0.0, 1.0, 0.0),
    "back": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
TURNS = {"turn_left": -1.0, "turn_right": 1.0}


@dataclass(frozen=True)
class Asked:
    """What must hold for both eyes and every screen of the outside view.

    Attributes
    ----------
    seen : float
        Share of each image that each eye sees at least.
    whole : bool
        Whether no strip of an image may be lost at the edge of its own lens or bezel.
    hide : tuple of str
        Roles of parts that may not be seen between neighbouring images.
    """

    seen: float = 0.98
    whole: bool = False
    hide: tuple[str, ...] = ()


@dataclass(frozen=True)
class Failure:
    """What does not hold at a head position.

    Attributes
    ----------
    part : str
        The part that is in the way.
    text : str
    by : float
        By how much: a share of an image, or 1 where that says nothing.
    """

    part: str
    text: str
    by: float

    def told(self) -> "Failure":
        """Return itself; see `_Loss`."""
        return self


@dataclass(frozen=True, eq=False)
class _Loss:
    """What an eye (3,) loses of an image; which part hides it is found when asked for.

    Most looks fail only to narrow a way down, and that part takes as long to find as the loss.
    """

    assembly: Assembly
    screen: PlacedScreen
    eye: str
    place: Array
    by: float

    def told(self) -> Failure:
        """Return it with the part that hides most."""
        areas = eye_areas(self.assembly, self.screen, self.place)
        hidden = areas.hidden
        worst = max(hidden, key=lambda part: hidden[part].area(), default=None)
        part = _edge(self.screen) if worst is None else self.assembly.parts[worst].name
        share = areas.seen.area() / _area(self.screen)
        seen = f"the {self.eye} eye sees {100 * share:.1f} % of {self.screen.name}"
        return Failure(part, f"{seen}; {part} is in the way", self.by)


Fault = Failure | _Loss


def _area(screen: PlacedScreen) -> float:
    return screen.size[0] * screen.size[1]


def _edge(screen: PlacedScreen) -> str:
    """Return the part at whose edge the view of an image ends."""
    return own_part_name(screen.name, "lens" if screen.lens else "bezel")


@dataclass(frozen=True)
class Travel:
    """How far a head may go one way: mm or degrees, and what stops it, None at the limit."""

    far: float
    stopped_by: str | None


@dataclass(frozen=True)
class HeadBox:
    """How far a head may move from a position.

    Attributes
    ----------
    head : Head
    failure : Failure or None
        What does not hold at that position itself.
    travel : dict
        {way: Travel}, of `WAYS` in mm and of `TURNS` in degrees; 0 where it fails to begin with.
    nearby : tuple of float or None
        If it fails: how far to move the head, right, forward and up, mm, for it to hold; None where
        no such place was found.
    """

    head: Head
    failure: Failure | None
    travel: dict[str, Travel]
    nearby: tuple[float, float, float] | None = None

    def as_json(self) -> dict[str, object]:
        """Return it as JSON has it."""
        travel = {
            way: {"degrees" if way in TURNS else "mm": far.far, "stopped_by": far.stopped_by}
            for way, far in self.travel.items()
        }
        why = self.failure and {"part": self.failure.part, "text": self.failure.text}
        return {
            "head": self.head.name,
            "holds": self.failure is None,
            "failure": why,
            "nearby": self.nearby,
            "travel": travel,
        }


def head_box(assembly: Assembly, head: Head, asked: Asked) -> HeadBox:
    """Return how far a head may move each way alone.

    Each way is looked along in steps of 20 mm or 5 degrees up to the first place where what is
    asked for fails, and the place narrowed down to 0.5 mm or 0.1 degrees.
    """
    look = _Look(assembly, asked)
    fault = look.fault(head)
    if fault:
        failure = fault.told()
        stopped = dict.fromkeys([*WAYS, *TURNS], Travel(0.0, failure.part))
        return HeadBox(head, failure, stopped, _nearby(look, head, failure))
    travel = {way: _straight(look, head, way) for way in WAYS}
    travel |= {
        way: _travel(look, _turning(head, sense), WIDEST_TURN, TURN_PACE, TURN_CLOSE)
        for way, sense in TURNS.items()
    }
    return HeadBox(head, None, travel)


def head_room(
    assembly: Assembly, head: Head, asked: Asked, ways: Iterable[str]
) -> dict[str, Travel]:
    """Return how far a head may move along some of `WAYS` alone, as `head_box` has it."""
    look = _Look(assembly, asked)
    fault = look.fault(head)
    if fault:
        return dict.fromkeys(ways, Travel(0.0, fault.told().part))
    return {way: _straight(look, head, way) for way in ways}


def failure_at(assembly: Assembly, head: Head, asked: Asked) -> Failure | None:
    """Return what does not hold at a head position, the first thing found, or None."""
    fault = _Look(assembly, asked).fault(head)
    return fault.told() if fault else None


def _straight(look: "_Look", head: Head, way: str) -> Travel:
    return _travel(look, _moving(head, np.array(WAYS[way])), FARTHEST, PACE, CLOSE)


def _moving(head: Head, step: Array) -> Callable[[float], Head]:
    return lambda far: head.moved((far * step).tolist())


def _turning(head: Head, sense: float) -> Callable[[float], Head]:
    return lambda far: head.moved((0, 0, 0), turn=sense * far)


def _travel(
    look: "_Look", at: Callable[[float], Head], farthest: float, pace: float, close: float
) -> Travel:
    """Return how far a head may go along a way, and what stops it."""
    fault = None
    far = past = 0.0
    while fault is None:
        far, past = past, min(past + pace, farthest)
        if far >= farthest:
            return Travel(farthest, None)
        fault = look.fault(at(past), at(far))

    # narrow it down
    while past - far > close:
        middle = (far + past) / 2
        found = look.fault(at(middle), at(far))
        if found is None:
            far = middle
        else:
            past = middle
            fault = found
    return Travel(far, fault.told().part)


def _nearby(look: "_Look", head: Head, failure: Failure) -> tuple[float, float, float] | None:
    """Return how far to move a head for all to hold, mm, or None where that was not found.

    Goes the way that helps most, in ever smaller steps, then back towards where it began while all
    holds.
    """
    here = np.zeros(3)
    by = failure.by
    for size in NEAREST_STEPS:
        while by > 0:
            tried = [here + size * np.array(step) for step in WAYS.values()]
            faults = [look.fault(head.moved(place.tolist())) for place in tried]
            left = [0.0 if fault is None else fault.by for fault in faults]
            best = int(np.argmin(left))
            if left[best] >= by or np.abs(tried[best]).max() > FARTHEST:
                break
            here, by = tried[best], left[best]
    if by > 0:
        return None

    # as near as it may be on the straight line back
    near, far = 0.0, 1.0
    while (far - near) * np.linalg.norm(here) > CLOSE:
        middle = (near + far) / 2
        if look.fault(head.moved((middle * here).tolist())) is None:
            far = middle
        else:
            near = middle
    right, forward, up = (float(value) for value in far * here)
    return right, forward, up


class _Look:
    """Looks whether what is asked for holds; begins with what failed last, which fails soonest."""

    def __init__(self, assembly: Assembly, asked: Asked) -> None:
        self._assembly = assembly
        self._asked = asked
        self._screens = list(assembly.outside_screens)
        optics = [screen.lens.optic for screen in assembly.screens if screen.lens]
        self._is_slow = any(optic.model == "grooved" for optic in optics)

    def fault(self, head: Head, since: Head | None = None) -> Fault | None:
        """Return what does not hold at a head position, or on the way to it, or None."""
        eyes = eyes_of(self._assembly.rig, head)
        way = self._on_the_way(eyes, since) if since else iter(())
        counts = self._is_slow and since is not None
        looks = (way, self._inside(eyes), self._seen(eyes, counts), self._between(eyes))
        return next(itertools.chain(*looks), None)

    def _on_the_way(self, eyes: Eyes, since: Head) -> Iterator[Failure]:
        """Yield parts, thin ones too, that eyes would go through."""
        before = eyes_of(self._assembly.rig, since)
        met = parts_between(self._assembly, before.rows, eyes.rows)
        for number in met[met >= 0]:
            name = self._assembly.parts[number].name
            yield Failure(name, f"an eye would go through {name}", 1.0)

    def _inside(self, eyes: Eyes) -> Iterator[Failure]:
        around = parts_around(self._assembly, eyes.rows)
        for number in around[around >= 0]:
            name, _ = self._assembly.solids[number]
            yield Failure(name, f"an eye would be inside {name}", 1.0)

    def _seen(self, eyes: Eyes, counts: bool) -> Iterator[Fault]:
        """Yield what eyes lose of images; where asked to, count rays where these leave no doubt."""
        outside = self._assembly.outside_screens
        counted = seen_shares(self._assembly, eyes.rows[:2]) if counts else None
        for screen in list(self._screens):
            for row, eye in enumerate(("left", "right")):
                about = None if counted is None else counted[row, outside.index(screen)]
                fault = self._of_image(screen, eye, eyes.point(eye), about)
                if fault:
                    self._screens.remove(screen)
                    self._screens.insert(0, screen)
                    yield fault

    def _of_image(
        self, screen: PlacedScreen, eye: str, place: Array, about: float | None
    ) -> Fault | None:
        """Return what an eye loses of an image, or None where it sees enough.

        `about` is the share that it sees as far as that is known.
        """
        if not in_front(screen, place[None])[0]:
            part = _edge(screen)
            return Failure(part, f"the {eye} eye would be beside or behind {part}", 1.0)

        share = about
        if share is None or abs(share - self._asked.seen) < UNSURE:
            share = seen_places(self._assembly, screen, place).area() / _area(screen)
        if share < self._asked.seen:
            by = self._asked.seen - share
            return _Loss(self._assembly, screen, eye, place, by)
        if self._asked.whole:
            lost = min(float(margin(screen, place[None], side)[0]) for side in SIDES)
            if lost < -LEAST:
                part = _edge(screen)
                text = f"the {eye} eye loses {-lost:.1f} mm of {screen.name} at the edge of {part}"
                return Failure(part, text, -lost / max(screen.size))
        return None

    def _between(self, eyes: Eyes) -> Iterator[Failure]:
        """Yield parts that are seen between neighbouring images and should not be."""
        if self._asked.hide:
            yield from seen_between(self._assembly, eyes, self._asked.hide)


def seen_between(assembly: Assembly, eyes: Eyes, roles: Iterable[str]) -> Iterator[Failure]:
    """Yield parts of some roles that are seen between neighbouring images.

    By how much: the width of that strip, degrees.
    """
    looks = [
        (eye, Gaze(first, second, eyes.point(eye)))
        for first, second in outside_neighbours(assembly, eyes)
        for eye in ("left", "right")
    ]

    strips = dark_strips(assembly, [gaze for _, gaze in looks])
    for (eye, gaze), strip in zip(looks, strips, strict=True):
        if strip is None or strip.angle <= 0:
            continue
        share = (np.arange(BETWEEN) + 0.5)[:, None] / BETWEEN
        ways = strip.start * (1 - share) + strip.stop * share
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        met = trace(assembly, np.broadcast_to(gaze.eye, ways.shape), ways).parts
        for number in np.unique(met[met >= 0]):
            part = assembly.parts[number]
            if part.role in roles:
                text = f"the {eye} eye sees {part.name} between two images"
                yield Failure(part.name, text, math.degrees(strip.angle))
