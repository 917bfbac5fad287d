"""`seamsight head-map`: a table, arrays or a picture of a grid of head positions."""

import csv
import shutil
import signal
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image

SMALL = ("--reach", "50,25,0", "--step", "25")


def test_each_kind_of_file(call, bank_rig, tmp_path):
    for ending in ("csv", "npz", "png"):
        told = call("head-map", bank_rig, f"map.{ending}", *SMALL, "--turns=-10,10").stdout
        assert told.startswith(f"map.{ending}\n")
        assert "of 30 head positions" in told
    with (tmp_path / "map.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 5 * 3 * 2
    assert {row["turn"] for row in rows} == {"-10", "10"}
    assert np.load(tmp_path / "map.npz")["shares"].shape == (5, 3, 1, 2, 1, 2)
    with Image.open(tmp_path / "map.png") as picture:
        assert "head-map" in picture.info["Command"]


def test_a_file_is_not_overwritten(call, bank_rig):
    call("head-map", bank_rig, "map.csv", *SMALL)
    assert "exists" in call("head-map", bank_rig, "map.csv", *SMALL, status=1).stderr
    call("head-map", bank_rig, "map.csv", *SMALL, "--force")


@pytest.mark.parametrize(
    "words",
    [
        ("map.txt",),
        ("map.csv", "--reach", "1,2"),
        ("map.csv", "--reach=-1,2,3"),
        ("map.csv", "--step", "0"),
        ("map.csv", "--step", "nan"),
        ("map.csv", "--turns", "a"),
        ("map.csv", "--reach", "5000,5000,5000", "--step", "1"),
        ("map.csv", "--head", "nobody"),
    ],
)
def test_wrong_usage(call, bank_rig, words):
    call("head-map", bank_rig, *words, status=2)


# A run that ends itself after some pieces: a signal sent from outside could come too late
STOPPED = """
import os, signal, sys
from seamsight.cli import head_map_work
from seamsight.cli.main import main
from seamsight.viewer.studies import head_map
from seamsight.viewer.studies.unfinished import Unfinished

head_map.PIECE = 8
left = [int(sys.argv.pop(1))]
number = getattr(signal, sys.argv.pop(1))
keep = Unfinished.keep

def stop_after(self, *words):
    keep(self, *words)
    left[0] -= 1
    if left[0] == 0:
        os.kill(os.getpid(), number)

Unfinished.keep = stop_after
main()
"""


@pytest.fixture
def stopped(tmp_path, bank_rig):
    """Map in pieces of 8 head positions; be killed by a signal after some of them."""

    def stopped(pieces, number, out="map.npz", *words):
        program = [sys.executable, "-c", STOPPED, str(pieces), number]
        return subprocess.run(
            [*program, "head-map", bank_rig, out, *SMALL, "--turns=-10,10", *words],
            check=False,
            cwd=tmp_path,
            capture_output=True,
            text=True,
        )

    return stopped


def test_a_killed_map_goes_on_and_is_the_same_to_the_last_bit(stopped, tmp_path):
    assert stopped(99, "SIGKILL", "straight.npz").returncode == 0
    folder = tmp_path / "map.npz.unfinished"
    assert stopped(2, "SIGKILL").returncode == -signal.SIGKILL
    assert len(list(folder.iterdir())) == 2
    assert not (tmp_path / "map.npz").exists()

    # a scheduler that does not answer changes nothing of that
    done = stopped(99, "SIGKILL", "map.npz", "--scheduler", "tcp://127.0.0.1:1")
    assert done.returncode == 1
    assert done.stderr.splitlines()[-1] == "no scheduler answers at tcp://127.0.0.1:1"
    assert len(list(folder.iterdir())) == 2

    # half a piece, one of another map, and what a killed run may leave
    first, second = sorted(folder.iterdir())
    second.write_bytes(second.read_bytes()[:-40])
    shutil.copy(first, folder / f"{'0' * 16}-00000.npz")
    done = stopped(99, "SIGKILL")
    assert done.returncode == 0
    assert "a damaged file in map.npz.unfinished is not used" in done.stderr
    assert "parts of a map with other values too" in done.stderr
    assert "8 of 30 head positions are done already" in done.stderr
    assert (tmp_path / "map.npz").read_bytes() == (tmp_path / "straight.npz").read_bytes()
    assert not folder.exists()


def test_ctrl_c_ends_at_once_and_says_how_to_go_on(stopped, tmp_path):
    done = stopped(1, "SIGINT")
    assert done.returncode == 130
    assert done.stderr.endswith("seamsight: stopped; the same command goes on from here\n")
    assert len(list((tmp_path / "map.npz.unfinished").iterdir())) == 1
    assert not (tmp_path / "map.npz").exists()
