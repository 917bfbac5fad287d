"""A tree of boxes over triangles: nothing left out, nothing sticks out, never too deep."""

import time

import numpy as np
import pytest

from seamsight.viewer.casting.box_tree import DEPTH, LEAF, box_tree_of


def soup(count, size=20.0, seed=1):
    random = np.random.default_rng(seed)
    middles = random.uniform(-1000, 1000, (count, 1, 3))
    return (middles + random.normal(scale=size, size=(count, 3, 3))).astype(np.float32)


def halving(count):
    """Return triangles each half as far from the origin, and half as large, as the one before."""
    shares = 2.0 ** -np.arange(count)[:, None, None]
    return (np.eye(3) * shares * 1e30).astype(np.float32)


SOUPS = {
    "none": np.zeros((0, 3, 3), np.float32),
    "one": soup(1),
    "one leaf": soup(LEAF),
    "few": soup(LEAF + 1),
    "many": soup(20_000),
    "in one place": np.tile(soup(1), (1000, 1, 1)),
    "flat": soup(1000) * np.array([1, 0, 1], np.float32),
    "on a line": soup(1000) * np.array([0, 1, 0], np.float32),
    "points": np.repeat(soup(1000)[:, :1], 3, axis=1),
    "each half the last": halving(230),
    "one far away": np.concatenate([soup(1000), soup(1) + np.float32(1e9)]),
}


@pytest.mark.parametrize("triangles", SOUPS.values(), ids=SOUPS.keys())
def test_every_triangle_is_in_one_box_and_every_box_within_the_one_above(triangles):
    tree = box_tree_of(triangles)
    assert sorted(tree.faces) == list(range(len(triangles)))
    np.testing.assert_array_equal(tree.corners, triangles[tree.faces])

    times = np.zeros(len(triangles), int)
    depth = np.ones(len(tree.boxes), int)
    for box, (first, held) in enumerate(zip(tree.first, tree.held, strict=True)):
        if held or len(triangles) == 0:
            times[first : first + held] += 1
            lows = highs = tree.corners[first : first + held].reshape(-1, 3)
        else:
            depth[first : first + 2] = depth[box] + 1
            lows, highs = np.split(tree.boxes[first : first + 2], 2, axis=1)
        assert held <= LEAF
        assert (tree.boxes[box, :3] <= lows).all()
        assert (tree.boxes[box, 3:] >= highs).all()
    assert (times == 1).all()
    assert depth.max() <= DEPTH


def test_a_million_triangles_take_a_few_seconds():
    triangles = soup(1_000_000, size=5.0)
    box_tree_of(triangles[:10])  # compiles
    start = time.process_time()
    tree = box_tree_of(triangles)
    assert time.process_time() - start < 10.0  # 1.5 s on a processor of 2023
    assert len(tree.boxes) < 1_000_000
