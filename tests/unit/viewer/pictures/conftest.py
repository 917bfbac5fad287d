"""What the tests of pictures share: things to compare, a photograph from a seat, its camera."""

import math
from dataclasses import dataclass

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer import Projection, eyes_of, see
from seamsight.viewer.colour import srgb
from seamsight.viewer.pictures.compare import Seen, compare
from seamsight.viewer.pictures.photo import CORNERS, Match, corner_direction


@pytest.fixture(scope="session")
def board():
    """Return the table of a board 400 mm ahead, 0 to 100 mm right, 30 mm up and down."""
    return {"name": "board", "size": [100, 10, 60], "centre": [50, 405, 0]}


@pytest.fixture(scope="session")
def bare(rig_of, screen_at):
    """Return a rig of one screen."""
    return rig_of(screen=[screen_at()])


@pytest.fixture(scope="session")
def with_board(rig_of, screen_at, board):
    """Return the same with a board before the screen."""
    return rig_of(screen=[screen_at()], board=[board])


@pytest.fixture(scope="session")
def seen_of():
    """Return a function from a Rig, a caption and keys of a head to something to compare."""

    def seen(rig, caption="rig", **head):
        return Seen(caption, build(rig), eyes_of(rig, Head(name="here", **head)))

    return seen


@pytest.fixture(scope="session")
def comparison(rig_of, screen_at, seen_of, board):
    """Return two screens compared with the same behind a board, for both eyes."""
    screens = [
        screen_at("<left>", centre=[-210, 600, 0]),
        screen_at("right", centre=[210, 600, 0]),
    ]
    first = seen_of(rig_of(screen=screens), "as it is")
    blocked = seen_of(rig_of(screen=screens, board=[board]), "with & board")
    return compare([first, blocked], ["left", "right"], 300, 150, samples=1)


@dataclass(frozen=True)
class PinholeCamera:
    """A camera in closed form: its place, and where its pixels look."""

    eye: np.ndarray
    projection: Projection

    @property
    def matrix(self):
        """From (column, row, 1) to a direction, (3, 3)."""
        projection = self.projection
        width, height = projection.width, projection.height
        step = 2 * math.tan(math.radians(projection.field / 2)) / width
        right, forward, up = projection.axes.T
        middle = forward - right * step * width / 2 + up * step * height / 2
        return np.column_stack([right * step, -up * step, middle])

    def pixel_of(self, direction):
        """Return the column and row where a direction falls."""
        column, row, depth = np.linalg.inv(self.matrix) @ direction
        assert depth > 0
        return column / depth, row / depth


@pytest.fixture(scope="session")
def camera():
    """Return the camera of the photograph."""
    projection = Projection("rectilinear", 480, 320, 80.0, 9.0, -6.0, 5.0, samples=2)
    return PinholeCamera(np.array([10.0, -20.0, 5.0]), projection)


@pytest.fixture(scope="session")
def seat(rig_of, screen_at):
    """Two screens that show a test card, one behind a lens, and a post."""
    screens = [
        screen_at("in front", shows="card", centre=[0, 700, 0]),
        screen_at("beside", shows="card"),
    ]
    screens[1] |= {"centre": [500, 500, 40], "yaw": 45, "bezel": 15}
    lens = {"screen": "in front", "focal_length": 450, "distance": 150, "width": 517, "height": 380}
    post = {"name": "post", "size": [30, 30, 500], "centre": [-200, 500, 0]}
    return build(rig_of(screen=screens, lens=[lens], board=[post]))


@pytest.fixture(scope="session")
def photograph(seat, camera):
    """What the camera sees there."""
    return srgb(see(seat, camera.eye, camera.projection).light)


@pytest.fixture(scope="session")
def corners(seat, camera):
    """Six corners of screens, matched where they lie in the photograph."""
    names = [("in front", corner) for corner in CORNERS]
    names += [("beside", "top left"), ("beside", "bottom left")]
    directions = [corner_direction(seat, camera.eye, *name) for name in names]
    return [Match(camera.pixel_of(direction), direction) for direction in directions]
