"""Which numbers of a rig file can be changed, and what is told of each."""

import tomllib

import pytest

from seamsight.scene import RigError, read_rig
from seamsight.scene.adjustable import adjustables

TEXT = """
format = 1
name = "rig"
values = { sheet = "20 in", turn = 12 }
pilot = { eye_point = [0, 0, "4 ft"] }
bank = [{ name = "wall", count = 2, radius = 600, toe = 40, screen = { diagonal = "22 in", \
aspect = "16:10", pixels = [168, 105], luminance = 300, mass = 3.5 }, lens = { focal_length = 450, \
magnification = 1.5, width = "= sheet + 9 mm", height = 330, draft = 3 } }]
board = [{ name = "a b", size = [1, 2, 3], centre = [0, 9, 0], yaw = "3 deg", colour = "#112233" }]
plate = [{ name = "p", size = [300, 200], thickness = 4, centre = [0, 500, -300], holes = [
    { shape = "circle", at = [1, 2], diameter = 5 }, { shape = "rect", at = [0, 0], size = [9, 9] },
] }]
output = [{ name = "socket", link = "VGA", screens = ["wall.2"], refresh = 75, desktop = [0, 9] }]
"""


@pytest.fixture(scope="module")
def numbers():
    return adjustables(tomllib.loads(TEXT))


@pytest.mark.parametrize(
    ("path", "value", "unit", "low", "high"),
    [
        ("pilot.eye_point.3", 1219.2, "mm", -1e5, 1e5),
        ("wall.radius", 600, "mm", 0.01, 1e5),
        ("wall.toe", 40, "°", 0, 180),
        ("wall.screen.diagonal", 558.8, "mm", 0.01, 1e5),
        ("wall.screen.luminance", 300, "cd/m²", 1, 1e5),
        ("wall.screen.mass", 3.5, "kg", 0.001, 1000),
        ("wall.lens.width", 517, "mm", 0.01, 1e5),
        ("wall.lens.magnification", 1.5, "", pytest.approx(1), 1000),
        ("wall.lens.draft", 3, "°", 0, 45),
        ("a b.yaw", 3, "°", -360, 360),
        ("a b.size.2", 2, "mm", 0.01, 1e5),
        ("p.holes.1.diameter", 5, "mm", 0.01, 1e5),
        ("p.holes.2.size.1", 9, "mm", 0.01, 1e5),
        ("values.sheet", 508, "mm", -1e5, 1e5),
        ("values.turn", 12, "", -1e5, 1e5),
    ],
)
def test_value_unit_and_limits(numbers, path, value, unit, low, high):
    found = numbers[path]
    assert (found.path, found.value, found.unit) == (path, pytest.approx(value), unit)
    assert (found.low, found.high) == (low, high)
    assert found.meaning


def test_what_is_no_number_or_counts_pixels_and_screens_is_left_out(numbers):
    names = " ".join(numbers)
    for word in ("format", "name", "count", "pixels", "aspect", "colour", "shape"):
        assert word not in names


def test_what_outputs_say_changes_nothing_that_is_seen(numbers):
    assert not any("socket" in path for path in numbers)


def test_text_of_the_file_is_told(numbers):
    assert numbers["wall.lens.width"].written == "= sheet + 9 mm"
    assert numbers["wall.screen.diagonal"].written == "22 in"
    assert numbers["wall.radius"].written == ""


def test_values_are_those_of_the_rig(sample):
    rig = read_rig(sample)
    data = tomllib.loads(sample.read_text("utf-8"))
    numbers = adjustables(data)
    for axis, place in enumerate(rig.pilot.eye_point, start=1):
        assert numbers[f"pilot.eye_point.{axis}"].value == place
    for bank in rig.bank:
        assert numbers[f"{bank.name}.radius"].value == bank.radius
    written = {board["name"] for board in data["board"]}  # mirror images are not
    for board in rig.board:
        if board.name in written:
            assert numbers[f"{board.name}.size.1"].value == board.size[0]


def test_a_number_at_its_limit_is_right_and_beyond_it_wrong(write_rig):
    file = write_rig(TEXT.replace("format = 1", "format = 1", 1), header="")
    for path, beyond in (("wall.lens.draft", 0.001), ("wall.screen.luminance", 0.001)):
        low = adjustables(tomllib.loads(TEXT))[path].low
        assert read_rig(file, {path: low})
        with pytest.raises(RigError, match="must be at least"):
            read_rig(file, {path: low - beyond})


@pytest.mark.parametrize(("other", "doubtful"), [("a.size", "a.size.1"), ("x_y", "x_y.size.1")])
def test_a_path_that_leads_to_another_number_is_left_out(other, doubtful):
    names = ("a", "x y", other)
    boards = [{"name": name, "size": [1, 2, 3], "centre": [0, 9, 0]} for name in names]
    numbers = adjustables({"board": boards, "pilot": {"eye_point": [0, 0, 0]}})
    assert doubtful not in numbers
    assert numbers["a.centre.2"].value == numbers["x y.size.2"].value + 7 == 9
