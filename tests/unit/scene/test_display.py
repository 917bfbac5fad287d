"""What a screen and a lens may be, and what is refused of them."""

import pytest

from seamsight.scene import read_rig

SIZES = "width = 400\nheight = 300\n"


@pytest.mark.parametrize(
    ("aspect", "across"), [("16:9", 16), ("16:10", 16), ("4:3", 4), ("9:16", 9)]
)
def test_diagonal_and_aspect(write_rig, rig_text, aspect, across):
    text = rig_text("screen", (SIZES, f'diagonal = "20 in"\naspect = "{aspect}"\n'))
    width, height = read_rig(write_rig(text)).screen[0].size
    assert (width**2 + height**2) ** 0.5 == pytest.approx(508)
    assert width / height == pytest.approx(across / int(aspect.split(":")[1]))


def test_magnification_gives_the_distance(write_rig, rig_text):
    rig = read_rig(write_rig(rig_text("screen lens", "magnification = 1.5")))
    assert rig.lens[0].separation == pytest.approx(450 * (1 - 1 / 1.5))


@pytest.mark.parametrize(
    "bezel", ["16", '"1.6 cm"', "{ left = 16, right = 16, top = 16, bottom = 16 }"]
)
def test_one_bezel_width_stands_for_four(write_rig, rig_text, bezel):
    rig = read_rig(write_rig(rig_text("screen", f"bezel = {bezel}")))
    assert set(rig.screen[0].bezel.model_dump().values()) == {16}


SCREENS = {
    "sized twice": (
        'diagonal = "22 in"',
        5,
        "needs either diagonal and aspect, or width and height",
    ),
    "not sized": (("width = 400\n", ""), 5, "needs either diagonal and aspect"),
    "aspect": (
        (SIZES, 'diagonal = 500\naspect = "wide"\n'),
        8,
        'aspect is not an aspect ratio: write "16:9"',
    ),
    "pixels not whole": (("800", "800.5"), 9, "pixels item 1 must be a whole number (got 800.5)"),
    "pixels none": (("800", "0"), 9, "pixels item 1 must be at least 1 (got 0)"),
    "lip without bezel": ("lip = 4", 5, "lip needs a bezel"),
    "bezel side unknown": (
        "bezel = { lft = 3 }",
        11,
        'unknown key "lft" (did you mean "left"?)',
    ),
    "bezel negative": ("bezel = -3", 11, "must be at least 0 (got -3)"),
    "luminance": ("luminance = 0", 11, "luminance must be at least 1 (got 0)"),
    "mass": ("mass = 0", 11, "mass must be at least 0.001 (got 0)"),
    "mass of text": ('mass = "3 kg"', 11, "mass must be a number"),
    "mounting": ('mounting = "100x110"', 11, "mounting must be"),
}


@pytest.mark.parametrize(("change", "line", "said"), SCREENS.values(), ids=SCREENS.keys())
def test_rule_of_a_screen(assert_told, change, line, said):
    assert_told("screen", change, line, said)


LENSES = {
    "at its focal length": (
        "distance = 450",
        11,
        "must be closer to the screen than its focal length",
    ),
    "beyond its focal length": (
        "distance = 500",
        11,
        "focal length, 450, to act as a magnifier (distance is 500)",
    ),
    "distance and magnification": ("distance = 150\nmagnification = 1.5", 11, "not both"),
    "neither": ("", 11, "needs either distance or magnification"),
    "magnification 1": ("magnification = 1", 16, "magnification must be above 1 (got 1)"),
    "magnification below 1": (
        "magnification = 0.5",
        16,
        "magnification must be above 1 (got 0.5)",
    ),
    "slots and a frame": (
        "distance = 150\nframe = { width = 8, depth = 3 }\ncarcass = { slot = {} }",
        11,
        "leave out slot or frame",
    ),
    "slot too deep": (
        "distance = 150\ncarcass = { thickness = 6, slot = { depth = 6 } }",
        17,
        "slot depth must be below the thickness of the boards, 6 (got 6)",
    ),
    "focal length negative": (
        ("450\n", "-450\ndistance = 150\n"),
        13,
        "must be at least 1 (got -450)",
    ),
}


@pytest.mark.parametrize(("change", "line", "said"), LENSES.values(), ids=LENSES.keys())
def test_rule_of_a_lens(assert_told, change, line, said):
    assert_told("screen lens", change, line, said)


def test_part_of_a_wide_picture_that_it_does_not_have(problems_of, rig_text, picture):
    text = rig_text("screen", 'shows = { wide = "view.png", part = 4, of = 3 }')
    (told,) = problems_of(text, view__png=picture)
    assert told == 'rig.toml:11: screen "centre": shows part must not be above of (got part 4 of 3)'
