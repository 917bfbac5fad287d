"""Seen areas of random rigs with grooved lenses against rays counted one by one.

Each ray runs from the eye to a place of the image through the lens; whether a board is in its way
is told by where it crosses the board's six faces' planes.
"""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.frames import rotation
from seamsight.viewer.casting.sightlines import directions_through, image_points

WIDTH, HEIGHT = 480.0, 300.0
AHEAD, BEHIND = 700.0, 180.0  # eye to image, lens to image, mm
EYES = [np.array([x, 0.0, 0.0]) for x in (-31.5, 31.5)]
COLUMNS, ROWS = 450, 280
CLOSE = 8e-4  # of the image: what so many jittered rays can tell, four times over


def random_boards(rng, count, farthest):
    boards = []
    for number in range(count):
        long, thin = rng.uniform(200, 900), rng.uniform(2, 25)
        away = rng.uniform(160, farthest - 20)
        across, up = rng.uniform(-0.4, 0.4, 2) * [WIDTH, HEIGHT] * away / AHEAD
        boards.append(
            {
                "name": f"k{number}",
                "size": [thin, rng.uniform(1, 10), long],
                "centre": [across, away, up],
                "yaw": rng.uniform(-3, 3),
                "roll": rng.uniform(-180, 180),
            }
        )
    return boards


def crossed(board, start, ends):
    """Return which of the stretches from a start (3,) to ends (n, 3) cross a board."""
    axes = rotation(*np.radians([board["yaw"], 0, board["roll"]]))
    half = np.array(board["size"]) / 2
    here = (start - board["centre"]) @ axes
    ways = (ends - board["centre"]) @ axes - here
    with np.errstate(divide="ignore"):
        near, far = (-half - here) / ways, (half - here) / ways
    enter = np.minimum(near, far).max(axis=1)
    leave = np.maximum(near, far).min(axis=1)
    return (enter < leave) & (leave > 0) & (enter < 1)


def jittered(rng):
    """Return one place in each cell of the image: (n, 2)."""
    x, z = np.meshgrid(np.arange(COLUMNS), np.arange(ROWS))
    cells = np.column_stack([x.ravel(), z.ravel()]) + rng.random((COLUMNS * ROWS, 2))
    return (cells / [COLUMNS, ROWS] - 0.5) * [WIDTH, HEIGHT]


@pytest.mark.parametrize("seed", range(6))
def test_boards_before_a_grooved_lens(rig_of, screen_at, numbers_of, seed):
    rng = np.random.default_rng(seed)
    boards = random_boards(rng, rng.integers(1, 15), AHEAD - BEHIND)
    lens = {
        "screen": "screen",
        "model": "grooved",
        "grooves": rng.choice(["pilot", "screen"]),
        "conjugates": rng.choice(["rig", "infinity"]),
        "focal_length": rng.uniform(400, 900),
        "distance": BEHIND,
        "thickness": rng.uniform(1, 4),
        "width": rng.uniform(250, 620),
        "height": rng.uniform(200, 420),
        "frame": {"width": 900, "depth": 1},
    }
    screen = screen_at(width=WIDTH, height=HEIGHT, centre=[0, AHEAD, 0], body=5)
    rig = rig_of(screen=[screen], lens=[lens], board=boards)
    found = numbers_of(rig).screens["screen"]

    placed = build(rig).screens[0]
    points = image_points(placed, jittered(rng))
    sees = []
    for eye in EYES:
        ways = directions_through(placed.lens, eye, points, within=True)
        ends = eye + ways * (AHEAD - BEHIND) / ways[:, 1:2]
        sees.append(np.isfinite(ends[:, 0]))
        for board in boards:
            sees[-1] &= ~crossed(board, eye, ends)
    left, right = sees
    counted = {"left": left, "right": right, "both": left & right, "either": left | right}
    shares = {name: np.mean(sees) for name, sees in counted.items()}
    assert found.seen == pytest.approx(shares, abs=CLOSE)
