"""Where a head may be for each eye to see enough of all outside screens: a volume, found meanwhile.

It is found in a thread of its own, coarse first, a few head positions at a time, and not while the
head moves, so that pictures need not wait for it.
"""

import itertools
import threading
import time
from collections import OrderedDict
from collections.abc import Hashable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.live.preview import Preview
from seamsight.viewer.live.state import LiveState
from seamsight.viewer.studies.head_box import WAYS
from seamsight.viewer.studies.sweep import EYES_AT_ONCE, seen_shares

SEEN = 0.98  # share of each outside screen that each eye sees at least, as `head-box` asks
REACH = (200.0, 200.0, 150.0)  # mm to each side: right, forward, up
STEP = 12.5  # mm between head positions at last
STRIDES = (8, 4, 2, 1)  # from coarse to fine, every so manyth of them
HEADS_AT_ONCE = EYES_AT_ONCE // 2  # which `seen_shares` does in the calling thread alone
STEEPEST = 0.001  # by which a share changes in 1 mm, as a rule at most
KEPT = 3  # questions: lenses in and out, and another tab's
PAUSE = 0.3  # s that it waits after a move
NAP = 0.02  # s between two looks whether it may go on

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Room:
    """The least share that any eye sees of any outside screen, at points of a grid.

    Attributes
    ----------
    shares : (i, j, k) float64
        Along right, forward and up.
    corner : (3,) float64, rig frame
        Where the first of them is: the point between the eyes.
    step : float
        mm from one to the next.
    """

    shares: Array
    corner: Array
    step: float


def rooms(assembly: Assembly, state: LiveState) -> Iterator[Room | None]:
    """Yield the head rooms about a state's head, coarse to fine, and None after each small step.

    The head keeps its turn, nod and tilt. The volume is about the design eye point, or where the
    head is beyond it, about a point near the head.
    """
    if not assembly.outside_screens:
        return
    offset = np.array(middle_of(state))
    counts = [round(reach / STEP) for reach in REACH]
    axes = [STEP * np.arange(-count, count + 1.0) for count in counts]
    shares = np.full([len(axis) for axis in axes], np.nan)
    corner = np.array(assembly.rig.pilot.eye_point) + offset + [axis[0] for axis in axes]

    room = None
    for stride in STRIDES:
        every = shares[::stride, ::stride, ::stride]
        new = np.isnan(every) if room is None else np.isnan(every) & _near_its_edge(room)
        asked = stride * np.argwhere(new)
        for first in range(0, len(asked), HEADS_AT_ONCE):
            some = asked[first : first + HEADS_AT_ONCE]
            places = offset + np.stack([axis[at] for axis, at in zip(axes, some.T, strict=True)], 1)
            shares[tuple(some.T)] = _least(assembly, state, places)
            yield None

        # what is far from the edge stays as coarse as it was
        whole = every.copy()
        left = np.argwhere(np.isnan(whole))
        if room is not None:
            whole[tuple(left.T)] = shares_at(room, corner + STEP * stride * left)
        room = Room(whole, corner, STEP * stride)
        yield room


def _near_its_edge(room: Room) -> Bools:
    """Return at which points of a grid twice as fine the edge of a room may be near."""
    corners = np.lib.stride_tricks.sliding_window_view(room.shares, (2, 2, 2))
    low, high = corners.min(axis=(3, 4, 5)), corners.max(axis=(3, 4, 5))
    cells = (low < SEEN) & (high >= SEEN - STEEPEST * room.step)
    near = np.zeros([2 * length - 1 for length in room.shares.shape], bool)
    for x, y, z in itertools.product(range(3), repeat=3):
        ends = [start + 2 * length for start, length in zip((x, y, z), cells.shape, strict=True)]
        near[x : ends[0] : 2, y : ends[1] : 2, z : ends[2] : 2] |= cells
    return near


def middle_of(state: LiveState) -> tuple[float, float, float]:
    """Return about which offset of the head, mm, its room is looked for."""
    offset = state.head.offset
    if all(abs(value) <= reach for value, reach in zip(offset, REACH, strict=True)):
        return (0.0, 0.0, 0.0)
    right, forward, up = (round(value / 100) * 100.0 for value in offset)
    return right, forward, up


