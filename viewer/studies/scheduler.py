"""Pieces of work done by the workers of a scheduler. The only module that imports distributed.

The scheduler (dask.distributed) and its workers run already, here or on other computers. Results
are those of this computer to the last bit, as pieces do not depend on each other or on who does
them; so every worker must have the same version of this program.
"""

import logging
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from seamsight.scene.errors import SchedulerError
from seamsight.scene.frames import Array

PATIENCE = 5.0  # s that a scheduler has to answer, and to have a worker
POLL = 0.5  # s between two looks whether it is still there
AHEAD = 2  # pieces that each thread of a worker has before it, so that none waits for the next

Work = Callable[[int], Array]


def on_scheduler(address: str, work: Work, numbers: Sequence[int]) -> Iterator[tuple[int, Array]]:
    """Yield number and result of each piece of work, in the order in which they are done.

    Parameters
    ----------
    address : str
        Such as "tcp://127.0.0.1:8786".
    work : callable
        From a piece's number to its result; it is sent to the workers once.
    numbers : sequence of int

    Raises
    ------
    SchedulerError
        When distributed is not installed, nothing answers at the address or has workers, they have
        another version of this program, or a piece cannot be done there.
    """
    client = _client(address)
    try:
        threads = _workers(client, address)
        yield from _results(client, address, work, list(numbers), threads)
    finally:
        client.close(timeout=1)


def _client(address: str) -> Any:
    """Return a connection to a scheduler."""
    try:
        from distributed import Client
    except ModuleNotFoundError as error:
        msg = "a scheduler needs another package: pip install -e '.[distributed]'"
        raise SchedulerError(msg) from error
    for name in list(logging.root.manager.loggerDict):
        if name.startswith("distributed"):  # it writes tracebacks; we say what is wrong
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
    try:
        return Client(address, timeout=PATIENCE)
    except (OSError, ValueError) as error:
        msg = f"no scheduler answers at {address}"
        raise SchedulerError(msg) from error


def _workers(client: Any, address: str) -> int:
    """Return how many threads the workers have; refuse what would compute something else."""
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
        versions = set(client.run(_version).values())
    except TimeoutError as error:
        msg = f"the scheduler at {address} has no workers"
        raise SchedulerError(msg) from error
    except Exception as error:  # whatever a worker raises comes through
        raise SchedulerError(_cannot(client, address, error)) from error
    if versions != {_version()}:
        found = ", ".join(sorted(versions - {_version()}))
        msg = f"a worker of {address} has version {found} of seamsight, and this is {_version()}"
        raise SchedulerError(msg)
    return sum(client.nthreads().values())


def _results(
    client: Any, address: str, work: Work, numbers: list[int], threads: int
) -> Iterator[tuple[int, Array]]:
    from distributed import wait

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that the rig is large
        held = client.submit(_itself, work, pure=False)
    waiting: dict[Any, int] = {}
    while numbers or waiting:
        while numbers and len(waiting) < AHEAD * threads:
            number = numbers.pop(0)
            waiting[client.submit(_done, held, number, pure=False)] = number

        # wait in short turns: a lost scheduler or its last worker would be waited for endlessly
        try:
            ready = wait(list(waiting), timeout=POLL, return_when="FIRST_COMPLETED").done
        except TimeoutError:
            _refuse_lost(client, address)
            continue
        except Exception as error:
            raise SchedulerError(_cannot(client, address, error)) from error
        for future in ready:
            try:
                yield waiting.pop(future), future.result(timeout=PATIENCE)
            except Exception as error:
                raise SchedulerError(_cannot(client, address, error)) from error
            future.release()


def _refuse_lost(client: Any, address: str) -> None:
    """Raise when a scheduler does not answer any more, or has had no worker for a while."""
    until = time.monotonic() + PATIENCE
    while True:
        is_there = client.status == "running"
        if is_there and client.nthreads():
            return
        if time.monotonic() > until:
            what = "has no workers any more" if is_there else "does not answer any more"
            msg = f"the scheduler at {address} {what}"
            raise SchedulerError(msg)
        time.sleep(POLL)


def _cannot(client: Any, address: str, error: Exception) -> str:
    if isinstance(error, ModuleNotFoundError | PackageNotFoundError):
        return f"seamsight is not installed where the workers of {address} run"
    if isinstance(error, CancelledError) and client.status != "running":
        return f"the scheduler at {address} does not answer any more"
    what, *_ = str(error).splitlines() or [""]
    return f"the workers of {address} could not do it ({type(error).__name__}: {what})"


def _version() -> str:
    return version("seamsight")


def _itself(work: Work) -> Work:
    return work


def _done(work: Work, number: int) -> Array:
    return work(number)
