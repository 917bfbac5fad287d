"""What takes up space: volumes against sums by hand, and what each belongs to."""

import math
import subprocess
import sys

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.spaces import spaces_of

DISPLAY = {"width": 400, "height": 300, "pixels": [800, 600], "bezel": 10, "lip": 5, "body": 30}
LENS = {
    "focal_length": 450,
    "distance": 150,
    "width": 500,
    "height": 400,
    "frame": {"width": 10, "depth": 20},
}
PLATE = {"name": "panel", "size": [100, 50], "thickness": 4, "centre": [0, 300, -400]}


@pytest.fixture
def spaces(rig_of):
    """Return a function from tables of a rig to its spaces by their names."""

    def make(**tables):
        return {space.name: space for space in spaces_of(build(rig_of(**tables)))}

    return make


def volume(space):
    return sum(piece.volume() for piece in space.body.pieces)


def test_units_of_a_bank(spaces):
    bank = {"name": "wall", "count": 2, "radius": 600, "screen": DISPLAY, "lens": LENS}
    bank |= {"carcass": {}, "hood": {"depth": 100}}
    found = spaces(bank=[bank])
    lens = found["wall.1 lens"]
    assert lens.owners == ("wall.1 lens", "wall.1", "wall")
    assert lens.where == ("bank", "wall", "lens")
    assert found["wall.2 carcass top"].where == ("bank", "wall", "carcass")
    assert found["wall.2 hood right"].owners[1:] == ("wall.2", "wall")
    assert volume(lens) == pytest.approx(500 * 400 * 2)
    assert sum(found["wall.1"].boxes.halves.prod(axis=1) * 8) == pytest.approx(
        420 * 320 * 30 + 5 * (2 * 10 * 320 + 2 * 10 * 420)  # bars meet at the corners
    )


def test_boxes_are_told_from_others(spaces):
    found = spaces(
        board=[{"name": "shelf", "size": [10, 20, 30], "centre": [0, 500, -300], "yaw": 30}],
        plate=[
            PLATE | {"holes": [{"shape": "circle", "at": [0, 0], "diameter": 20}]},
            PLATE | {"name": "blank"},
        ],
    )
    assert found["shelf"].boxes.halves == pytest.approx(np.array([[5, 10, 15]]))
    assert found["blank"].boxes.centres == pytest.approx(np.array([[0, 300, -400]]))
    assert found["panel"].boxes is None
    assert volume(found["panel"]) == pytest.approx(4 * (5000 - 100 * math.pi), rel=1e-3)


def test_what_parts_are_let_into(spaces):
    board = {"name": "l", "size": [10, 20, 30], "centre": [-90, 500, -300], "mirror": "r"}
    bank = {"name": "wall", "count": 3, "radius": 600, "screen": DISPLAY}
    found = spaces(board=[board | {"in": "wall.1"}], bank=[bank])
    assert (found["l"].let_into, found["r"].let_into) == ("wall.1", "wall.3")
    assert found["r"].where == ("board", "r")


def test_a_program_that_still_has_a_rig_ends_without_a_word(sample_rigs):
    file = sample_rigs / "three_bare_screens.toml"
    code = (
        "from seamsight.scene import build, read_rig\n"
        "from seamsight.scene.spaces import spaces_of\n"
        f"assembly = build(read_rig({str(file)!r}))\n"
        "bodies = [space.body is None for space in spaces_of(assembly)]\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")