def _least(assembly: Assembly, state: LiveState, places: Array) -> Array:
    """Return the least share of any screen and eye for heads at some offsets (n, 3)."""
    heads = [state.head.model_copy(update={"offset": tuple(place)}) for place in places.tolist()]
    eyes = np.concatenate([eyes_of(assembly.rig, head).rows[:2] for head in heads])
    return np.asarray(seen_shares(assembly, eyes).reshape(len(heads), -1).min(axis=1))


class Found(NamedTuple):
    """What a search has found so far, None as long as that is nothing; and whether it has ended."""

    room: Room | None
    ended: bool


def room_words(found: Found, here: Array) -> str:
    """Return in words how far the point between the eyes (3,), rig frame, may go from here."""
    room = found.room
    if room is None and found.ended:
        return "head room: this rig has no screen of the outside view"
    if room is None or (room.shares.max() < SEEN and not found.ended):
        return "head room: being looked for …"
    if room.shares.max() < SEEN:
        return "head room: none, nowhere near does each eye see so much"
    if shares_at(room, here[None])[0] < SEEN:
        return "head room: the head is outside it"
    ways = ", ".join(f"{way} {_far(room, here, np.array(step))}" for way, step in WAYS.items())
    return f"head room from here, about: {ways}{'' if found.ended else ' (being refined)'}"


def _far(room: Room, here: Array, way: Array) -> str:
    """Return in words how far it is from here to the edge of a room, along one of `WAYS`."""
    far = np.arange(1.0, 2 * max(REACH) + 2)
    shares = shares_at(room, here + far[:, None] * way)
    reached = int(np.argmax(shares < SEEN))
    is_limit = shares[reached] == 0  # beyond the grid
    return f"{'more than ' if is_limit else ''}{reached} mm"


def shares_at(room: Room, points: Array) -> Array:
    """Return the least shares at points (n, 3), rig frame, linear between the grid's; 0 outside."""
    place = (points - room.corner) / room.step
    last = np.array(room.shares.shape) - 1
    inside = ((place >= 0) & (place <= last)).all(axis=1)
    low = np.clip(np.floor(place).astype(int), 0, last - 1)
    part = place - low
    total = np.zeros(len(points))
    for corner in itertools.product((0, 1), repeat=3):
        weight = np.where(corner, part, 1 - part).prod(axis=1)
        total += weight * room.shares[tuple((low + corner).T)]
    return np.where(inside, total, 0.0)


class _Search:
    """The search for one room."""

    def __init__(self, assembly: Assembly, state: LiveState) -> None:
        self._steps = rooms(assembly, state)
        self.found = Found(None, ended=False)

    def go_on(self) -> None:
        """Do the next small step; an error ends the search too."""
        try:
            room = next(self._steps)
        except StopIteration:
            self.found = self.found._replace(ended=True)
        except Exception:
            self.found = self.found._replace(ended=True)
            raise
        else:
            self.found = self.found._replace(room=room or self.found.room)


class RoomFinder:
    """Finds head rooms in a thread of its own, that of the newest question only."""

    def __init__(self) -> None:
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="seamsight head room")
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, _Search] = OrderedDict()
        self._newest: _Search | None = None
        self._task: Future[None] | None = None
        self._closed = False
        self._until = 0.0

    def found(self, preview: Preview, state: LiveState) -> Found:
        """Return what is found so far of the room at a state's head, and go on looking for it.

        To be asked again and again until that has ended.
        """
        key = (preview, state.lenses, state.turn, state.nod, state.tilt, middle_of(state))
        with self._lock:
            search = self._kept.get(key)
            if search is None:
                search = self._kept[key] = _Search(preview.assembly(state), state)
            self._kept.move_to_end(key)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            self._newest = search
            is_working = self._task is not None and not self._task.done()
            if not (is_working or search.found.ended or self._closed):
                self._task = self._thread.submit(self._work)
        return search.found

    def pause(self) -> None:
        """Let the pictures go first for a moment."""
        self._until = time.monotonic() + PAUSE

    def close(self) -> None:
        """End at the next small step."""
        self._closed = True
        self._thread.shutdown(wait=False, cancel_futures=True)

    def _work(self) -> None:
        while search := self._unended():
            if time.monotonic() < self._until:
                time.sleep(NAP)
            else:
                search.go_on()

    def _unended(self) -> _Search | None:
        """Return the newest search, None where there is nothing to do."""
        search = self._newest
        return None if self._closed or search is None or search.found.ended else search
