"""Seen areas of random rigs against polygons drawn by another library from closed forms of our own.

A board is seen as the hull of its eight corners, each projected by the eye's straight ray, or by
the thin lens law.
"""

import itertools
import math

import numpy as np
import pytest
import shapely

SCREEN = (480.0, 300.0)
AHEAD, BEFORE = 700.0, 180.0  # eye to image, lens to image, mm
FOCAL_LENGTH = 520.0
CLOSE = 1e-5  # of the image


def random_boards(rng, count, nearest, farthest):
    """Return posts, rails, slats and boards, many of them thin, most turned by little."""
    boards = []
    for number in range(count):
        long, thin, thick = rng.uniform(80, 1200), rng.uniform(0.5, 12), rng.uniform(0.5, 8)
        sizes = [[thin, thick, long], [long, thick, thin], [10 * thin, thick, 10 * thick]]
        turn = rng.choice([0.0, 0.1, 2.0, 40.0])
        yaw, pitch, roll = rng.uniform(-turn, turn, 3)
        away = rng.uniform(nearest + 8, farthest - 8)
        yaw, pitch = yaw * 0.01, pitch * 0.01  # stays between its planes
        across, up = rng.uniform(-0.4, 0.4, 2) * SCREEN * away / AHEAD
        boards.append(
            {
                "name": f"k{number}",
                "size": list(sizes[rng.integers(3)]),
                "centre": [across, away, up],
                "yaw": yaw,
                "pitch": pitch,
                "roll": roll,
            }
        )
    return boards


def corners_of(board):
    """Return a board's corners (8, 3): turned by roll, pitch, yaw, one after the other."""
    points = np.array(list(itertools.product((-0.5, 0.5), repeat=3))) * board["size"]
    for a, b, angle in ((2, 0, board["roll"]), (1, 2, board["pitch"]), (1, 0, board["yaw"])):
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        points[:, a], points[:, b] = (
            c * points[:, a] - s * points[:, b],
            s * points[:, a] + c * points[:, b],
        )
    return points + board["centre"]


def straight(points, eye):
    """Return where straight rays from an eye at (x, 0, z) through points meet the image's plane."""
    return eye[[0, 2]] + (points[:, [0, 2]] - eye[[0, 2]]) * AHEAD / points[:, 1:2]


def through_lens(points, eye):
    """Return where rays from an eye through points, bent by the lens, meet the image's plane."""
    e, x = AHEAD - BEFORE, eye[[0, 2]]
    behind = np.maximum(points[:, 1:2] - e, 0.0)
    before = x + (points[:, [0, 2]] - x) * e / points[:, 1:2]
    # q = p + s ((p - x) / e - p / f), solved for p
    bent = (points[:, [0, 2]] + behind * x / e) / (1 + behind / e - behind / FOCAL_LENGTH)
    place = np.where(behind > 0, bent, before)
    return place + BEFORE * ((place - x) / e - place / FOCAL_LENGTH)


def hull(points):
    return shapely.MultiPoint(points).convex_hull


def shares_of(left, right):
    whole = SCREEN[0] * SCREEN[1]
    seen = {"left": left, "right": right, "both": left & right, "either": left | right}
    return {eye: region.area / whole for eye, region in seen.items()}


@pytest.fixture
def image():
    return shapely.box(-SCREEN[0] / 2, -SCREEN[1] / 2, SCREEN[0] / 2, SCREEN[1] / 2)


@pytest.fixture
def numbers_with(rig_of, screen_at, numbers_of):
    def find(boards, lens=None):
        screen = screen_at(width=SCREEN[0], height=SCREEN[1], centre=[0, AHEAD, 0], body=5)
        return numbers_of(rig_of(screen=[screen], board=boards, lens=[lens] if lens else []))

    return find


EYES = [np.array([x, 0.0, 0.0]) for x in (-31.5, 31.5)]


@pytest.mark.parametrize("seed", range(12))
def test_boards_before_a_bare_screen(numbers_with, image, seed):
    rng = np.random.default_rng(seed)
    boards = random_boards(rng, rng.integers(1, 41), 150, AHEAD)
    numbers = numbers_with(boards)
    left, right = (
        image - shapely.unary_union([hull(straight(corners_of(board), eye)) for board in boards])
        for eye in EYES
    )
    assert numbers.screens["screen"].seen == pytest.approx(shares_of(left, right), abs=CLOSE)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("size", [(900, 700), (300, 200)])
def test_boards_before_and_behind_a_thin_lens(numbers_with, image, seed, size):
    rng = np.random.default_rng(100 + seed)
    boards = random_boards(rng, rng.integers(1, 21), 150, AHEAD - BEFORE)
    boards += random_boards(rng, rng.integers(1, 21), AHEAD - BEFORE, AHEAD)
    boards = [board | {"name": f"k{number}"} for number, board in enumerate(boards)]
    lens = {"screen": "screen", "focal_length": FOCAL_LENGTH, "distance": BEFORE}
    numbers = numbers_with(boards, lens | {"width": size[0], "height": size[1]})

    corners = np.array([(x, AHEAD - BEFORE, z) for x in (-0.5, 0.5) for z in (-0.5, 0.5)]) * [
        size[0],
        1,
        size[1],
    ]
    seen = []
    for eye in EYES:
        shadows = [hull(through_lens(corners_of(board), eye)) for board in boards]
        through = image & hull(through_lens(corners, eye)) - shapely.unary_union(shadows)
        shadows = [hull(straight(corners_of(board), eye)) for board in boards]
        past = image - hull(straight(corners, eye)) - shapely.unary_union(shadows)
        seen.append(through | past)
    assert numbers.screens["screen"].seen == pytest.approx(shares_of(*seen), abs=CLOSE)
