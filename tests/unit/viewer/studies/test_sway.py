"""What a moving head loses, held to the same by hand; and movements read from files."""

import numpy as np
import pytest

from seamsight.scene import FileError, Head, build
from seamsight.viewer.studies.head_box import Asked, head_box
from seamsight.viewer.studies.sway import Movement, losses, read_movement, swaying

DESIGN = Head(name="design")


@pytest.fixture
def placed(rig_of):
    screen = {"width": 480, "height": 300, "pixels": [800, 500]}
    lens = {"focal_length": 450, "distance": 150, "width": 560, "height": 360}
    frame = {"frame": {"width": 400, "depth": 1}}
    bank = {"name": "row", "count": 1, "radius": 600, "screen": screen, "lens": lens | frame}
    return build(rig_of(bank=[bank]))


def sideways(times, rights):
    places = np.zeros((len(times), 6))
    places[:, 0] = rights
    return Movement(np.array(times, float), places)


def test_the_share_of_the_time_is_that_beyond_the_head_box(placed):
    room = head_box(placed, DESIGN, Asked(0.98)).travel["right"].far
    rights = np.linspace(0, 2 * room, 401)
    found = losses(placed, DESIGN, sideways(np.linspace(0, 10, 401), rights), 0.98)
    assert found.seconds == 10
    assert found.share == pytest.approx(0.5, abs=0.02)
    assert found.screens["row.1"].share == found.share
    assert found.screens["row.1"].at == pytest.approx(10, abs=0.5)


def test_times_count_by_how_long_they_last(placed):
    far = 3 * head_box(placed, DESIGN, Asked(0.98)).travel["left"].far
    # at rest for 9 s; gone for the last second, of which half counts for the way there
    found = losses(placed, DESIGN, sideways([0, 9, 10], [0, 0, -far]), 0.98)
    assert found.share == pytest.approx(0.05)
    # aside from the beginning, and back
    aside = Head(name="aside", offset=(-far, 0, 0))
    assert losses(placed, aside, sideways([0, 1], [0, 0]), 0.98).share == 1
    assert losses(placed, aside, sideways([0, 1], [far, far]), 0.98).share == 0


def test_swaying_reaches_each_way_and_no_farther():
    movement = swaying((20, 10, 5))
    reach = np.abs(movement.places).max(axis=0)
    assert reach[:3] == pytest.approx([20, 10, 5], rel=0.01)
    assert not reach[3:].any()
    assert (np.diff(movement.times) > 0).all()


def test_a_recorded_movement(tmp_path):
    file = tmp_path / "moves.csv"
    file.write_text("time, y,turn\n0,1,2\n0.5,-3,4.5\n\n", "utf-8")
    movement = read_movement(file)
    assert movement.times.tolist() == [0, 0.5]
    assert movement.places.tolist() == [[0, 1, 0, 2, 0, 0], [0, -3, 0, 4.5, 0, 0]]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "needs a heading"),
        ("x,y\n1,2\n3,4\n", "needs a heading"),
        ("time\n1\n2\n", "needs a heading"),
        ("time,w\n1,2\n2,3\n", "needs a heading"),
        ("time,x,x\n1,2,3\n2,3,4\n", "needs a heading"),
        ("time,x\n1,2\n", "needs 2 to"),
        ("time,x\n1,2\n2\n", "line 3: needs 2 numbers"),
        ("time,x\n1,2\n2,\n", "line 3: x is not a number"),
        ("time,x\n1,2\n2,nan\n", "line 3: x is not a number"),
        ("time,x\n1,2\n2,1e9\n", "line 3: x is not a number"),
        ("time,x\n2,2\n1,3\n", "time must rise"),
    ],
)
def test_files_that_cannot_be_used(tmp_path, text, told):
    file = tmp_path / "moves.csv"
    file.write_text(text, "utf-8")
    with pytest.raises(FileError, match=told):
        read_movement(file)


def test_a_file_that_is_no_text(tmp_path):
    file = tmp_path / "moves.csv"
    file.write_bytes(b"\xff\xfe\x00time")
    with pytest.raises(FileError, match="cannot be read"):
        read_movement(file)
    with pytest.raises(FileError, match="cannot be read"):
        read_movement(tmp_path / "nothing.csv")
