"""Work on a scheduler: results as here, and plain words where it cannot be done."""

import functools
import subprocess
import sys
import time

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.scene.errors import SchedulerError
from seamsight.viewer.studies import head_map
from seamsight.viewer.studies import scheduler as module
from seamsight.viewer.studies.scheduler import on_scheduler

pytest.importorskip("distributed", reason="needs distributed")

NOBODY = "tcp://127.0.0.1:1"  # a port that no ordinary program may open
CLUSTER = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(
        n_workers=int(sys.argv[1]), threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        print(cluster.scheduler_address, flush=True)
        sys.stdin.read()
"""


@pytest.fixture(scope="module")
def cluster_file(tmp_path_factory):
    file = tmp_path_factory.mktemp("cluster") / "cluster.py"
    file.write_text(CLUSTER)
    return file


@pytest.fixture
def cluster(cluster_file):
    """Start a scheduler with so many workers, and give its process and address."""
    started = []

    def start(workers):
        process = subprocess.Popen(
            [sys.executable, cluster_file, str(workers)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        started.append(process)
        return process, process.stdout.readline().strip()

    yield start
    for process in started:
        process.kill()
        process.communicate()


def test_results_are_those_of_here_whatever_their_order(cluster, monkeypatch, rig_of, screen_at):
    _, address = cluster(2)
    placed = build(rig_of(screen=[screen_at(shows="world")]))
    grid = head_map.grid_about(Head(name="design"), (200, 200, 0), 20, (0.0,))
    work = functools.partial(head_map.mapped, placed, grid)
    found = dict(on_scheduler(address, work, grid.pieces))
    assert sorted(found) == [0, 1]
    assert all(found[number].tobytes() == work(number).tobytes() for number in found)

    # an error of a piece, and one that is stopped half way
    with pytest.raises(SchedulerError, match=r"could not do it .ValueError: negative"):
        list(on_scheduler(address, np.zeros, [-1]))
    results = on_scheduler(address, np.zeros, range(100))
    next(results)
    del results

    # a worker of another version
    monkeypatch.setattr(module, "version", lambda name: "0.0.1")
    with pytest.raises(SchedulerError, match=r"has version 0.1.0 of seamsight, and this is 0.0.1"):
        list(on_scheduler(address, np.zeros, [1]))


def test_a_scheduler_that_is_not_there_or_has_no_workers(cluster, monkeypatch):
    monkeypatch.setattr(module, "PATIENCE", 1.0)
    started = time.monotonic()
    for address in (NOBODY, "nonsense"):
        with pytest.raises(SchedulerError, match=f"no scheduler answers at {address}"):
            list(on_scheduler(address, np.zeros, [1]))
    _, address = cluster(0)
    with pytest.raises(SchedulerError, match="has no workers"):
        list(on_scheduler(address, np.zeros, [1]))
    assert time.monotonic() - started < 15


def test_a_scheduler_that_goes_away(cluster, monkeypatch):
    monkeypatch.setattr(module, "PATIENCE", 1.0)
    process, address = cluster(1)

    def slow(number):
        time.sleep(0.2)
        return np.zeros(number)

    results = on_scheduler(address, slow, range(1000))
    next(results)
    process.kill()
    with pytest.raises(SchedulerError, match="does not answer any more"):
        list(results)


def test_a_missing_package_is_told_with_how_to_install_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(SchedulerError, match=r"pip install -e '.\[distributed\]'"):
        list(on_scheduler(NOBODY, np.zeros, [1]))
