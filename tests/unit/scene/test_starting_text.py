"""The rig file that `start` writes: it says what was chosen, and stays right when it is changed."""

import dataclasses

import pytest

from seamsight.scene import Head, build, read_rig
from seamsight.scene.layout import place
from seamsight.scene.starting import Measures
from seamsight.scene.starting_choice import choose
from seamsight.scene.starting_text import rig_text, title
from seamsight.viewer import eyes_of, measure

WIDE = Measures(3, 685.8, (16, 9), (1920, 1080), 10, 1200, (576, 324), 700)


@pytest.fixture
def written(tmp_path):
    """Return a function from measures to the rig file written for them."""

    def write(measures=WIDE, **changes):
        measures = dataclasses.replace(measures, **changes)
        file = tmp_path / "rig.toml"
        file.write_text(rig_text(measures, choose(measures)), "utf-8")
        return file

    return write


def test_it_is_short_and_has_what_a_cockpit_has(written):
    file = written()
    assert sum(1 for line in file.read_text("utf-8").splitlines() if line.strip()) < 60
    rig = read_rig(file)
    assert rig.name == "Three 27-inch screens behind lenses"
    assert rig.bank[0].carcass and rig.bank[0].hood
    assert [board.name for board in rig.board] == ["bracket 1", "bracket 2"]
    assert [plate.name for plate in rig.plate] == ["main panel"]
    assert [screen.name for screen in rig.screen] == ["gauges"]


@pytest.mark.parametrize(
    "changes",
    [{}, {"lens": (650, 365), "focal_length": 500}, {"lens": (560, 320), "focal_length": 400}],
)
def test_its_formulas_come_to_what_was_chosen(written, changes):
    choice = choose(dataclasses.replace(WIDE, **changes))
    bank = read_rig(written(**changes)).bank[0]
    assert bank.radius == choice.radius
    assert bank.lens.separation == pytest.approx(choice.distance, rel=1e-5)
    assert bank.screen.size == pytest.approx(WIDE.image)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("values.lens_width", 590),
        ("values.lens_height", 330),
        ("values.radius", 640),
        ("values.focal_length", 800),
        ("values.diagonal", "28 in"),
    ],
)
def test_the_image_still_fills_its_lens_when_a_value_is_changed(written, path, value):
    screen = place(read_rig(written(), {path: value}))[2]
    optic = screen.lens.optic
    magnification = optic.focal_length / (optic.focal_length - optic.separation)
    radius = 640 if path == "values.radius" else 600
    looks = magnification * radius / (radius + magnification * optic.separation)
    filled = [looks * side for side in screen.size]
    assert filled[0] >= optic.width - 1e-6 and filled[1] >= optic.height - 1e-6
    assert filled == pytest.approx([optic.width, optic.height], rel=0.1)


@pytest.mark.parametrize(
    "change",
    [{"values.radius": 630}, {"values.bezel": 25}, {"values.board": 25}, {"outside.count": 5}],
)
def test_nothing_is_in_the_way_of_anything_when_a_value_is_changed(written, change):
    rig = read_rig(written(), change)
    numbers = measure(build(rig), eyes_of(rig, Head(name="here")))
    assert numbers.notes == []
    seams = [seam for seam in numbers.seams if "gauges" not in seam.between]
    assert len(seams) == rig.bank[0].count - 1
    assert [seam.dark["mid"] for seam in seams] == pytest.approx([0] * len(seams), abs=1e-3)


@pytest.mark.parametrize(
    ("count", "brackets"),
    [(1, 0), (2, 1), (3, 2), (4, 3), (5, 4)],
)
@pytest.mark.parametrize("lens", [None, (576, 324)])
def test_each_seam_has_a_bracket(written, count, brackets, lens):
    rig = read_rig(written(count=count, lens=lens))
    names = {f"bracket {number}" for number in range(1, brackets + 1)}
    assert {board.name for board in rig.board} == names
    sideways = sorted(board.centre[0] for board in rig.board)
    assert sideways == pytest.approx([-x for x in reversed(sideways)])


@pytest.mark.parametrize(
    ("count", "lens", "said"),
    [
        (1, (650, 365), "One 27-inch screen behind a lens"),
        (2, None, "Two bare 27-inch screens"),
        (12, None, "12 bare 27-inch screens"),
    ],
)
def test_it_is_called_what_it_is(count, lens, said):
    assert title(dataclasses.replace(WIDE, count=count, lens=lens)) == said
