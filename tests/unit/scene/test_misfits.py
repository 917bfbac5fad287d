"""Each misfit at both sides of its limit; figures by hand."""

import io

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import build, read_rig
from seamsight.scene.misfits import lens_crossings, misfits
from seamsight.scene.notes import with_lines

LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 400}


@pytest.fixture
def notes(rig_of, screen_at):
    """Return a function from keys of a screen, and other tables, to the notes on a rig of it."""

    def make(screen=None, **tables):
        return misfits(build(rig_of(screen=[screen_at(**(screen or {}))], **tables)))

    return make


def test_a_usual_rig_has_none(notes):
    assert notes(lens=[LENS | {"focal_length": 700}]) == []


def sized(diagonal, pixels=(1600, 900)):
    unit = {"name": "b", "count": 1, "radius": 600}
    unit["screen"] = {"diagonal": diagonal, "aspect": "16:9", "pixels": list(pixels)}
    return [unit]


@pytest.mark.parametrize(
    ("diagonal", "meant"),
    [
        (27, 'did you mean "27 in"?'),
        (3, "for a screen: is that right?"),  # 3 in is still too small
        (99.9, 'did you mean "99.9 cm"?'),  # 99.9 in is too large
        (100, None),
        (2500, None),
        (2794, ": did you mean 110 mm?"),
        ("685.8 in", ": did you mean 685.8 mm?"),
    ],
)
def test_screens_of_odd_sizes(rig_of, diagonal, meant):
    found = misfits(build(rig_of(bank=sized(diagonal))))
    assert [note.kind for note in found] == ["unit"] * (meant is not None)
    if meant:
        assert found[0].text.endswith(meant)
        assert found[0].where == ("bank", "b", "screen", "diagonal")


def test_a_small_width_is_asked_about_as_it_was_written(notes):
    [note] = notes({"width": 20, "height": 15})
    assert note.text == (
        "screen has a width of 20 mm, very small for a screen; a number without a unit is mm: did "
        'you mean "20 in"?'
    )
    assert (note.amount, note.where) == (20, ("screen", "screen", "width"))


@pytest.mark.parametrize(
    ("distance", "meant"),
    [
        (6.3, '"6.3 cm"?'),
        (2.5, '"2.5 in"?'),
        (49, "right?"),
        (50, None),
        (80, None),
        (81, "right?"),
    ],
)
def test_pupil_distances(rig_of, distance, meant):
    pilot = {"eye_point": [0, 0, 0], "pupil_distance": distance}
    found = misfits(build(rig_of(pilot=pilot)))
    assert [note.amount for note in found] == [distance] * (meant is not None)
    assert not meant or found[0].text.endswith(meant)


@pytest.mark.parametrize(
    ("pixels", "cure"),
    [
        ((1366, 768), None),
        ((1600, 916), None),  # 1.8 %
        ((1600, 920), '"40:23"'),  # 2.2 %
        ((1680, 1050), '"16:10"'),
        ((1024, 600), '"128:75"'),
        ((900, 1600), "write pixels = [1600, 900] for a screen that is turned by 90 degrees"),
    ],
)
def test_pixels_that_do_not_fit(rig_of, pixels, cure):
    found = misfits(build(rig_of(bank=sized("22 in", pixels))))
    assert len(found) == (cure is not None)
    assert not cure or cure in found[0].text


def test_pixels_of_a_measured_image(notes):
    [note] = notes({"height": 310})
    # 400 x 310 mm of 800 x 600 pixels: 0.5 x 0.51667
    assert note.text.endswith(
        "each would be 3.3 % higher than wide; if they are square, height = 300.0 fits this width"
    )
    assert note.amount == pytest.approx(30 / 31)


@pytest.mark.parametrize(("lip", "count"), [(150, 0), (151, 1)])
def test_a_lip_past_the_lens(notes, lip, count):
    found = notes({"bezel": 10, "lip": lip}, lens=[LENS | {"focal_length": 700}])
    assert [note.where for note in found] == [("screen", "screen", "lip")] * count


