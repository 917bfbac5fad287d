"""Heads spread over a region, and those left out."""

import itertools

import numpy as np
import pytest

from seamsight.scene import Head, PoseError, build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.head_region import HeadRegion, lookers

HEAD = Head(name="design", offset=(100, 0, 0))


def test_heads_are_unmoved_at_all_corners_and_between():
    heads = list(HeadRegion((HEAD,), (60, 40, 20), 10).places(1000))
    moved = {(head.offset[0] - 100, *head.offset[1:], head.turn) for head in heads}
    assert heads[0] == HEAD
    assert set(itertools.product((-60, 60), (-40, 40), (-20, 20), (-10, 10))) <= moved
    assert {(30, 0, 0, 0), (0, -40, 0, 0), (0, 0, 0, 10)} <= moved
    places = np.array(sorted(moved))
    assert len(places) > 900
    assert (np.abs(places) <= [60, 40, 20, 10]).all()
    # a third is at an end of each movement, the rest between
    assert (np.abs(places) == [60, 40, 20, 10]).mean(axis=0) == pytest.approx(1 / 3, abs=0.03)
    inner = np.sort(places[:, 0])
    assert np.diff(inner).max() < 1


def test_a_head_that_stays_looks_once():
    assert list(HeadRegion((HEAD,), (0, 0, 0), 0).places(1000)) == [HEAD]


def test_eyes_are_those_of_the_heads(rig_of):
    rig = rig_of()
    other = Head(name="other", offset=(0, 500, 0))
    found = lookers(build(rig), HeadRegion((HEAD, other), (60, 0, 0), 30), 50)
    assert {head.name for head in found.heads} == {"design", "other"}
    assert found.left_out == 0
    for number, head in enumerate(found.heads):
        eyes = eyes_of(rig, head)
        assert np.allclose(found.eyes[number], [eyes.left, eyes.right])
        start = eyes_of(rig, HEAD if head.name == "design" else other)
        ways = [eyes.left - start.left, eyes.right - start.right]
        assert found.far[number] == pytest.approx(np.linalg.norm(ways, axis=1).max())
    assert found.who(3) == (found.heads[1], "right")
    assert np.allclose(found.rows[3], found.eyes[1, 1])


def test_heads_with_an_eye_inside_a_part_are_left_out(rig_of):
    board = {"name": "wall", "size": [40, 400, 400], "centre": [60, 0, 0]}
    assembly = build(rig_of(board=[board]))
    region = HeadRegion((Head(name="design"),), (30, 0, 0), 0)
    found = lookers(assembly, region, 200)
    assert found.left_out > 10
    assert (found.eyes[..., 0] <= 40).all()
    with pytest.raises(PoseError, match="wall"):
        lookers(assembly, HeadRegion((Head(name="design", offset=(30, 0, 0)),), (0, 0, 0), 0), 9)
