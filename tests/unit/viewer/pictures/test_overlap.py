"""The picture of who sees what against angles in closed form, and its key for all sights."""

import itertools
import math

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer import Projection, eyes_of
from seamsight.viewer.pictures.overlap import overlap_picture
from seamsight.viewer.sheet import letter_of

CLASSES = [
    "both",
    "left",
    "right",
    "bezel",
    "frame",
    "hood",
    "other",
    "void",
]  # as the key has them, four in a row
FLAT = Projection("rectilinear", 1200, 240, 60)
TANGENT = 2 * math.tan(math.radians(30)) / 1200  # of a pixel


def sheet_of(rig, projection=FLAT):
    return np.asarray(
        overlap_picture(build(rig), eyes_of(rig, Head(name="here")), projection, "caption")
    )


def middle_of(sheet, projection=FLAT):
    """Return the picture proper: it stands right of and below the lettering, see `with_scale`."""
    letter = letter_of(projection.width)
    left, top = round(3.6 * letter), round(2.0 * letter)
    return sheet[top : top + projection.height, left : left + projection.width]


def samples_of(sheet, projection=FLAT):
    """Return the samples of the key below, by class, each without its outline."""
    letter = letter_of(sheet.shape[1])
    foot = projection.height + sum(
        round(share * letter_of(projection.width)) for share in (2.0, 2.4)
    )
    found = {}
    for number, name in enumerate(CLASSES):
        x = letter + number % 4 * (sheet.shape[1] - 2 * letter) // 4
        y = foot + round((0.4 + 1.7 * (number // 4)) * letter)
        found[name] = sheet[y + 1 : y + letter, x + 1 : x + 2 * letter]
    return found


@pytest.fixture
def key(rig_of):
    return samples_of(sheet_of(rig_of()))


def columns_of(sheet, colour):
    """Return the first and last + 1 column of each stretch of the middle row that has a colour."""
    hit = (middle_of(sheet)[120] == colour).all(axis=1).astype(int)
    return np.flatnonzero(np.diff(np.concatenate([[0], hit, [0]]))).reshape(-1, 2)


def column(tangent):
    return 600 + tangent / TANGENT


def test_bare_screen_s_classes(rig_of, screen_at, key):
    # a screen 400 wide at 600: an eye at x has its image's ends in the directions (+-200 - x) / 600
    sheet = sheet_of(rig_of(screen=[screen_at()]))
    ends = {
        eye: [(side - x) / 600 for side in (-200, 200)]
        for eye, x in (("left", -31.5), ("right", 31.5))
    }
    expected = {
        "right": [[ends["right"][0], ends["left"][0]]],
        "both": [[ends["left"][0], ends["right"][1]]],
        "left": [[ends["right"][1], ends["left"][1]]],
    }
    for name, stretches in expected.items():
        found = columns_of(sheet, key[name][0, 0])
        np.testing.assert_allclose(found, column(np.array(stretches)), atol=1.0)
    dark = key["void"][0, 0]
    outside = [
        *range(round(column(ends["right"][0])) - 2),
        *range(round(column(ends["left"][1])) + 2, 1200),
    ]
    assert (middle_of(sheet)[120, outside] == dark).all()


def test_post_hides_a_strip_from_each_eye(rig_of, screen_at, key):
    # 20 wide and deep, 300 ahead: the left eye, 31.5 left of it, has its left edge at the far face,
    # at 310, and its right edge at the near one, at 290; there only the right eye sees the screen
    post = {"name": "post", "size": [20, 20, 400], "centre": [0, 300, 0], "role": "bracket"}
    sheet = sheet_of(rig_of(screen=[screen_at()], board=[post]))
    low, high = (31.5 - 10) / 310, (31.5 + 10) / 290
    assert columns_of(sheet, key["right"][0, 0])[1] == pytest.approx(
        [column(low), column(high)], abs=1
    )
    assert columns_of(sheet, key["left"][0, 0])[0] == pytest.approx(
        [column(-high), column(-low)], abs=1
    )


def colours_in(picture):
    return {tuple(colour) for colour in picture.reshape(-1, 3).tolist()}


@pytest.mark.parametrize(
    ("role", "name"), [("hood", "hood"), ("bracket", "frame"), ("frame", "frame"), (None, "other")]
)
def test_board_that_both_eyes_have_before_a_screen(rig_of, screen_at, key, role, name):
    # 200 wide at 300, and thin: both eyes have it from (-100 + 31.5) / 300 to (100 - 31.5) / 300
    board = {"name": "board", "size": [200, 0.1, 400], "centre": [0, 300, 0], "role": role}
    sheet = sheet_of(rig_of(screen=[screen_at()], board=[board]))
    inner = slice(math.ceil(column(-68.5 / 300)) + 1, math.floor(column(68.5 / 300)) - 1)
    picture = middle_of(sheet)[80:160, inner]
    assert colours_in(picture) == colours_in(key[name])
    inked, in_key = (np.mean(pixels != key["void"][0, 0]) for pixels in (picture, key[name]))
    assert inked == pytest.approx(in_key, abs=0.06)


def test_bezels_between_two_images(rig_of, screen_at, key):
    # images 200 apart: the left eye has the bezels from (-100 + 31.5) / 600, the right eye has
    # them up to (100 - 31.5) / 600
    screens = [
        screen_at(name, width=300, centre=[side * 250, 600, 0], bezel=100)
        for name, side in (("a", -1), ("b", 1))
    ]
    sheet = sheet_of(rig_of(screen=screens))
    inner = slice(math.ceil(column(-68.5 / 600)) + 1, math.floor(column(68.5 / 600)) - 1)
    assert colours_in(middle_of(sheet)[100:140, inner]) == colours_in(key["bezel"])
    edges = [column(-131.5 / 600), column(-68.5 / 600)]
    assert columns_of(sheet, key["left"][0, 0])[0] == pytest.approx(edges, abs=1)
    edges = [column(68.5 / 600), column(131.5 / 600)]
    assert columns_of(sheet, key["right"][0, 0])[-1] == pytest.approx(edges, abs=1)


@pytest.mark.parametrize("aim", [0.0, 25.0])
def test_classes_in_an_equirectangular_picture(rig_of, screen_at, key, aim):
    projection = Projection("equirectangular", 1200, 240, 120, azimuth=aim)
    sheet = sheet_of(rig_of(screen=[screen_at()]), projection)
    row = middle_of(sheet, projection)[120]
    for name, ends in (
        ("left", (168.5, 231.5)),
        ("right", (-231.5, -168.5)),
        ("both", (-168.5, 168.5)),
    ):
        place = [projection.column_at(math.degrees(math.atan(end / 600))) + 0.5 for end in ends]
        hit = np.flatnonzero((row == key[name][0, 0]).all(axis=1))
        assert (hit[0], hit[-1] + 1) == (
            pytest.approx(place[0], abs=1),
            pytest.approx(place[1], abs=1),
        )


# What a protanope and a deuteranope see of linear light: Machado, Oliveira and Fernandes, IEEE
# Trans. Visualization and Computer Graphics 15 (2009) 1291, severity 1; figures from memory.
SIGHTS = {
    "usual": np.eye(3),
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
}


def lab(colour, sight):
    """Return a colour of 0..255 sRGB in CIE L*a*b* as a kind of sight has it.

    IEC 61966-2-1; D65; CIE 1976.
    """
    code = np.asarray(colour) / 255
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    light = np.clip(np.asarray(SIGHTS[sight]) @ light, 0, 1)
    to_xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    share = to_xyz @ light / (to_xyz @ np.ones(3))
    root = np.where(share > 216 / 24389, np.cbrt(share), (24389 / 27 * share + 16) / 116)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])


@pytest.mark.parametrize("sight", SIGHTS)
def test_colours_are_told_apart_by_every_sight(key, sight):
    # a step of 2.3 is just noticeable (CIE 1976; from memory): ask for six times that
    solid = {name: key[name][0, 0] for name in ("both", "left", "right")}
    dark, light = (
        key["bezel"].reshape(-1, 3)[pick]
        for pick in key["bezel"].sum(axis=2).argsort(axis=None)[[0, -1]]
    )
    colours = [lab(colour, sight) for colour in (*solid.values(), dark, light)]
    apart = [np.linalg.norm(a - b) for a, b in itertools.combinations(colours, 2)]
    assert min(apart) > 6 * 2.3


def test_textures_are_told_apart_wherever_they_begin(key):
    # no shift of one makes it another: at least a twentieth of the pixels differ
    ink = {
        name: key[name].sum(axis=2) > 300 for name in ("bezel", "frame", "hood", "other", "void")
    }
    size = min(sample.shape[0] for sample in ink.values()) - 1
    for first, second in itertools.combinations(ink.values(), 2):
        still = first[:size, :size]
        for down, right in itertools.product(
            range(first.shape[0] - size + 1), range(first.shape[1] - size + 1)
        ):
            assert np.mean(still != second[down : down + size, right : right + size]) > 0.05


def test_solid_classes_have_one_colour_and_textures_two(key):
    count = {name: len(np.unique(sample.reshape(-1, 3), axis=0)) for name, sample in key.items()}
    assert count == {
        "both": 1,
        "left": 1,
        "right": 1,
        "void": 1,
        "bezel": 2,
        "frame": 2,
        "hood": 2,
        "other": 2,
    }
