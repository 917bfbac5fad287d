"""Screens laid flat: maps held to closed forms, and their legend for all sights."""

import itertools

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of
from seamsight.viewer.numbers.areas import image_areas
from seamsight.viewer.pictures.flat import flat_maps
from seamsight.viewer.sheet import letter_of

CLASSES = [
    "both",
    "left",
    "right",
    "bezel",
    "frame",
    "hood",
    "other",
    "outside",
]  # as the legend has them, four in a row
WIDTH = 1200
LETTER = letter_of(WIDTH)


def sheet_of(rig):
    assembly = build(rig)
    areas = image_areas(assembly, eyes_of(rig, Head(name="here")))
    return np.asarray(flat_maps(assembly, areas, WIDTH))


def map_of(sheet, width=400, height=300):
    """Return the map of a screen that is the only one: within its scales, four letters in."""
    across = WIDTH - 8 * LETTER
    up = round(across * height / width)
    top = round(3.8 * LETTER)
    return sheet[top : top + up, 4 * LETTER : 4 * LETTER + across]


def samples_of(sheet):
    """Return the samples of the legend below, by class, each without its outline."""
    found = {}
    for number, name in enumerate(CLASSES):
        x = LETTER + number % 4 * (WIDTH - 2 * LETTER) // 4
        y = len(sheet) - round(4.4 * LETTER) + round((0.4 + 1.7 * (number // 4)) * LETTER)
        found[name] = sheet[y + 1 : y + LETTER, x + 1 : x + 2 * LETTER]
    return found


@pytest.fixture
def key(rig_of, screen_at):
    return samples_of(sheet_of(rig_of(screen=[screen_at()])))


def colours_in(picture):
    return {tuple(colour) for colour in picture.reshape(-1, 3).tolist()}


def test_a_bare_screen_is_for_both_eyes(rig_of, screen_at, key):
    picture = map_of(sheet_of(rig_of(screen=[screen_at()])))
    assert (picture == key["both"][0, 0]).all()


@pytest.mark.parametrize(
    ("role", "name"), [("hood", "hood"), ("bracket", "frame"), ("frame", "frame"), (None, "other")]
)
def test_a_board_s_shadows_stand_where_similar_triangles_put_them(
    rig_of, screen_at, key, role, name
):
    # thin, 150 wide, half way to the screen: from an eye at x its edges fall at 2 (+-75) - x
    board = {"name": "board", "size": [150, 0.1, 500], "centre": [0, 300, 0], "role": role}
    picture = map_of(sheet_of(rig_of(screen=[screen_at()], board=[board])))
    scale = picture.shape[1] / 400
    edges = np.array([-200, -181.5, -118.5, 118.5, 181.5, 200]) + 200
    classes = ["both", "left", name, "right", "both"]
    for low, high, found in zip(edges, edges[1:], classes, strict=False):
        strip = picture[100:200, round(low * scale) + 2 : round(high * scale) - 2]
        assert colours_in(strip) == colours_in(key[found])


def test_what_is_outside_the_lens_is_told_from_other_parts(rig_of, screen_at, key):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 200, "height": 330}
    picture = map_of(sheet_of(rig_of(screen=[screen_at()], lens=[lens])))
    # by the thin lens law the left eye sees to -110.5 through the lens, and again from -122.8 on
    # past its edge; the right eye less and more to that side
    scale = picture.shape[1] / 400
    strip = picture[300:310, round(77.2 * scale) + 2 : round(89.5 * scale) - 2]
    assert colours_in(strip) == colours_in(key["outside"])


def test_maps_of_many_screens_stand_in_rows_of_three(rig_of, screen_at):
    def height(count):
        screens = [
            screen_at(f"s{number}", centre=[500 * number, 600, 0]) for number in range(count)
        ]
        return len(sheet_of(rig_of(screen=screens)))

    legend = round(4.4 * LETTER)
    assert height(3) - legend == pytest.approx((height(4) - legend) / 2, abs=2 * LETTER)


def test_without_screens_there_is_the_legend_alone(rig_of):
    assert len(sheet_of(rig_of())) == round(4.4 * LETTER)


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
        name: key[name].sum(axis=2) > 300 for name in ("bezel", "frame", "hood", "other", "outside")
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
        "outside": 1,
        "bezel": 2,
        "frame": 2,
        "hood": 2,
        "other": 2,
    }