@pytest.mark.parametrize(("width", "count"), [(343, 0), (342, 1)])
def test_a_lens_smaller_than_its_screen(notes, width, count):
    # 400 wide, 480 at M = 1.2, 180 behind the lens; that is at 450: 480 x 450 / 630 = 342.9
    found = notes(lens=[LENS | {"focal_length": 900, "width": width}])
    assert [note.where[-1] for note in found] == ["width"] * count


def test_crossings_by_hand(rig_of, screen_at):
    lens = LENS | {"focal_length": 900, "offset": [10, 0]}
    [screen] = build(rig_of(screen=[screen_at()], lens=[lens])).screens
    eye = np.zeros(3)
    assert screen.lens
    found = lens_crossings(screen, screen.lens, eye)
    assert found is not None
    # from the lens's middle: eye at -10, right edge at 190 x 1.2 = 228, 180 behind the lens
    assert found[:, 0].max() == pytest.approx(-10 + 238 * 450 / 630)
    assert found[:, 1].max() == pytest.approx(150 * 1.2 * 450 / 630)
    assert lens_crossings(screen, screen.lens, np.array([0, 451, 0])) is None


@pytest.mark.parametrize(("focal_length", "fast"), [(600, None), (480, 0.98), (450, 0.9)])
def test_lenses_faster_than_one(notes, focal_length, fast):
    found = notes(lens=[LENS | {"focal_length": focal_length}])
    enlarged = focal_length / (focal_length - 150)
    used = 500 * enlarged * 450 / (450 + 150 * enlarged)  # diagonal of 400 x 300, as seen
    assert (focal_length / used < 1) == (fast is not None)
    assert [note.amount for note in found] == pytest.approx([focal_length / used] * bool(fast))


@pytest.fixture
def picture_beside(tmp_path):
    """Return a function that writes a picture of some size beside a rig file."""

    def write(width, height):
        stream = io.BytesIO()
        Image.new("RGB", (width, height)).save(stream, "PNG")
        (tmp_path / "wide.png").write_bytes(stream.getvalue())
        return tmp_path / "rig.toml"

    return write


@pytest.mark.parametrize(("width", "words"), [(2400, None), (2360, None), (2000, "2400 × 900")])
def test_wide_pictures_that_are_stretched(rig_of, screen_at, picture_beside, width, words):
    file = picture_beside(width, 900)  # for two images of 4:3
    shows = {"wide": "wide.png", "part": 1, "of": 2}
    rig = rig_of(screen=[screen_at(shows=shows)]).read_from(file)
    found = misfits(build(rig))
    assert len(found) == (words is not None)
    if words:
        assert "is stretched by 20.0 % sideways" in found[0].text and words in found[0].text


def test_a_wide_picture_that_is_not_there_is_no_matter_here(rig_of, screen_at, tmp_path):
    shows = {"wide": "none.png", "part": 1, "of": 2}
    rig = rig_of(screen=[screen_at(shows=shows)]).read_from(tmp_path / "rig.toml")
    assert misfits(build(rig)) == []


PANEL = """
[[plate]]
name = "panel"
size = [300, 200]
thickness = 4
centre = [0, 500, -300]
pitch = -20

[[screen]]
name = "left gauge"
mirror = "right gauge"
on = "panel"
width = 80
height = 60
pixels = [800, 600]
body = 18
centre = [-70, AWAY, 10]
"""


@pytest.mark.parametrize(
    ("away", "count"), [(5, 0), (-2, 0), (-5, 1), (-19, 1), (-20, 0), (-400, 0)]
)
def test_a_screen_that_comes_through_its_plate(write_rig, away, count):
    # its back is 18 behind its image; the plate's front is 2 before its middle
    rig = read_rig(write_rig(PANEL.replace("AWAY", str(away))))
    found = with_lines(misfits(build(rig)), rig.source)
    assert len(found) == count
    if count:
        [note] = found
        assert note.names == ("left gauge", "panel")
        assert note.amount == pytest.approx(away)
        assert f"did you mean {-away}? If" in note.text
        assert note.line == 4 + PANEL[: PANEL.index("centre = [-70")].count("\n") + 1


def test_a_screen_let_into_its_plate_is_meant(write_rig):
    text = PANEL.replace("AWAY", "-5") + 'in = "panel"\n'
    assert misfits(build(read_rig(write_rig(text)))) == []
