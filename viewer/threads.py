"""Work cut into pieces, on all processors."""

import functools
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor


def each_on_threads(work: Callable[[int], None], firsts: Sequence[int]) -> None:
    """Do a piece of work for every number on all processors; errors come through."""
    if len(firsts) == 1:  # handing it to a thread would cost more than it saves
        work(firsts[0])
        return
    for _ in _threads().map(work, firsts):
        pass


@functools.cache
def _threads() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(os.cpu_count() or 1, thread_name_prefix="seamsight")
