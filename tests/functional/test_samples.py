"""The samples against an earlier writing of theirs, in which every place was a plain number."""

import json
from pathlib import Path

import numpy as np
import pytest

from seamsight.scene import build, read_rig

PLACES = json.loads(Path(__file__).with_name("sample_places.json").read_text("utf-8"))
# what gave way to the carcass of the main sample when it got one
MOVED = {"harbour_floatplane": {"sill", "brow", "bracket"}}


def test_parts_are_where_they_were(sample):
    parts = {part.name: part.triangles for part in build(read_rig(sample)).parts}
    for name, box in PLACES[sample.stem]["parts"].items():
        if name.split()[0] not in MOVED.get(sample.stem, ()):
            found = [parts[name].min(axis=(0, 1)), parts[name].max(axis=(0, 1))]
            assert np.abs(np.array(box) - found).max() < 0.5, name


def test_marks_and_heads_are_where_they_were(sample):
    rig = read_rig(sample)
    for mark in rig.mark:
        assert mark.at == pytest.approx(PLACES[sample.stem]["marks"][mark.name], abs=0.5)
    heads = {
        name: (*head.offset, head.turn, head.nod, head.tilt) for name, head in rig.heads().items()
    }
    assert heads == {
        name: pytest.approx(place, abs=0.05) for name, place in PLACES[sample.stem]["heads"].items()
    }
