"""`seamsight head-map`: a table, arrays or a picture of a grid of head positions."""

import csv

import numpy as np
import pytest
from PIL import Image

SMALL = ("--reach", "50,25,0", "--step", "25")


def test_each_kind_of_file(run, bank_rig, tmp_path):
    for ending in ("csv", "npz", "png"):
        told = run("head-map", bank_rig, f"map.{ending}", *SMALL, "--turns=-10,10").stdout
        assert told.startswith(f"map.{ending}\n")
        assert "of 30 head positions" in told
    with (tmp_path / "map.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 5 * 3 * 2
    assert {row["turn"] for row in rows} == {"-10", "10"}
    assert np.load(tmp_path / "map.npz")["shares"].shape == (5, 3, 1, 2, 1, 2)
    with Image.open(tmp_path / "map.png") as picture:
        assert "head-map" in picture.info["Command"]


def test_a_file_is_not_overwritten(run, bank_rig):
    run("head-map", bank_rig, "map.csv", *SMALL)
    assert "exists" in run("head-map", bank_rig, "map.csv", *SMALL, status=1).stderr
    run("head-map", bank_rig, "map.csv", *SMALL, "--force")


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
def test_wrong_usage(run, bank_rig, words):
    run("head-map", bank_rig, *words, status=2)
