"""Keeping what was made lately, up to so much memory."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

_Value = TypeVar("_Value")


class Recent(Generic[_Value]):
    """What was made lately, each under its key; the longest unused goes when all take too much.

    Several threads may use one at once; two that want the same new thing then both make it.

    Parameters
    ----------
    most_bytes : int
        How much to keep; the newest stays even if it alone is larger.
    size : function from a value to int
        How much memory a value takes, bytes.
    """

    def __init__(self, most_bytes: int, size: Callable[[_Value], int]) -> None:
        self._most_bytes = most_bytes
        self._size = size
        self._kept: OrderedDict[Hashable, _Value] = OrderedDict()
        self._lock = threading.Lock()

    def __contains__(self, key: Hashable) -> bool:
        """Tell whether something is kept under a key."""
        with self._lock:
            return key in self._kept

    def get(self, key: Hashable, make: Callable[[], _Value]) -> _Value:
        """Return what is kept under a key, made now if there is nothing."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        value = make()
        with self._lock:
            self._kept[key] = value
            self._kept.move_to_end(key)
            while (
                len(self._kept) > 1 and sum(map(self._size, self._kept.values())) > self._most_bytes
            ):
                self._kept.popitem(last=False)
        return value
