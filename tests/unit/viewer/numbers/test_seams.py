"""Seams between neighbouring images against closed forms."""

import math

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of
from seamsight.viewer.numbers.measures import measure
from seamsight.viewer.numbers.seams import seams

F, M, D = 450.0, 1.5, 150.0  # focal length, magnification, image to lens
RADIUS, HALF_LENS = 600.0, 258.5
PUPILS, NECK = 63.0, 100.0  # what a rig has that says nothing
EYES = ("left", "right", "mid")


@pytest.fixture(scope="session")
def bank(rig_of):
    """Return a function that gives a rig with a bank of units about the eye point."""

    def make(width=474.0, lens=True, count=2, lens_keys=None, **keys):
        screen = {
            "width": width,
            "height": 296,
            "pixels": [1680, 1050],
            "shows": "black",
        } | keys.pop("screen", {})
        optic = {"focal_length": F, "magnification": M, "width": 2 * HALF_LENS, "height": 330} | (
            lens_keys or {}
        )
        table = {"name": "wall", "count": count, "radius": RADIUS, "screen": screen} | keys
        return rig_of(bank=[table | ({"lens": optic} if lens else {})])

    return make


def seams_of(rig, **head):
    return seams(build(rig), eyes_of(rig, Head(name="here", **head)))


def eye_places(offset=(0.0, 0.0), turn=0.0):
    """Return where the eyes of a head that turned about its neck are.

    Right and forward of the eye point.
    """
    face = np.array([math.sin(turn), math.cos(turn)])
    mid = offset - np.array([0.0, NECK]) + NECK * face
    side = PUPILS / 2 * np.array([face[1], -face[0]])
    return {"left": mid - side, "right": mid + side, "mid": mid}


def in_unit(eye, azimuth):
    """Return an eye's place right of a unit's axis and its distance from the unit's plane."""
    return (
        eye @ [math.cos(azimuth), -math.sin(azimuth)],
        RADIUS - eye @ [math.sin(azimuth), math.cos(azimuth)],
    )


def edge_azimuth(eye, azimuth, side, width, half=HALF_LENS):
    """Return the azimuth at which an eye sees the last of an image through its lens on a side.

    `side` is 1 for right, -1 for left. The ray through a thin lens at p lands at
    p (1 + d/e - d/f) - x d/e. The last is at the image's edge or the lens's.
    """
    x, e = in_unit(eye, azimuth)
    x *= side
    p = min(half, (width / 2 + x * D / e) / (1 + D / e - D / F))
    return azimuth + side * math.atan((p - x) / e)


def margin(eye, azimuth, side, width, half=HALF_LENS):
    """Return how far past an image's edge its plane is seen.

    a + d ((a - x) / e - a / f) - w / 2.
    """
    x, e = in_unit(eye, azimuth)
    return half + D * ((half - side * x) / e - half / F) - width / 2


# ---- the dark strip ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "head", [{}, {"offset": [-60, 0, 0]}, {"offset": [40, 70, 0]}, {"turn": 23.0}]
)
@pytest.mark.parametrize("width", [400.0, 450.0, 474.0, 520.0])
def test_dark_between_two_lenses(bank, width, head):
    found = seams_of(bank(width), **head)[0].dark
    toe = 2 * math.atan(HALF_LENS / RADIUS)  # their edges touch
    eyes = eye_places(
        np.array(head.get("offset", [0, 0])[:2], float), math.radians(head.get("turn", 0))
    )
    for name in EYES:
        last, first = (edge_azimuth(eyes[name], side * -toe / 2, side, width) for side in (1, -1))
        assert found[name] == pytest.approx(math.degrees(first - last), abs=1e-5)


def test_image_as_wide_as_its_lens_leaves_no_strip_between_the_eyes(bank):
    # 474 mm, enlarged 1.5 times and seen at e + M d = 825 mm, covers just 517 mm at 600; the eyes
    # beside it lose some
    found = seams_of(bank())[0].dark
    assert found["mid"] == pytest.approx(0, abs=0.01)
    assert found["left"] == pytest.approx(found["right"], abs=1e-5)
    assert found["left"] > 0.5


@pytest.mark.parametrize("gap", [0.0, 12.0])
@pytest.mark.parametrize("bezel", [0.0, 16.0])
def test_dark_between_bare_screens(bank, bezel, gap):
    rig = bank(lens=False, gap=gap, screen={"bezel": bezel})
    half = 237 + bezel
    toe = 2 * math.atan(half / RADIUS) + 2 * math.asin(gap / (2 * math.hypot(half, RADIUS)))
    found = seams_of(rig)[0].dark
    for name, eye in eye_places().items():
        ends = []
        for side in (1, -1):
            azimuth = -side * toe / 2
            away = RADIUS * np.array([math.sin(azimuth), math.cos(azimuth)])
            edge = away + side * 237 * np.array([math.cos(azimuth), -math.sin(azimuth)]) - eye
            ends.append(math.atan2(edge[0], edge[1]))
        assert found[name] == pytest.approx(math.degrees(ends[1] - ends[0]), abs=1e-5)


def test_dark_between_screens_one_above_the_other(rig_of, screen_at):
    screens = [screen_at("low", centre=[0, 600, -160]), screen_at("high", centre=[0, 600, 160])]
    seam = seams_of(rig_of(screen=screens))[0]
    assert seam.sides == ("top", "bottom")
    assert seam.dark["mid"] == pytest.approx(2 * math.degrees(math.atan(10 / 600)), abs=1e-4)


def test_no_dark_where_an_eye_does_not_see_both(rig_of, screen_at):
    # a board before the left screen hides it from every eye
    screens = [screen_at("a", centre=[-210, 600, 0]), screen_at("b", centre=[210, 600, 0])]
    board = {"name": "blind", "size": [500, 5, 400], "centre": [-245, 550, 0]}
    assert set(seams_of(rig_of(screen=screens, board=[board]))[0].dark.values()) == {None}


def test_dark_is_negative_where_the_first_image_repeats_inside_the_second_s_side(rig_of, screen_at):
    # a third screen's lens before the seam, 60 mm wide: 500 mm behind it, farther than its focal
    # length of 100, it shows the two sides exchanged, from its left edge, where b begins, to its
    # right, where a ends
    screens = [
        screen_at("a", centre=[-200, 900, 0]),
        screen_at("b", centre=[200, 900, 0]),
        screen_at("low", centre=[0, 450, -200], width=50, height=50),
    ]
    lens = {
        "screen": "low",
        "focal_length": 100,
        "distance": 50,
        "width": 60,
        "height": 60,
        "offset": [0, 200],
    }
    found = {seam.between: seam for seam in seams_of(rig_of(screen=screens, lens=[lens]))}[
        "a", "b"
    ].dark
    assert found["mid"] == pytest.approx(-2 * math.degrees(math.atan(30 / 400)), abs=1e-4)


# ---- what both eyes need -------------------------------------------------------------------------


@pytest.mark.parametrize("offset", [(0.0, 0.0), (-50.0, 0.0), (20.0, 60.0)])
@pytest.mark.parametrize("width", [400.0, 440.0, 474.0])
def test_gaps_and_black_pixels(bank, width, offset):
    seam = seams_of(bank(width), offset=[*offset, 0])[0]
    toe = 2 * math.atan(HALF_LENS / RADIUS)
    at = {
        name: [margin(eye, -side * toe / 2, side, width) for side in (1, -1)]
        for name, eye in eye_places(np.array(offset)).items()
    }
    lowest = np.minimum(at["left"], at["right"])
    assert seam.gap_present == pytest.approx(sum(at["mid"]), abs=1e-6)
    assert seam.gap_needed == pytest.approx(sum(at["mid"]) - lowest.sum(), abs=1e-6)
    assert seam.both_whole == (lowest.min() >= 0)
    # a pixel is width / 1680; a strip that ends inside one blackens it whole
    assert seam.black_px == tuple(math.ceil(max(0.0, -low) * 1680 / width) for low in lowest)


def test_gap_needed_is_half_the_pupil_distance_times_d_over_e_a_side(rig_of, screen_at):
    # exact for lenses square to the face: an eye half a pupil distance farther over sees that times
    # d / e less
    screens = [screen_at(name, centre=[x, RADIUS + D, 0]) for name, x in (("a", -210), ("b", 210))]
    optic = {"focal_length": F, "magnification": M, "width": 420, "height": 330}
    seam = seams_of(rig_of(screen=screens, lens=[optic | {"screen": name} for name in "ab"]))[0]
    assert seam.gap_needed == pytest.approx(2 * PUPILS / 2 * D / RADIUS, rel=1e-12)


def test_small_gap_between_the_images_lets_each_eye_see_the_whole_of_each(bank):
    # common practice: builders keep such a gap; how large is the question
    needed = seams_of(bank())[0].gap_needed
    filling = (
        474 + seams_of(bank())[0].gap_present
    )  # an image that would leave no gap between the eyes at all
    for gap, whole in (
        (0.0, False),
        (needed - 0.2, False),
        (needed + 0.2, True),
        (needed + 10, True),
    ):
        seam = seams_of(bank(filling - gap))[0]
        assert seam.gap_present == pytest.approx(gap, abs=1e-9)
        assert seam.both_whole is whole
        assert (seam.black_px == (0, 0)) is whole


def test_black_pixels_are_enough(bank, rig_of):
    # an image that is narrower by the black border is seen whole, and one pixel less would not do
    black = seams_of(bank())[0].black_px
    assert black[0] == black[1] > 1
    pixel = 474 / 1680
    assert seams_of(bank(474 - 2 * black[0] * pixel))[0].both_whole
    assert not seams_of(bank(474 - 2 * (black[0] - 1) * pixel))[0].both_whole


# ---- which screens are neighbours ----------------------------------------------------------------


def test_a_bank_s_neighbours_are_next_to_each_other(bank):
    found = seams_of(bank(count=4, lens=False, toe=25.0))
    assert [seam.between for seam in found] == [
        ("wall.1", "wall.2"),
        ("wall.2", "wall.3"),
        ("wall.3", "wall.4"),
    ]
    assert all(seam.sides == ("right", "left") and seam.in_scene for seam in found)


@pytest.mark.parametrize(
    ("apart", "neighbours"), [(0.5, True), (14.8, True), (15.2, False), (40.0, False)]
)
def test_images_within_15_degrees_are_neighbours(rig_of, screen_at, apart, neighbours):
    # each 400 wide, 600 away and square to the eye: 2 atan(200 / 600) degrees across; low, so that
    # corners, which lie nearer to each other than the edges' middles, do not count
    turn = math.degrees(math.atan(200 / 600)) + apart / 2
    screens = [
        screen_at(
            name,
            height=1,
            yaw=yaw,
            centre=[600 * math.sin(math.radians(yaw)), 600 * math.cos(math.radians(yaw)), 0],
        )
        for name, yaw in (("a", -turn), ("b", turn))
    ]
    found = seams_of(rig_of(screen=screens))
    assert [seam.between for seam in found] == ([("a", "b")] if neighbours else [])
    for seam in found:
        assert seam.dark["mid"] == pytest.approx(apart, abs=1e-5)


@pytest.mark.parametrize(
    ("shows", "in_scene"),
    [
        (("world", "world"), True),
        (("world", "card"), False),
        (("card", "card"), False),
        (({"wide": "world", "part": 1, "of": 2}, {"wide": "world", "part": 2, "of": 2}), True),
    ],
)
def test_scene_runs_on_between_screens_that_show_it(rig_of, screen_at, shows, in_scene):
    screens = [
        screen_at(name, centre=[x, 600, 0], shows=what, pixels=[40, 30])
        for name, x, what in zip("ab", (-205, 205), shows, strict=True)
    ]
    assert seams_of(rig_of(screen=screens))[0].in_scene is in_scene


def test_screen_behind_the_eye_has_no_seam(rig_of, screen_at):
    screens = [screen_at("a", centre=[-205, 600, 0]), screen_at("b", centre=[205, 600, 0])]
    assert seams_of(rig_of(screen=screens), offset=[0, 700, 0]) == []


# ---- with the face turned to it ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("aim", "turned"), [(0.0, 0.0), (30.0, 30.0), (-50.0, -50.0), (75.0, 60.0), (-100.0, -60.0)]
)
def test_facing_a_seam(bank, aim, turned):
    # the seam between the two units lies at the bank's aim; a face turns up to 60 degrees to it
    found = seams_of(bank(lens=True, aim=[aim, 0.0]))[0].facing
    toe = 2 * math.atan(HALF_LENS / RADIUS)
    eyes = eye_places(turn=math.radians(turned))
    middle = math.radians(aim)
    for name in EYES:
        last, first = (
            edge_azimuth(eyes[name], middle - side * toe / 2, side, 474) for side in (1, -1)
        )
        assert found.dark[name] == pytest.approx(math.degrees(first - last), abs=1e-4)
    at = [
        min(margin(eyes[n], middle - s * toe / 2, s, 474) for n in ("left", "right"))
        for s in (1, -1)
    ]
    assert found.both_whole == (min(at) >= 0)
    assert found.gap_needed == pytest.approx(found.gap_present - sum(at), abs=1e-3)


@pytest.mark.parametrize("aim", [0.0, -50.0, 90.0])
def test_facing_a_seam_with_eyes_that_turn(bank, aim):
    # a pupil goes about a point 10.45 mm behind it: the eye looks midway between both images' edges
    reach, toe = 10.45, 2 * math.atan(HALF_LENS / RADIUS)
    rig = bank(lens=True, aim=[aim, 0.0])
    pilot = rig.pilot.model_copy(update={"eye_turn": reach})
    found = seams_of(rig.model_copy(update={"pilot": pilot}))[0].facing
    turned, middle = math.radians(max(-60.0, min(60.0, aim))), math.radians(aim)
    ahead = np.array([math.sin(turned), math.cos(turned)])
    eyes = eye_places(turn=turned)
    for name in ("left", "right"):
        pivot = eyes[name] - reach * ahead
        edges = []
        for side in (1, -1):
            axis = middle - side * toe / 2
            right, away = [math.cos(axis), -math.sin(axis)], [math.sin(axis), math.cos(axis)]
            edge = np.multiply(side * M * 237.0, right) + np.multiply(RADIUS + M * D, away) - pivot
            edges.append(edge / np.linalg.norm(edge))
        gaze = edges[0] + edges[1]
        eyes[name] = pivot + reach * gaze / np.linalg.norm(gaze)
    eyes["mid"] = (eyes["left"] + eyes["right"]) / 2
    for name in EYES:
        last, first = (
            edge_azimuth(eyes[name], middle - side * toe / 2, side, 474) for side in (1, -1)
        )
        assert found.dark[name] == pytest.approx(math.degrees(first - last), abs=1e-4)


def test_facing_up(rig_of, screen_at):
    # two screens side by side, 40 degrees up: the face nods to them, and the eyes stay level
    high = math.radians(40)
    screens = [
        screen_at(name, centre=[x, 600 * math.cos(high), 600 * math.sin(high)], pitch=40)
        for name, x in (("a", -205), ("b", 205))
    ]
    found = seams_of(rig_of(screen=screens))[0].facing
    distance = (
        600 - NECK + NECK * math.cos(high)
    )  # roughly: the neck stays, the eyes swing up about it
    assert found.dark["mid"] == pytest.approx(2 * math.degrees(math.atan(5 / distance)), rel=0.1)
    assert found.dark["left"] == pytest.approx(found.dark["right"], abs=1e-6)


def test_a_ring_of_screens_has_as_many_seams_as_screens(rig_of, numbers_of):
    screen = {"width": 400, "height": 300, "pixels": [800, 600]}
    ring = {"name": "ring", "count": 12, "radius": 1000, "toe": 30, "screen": screen}
    arc = ring | {"count": 6}
    assert [len(numbers_of(rig_of(bank=[bank])).seams) for bank in (ring, arc)] == [12, 5]


# ---- what is lost at a seam, whatever hides it ---------------------------------------------------


def test_what_each_eye_loses_behind_a_lens_is_its_negative_margin(bank, rig_of):
    rig = bank(lens_keys={"width": 2 * HALF_LENS - 8})
    assembly, eyes = build(rig), eyes_of(rig, Head(name="here"))
    seam = seams(assembly, eyes)[0]
    numbers = measure(assembly, eyes).screens
    for eye in ("left", "right"):
        for strip, name, side in zip(seam.lost[eye] or (), seam.between, seam.sides, strict=True):
            past = numbers[name].margin[side][eye]
            assert strip.width == pytest.approx(max(0.0, -past), abs=2e-3)
            assert strip.behind is None
    strips = [strip for found in seam.lost.values() for strip in found or ()]
    assert any(strip.width > 1 for strip in strips)


def flat_pair(rig_of, screen_at, **tables):
    """Return a rig with two bare screens side by side at 600, edge to edge."""
    screens = [screen_at(name, centre=[x, 600, 0]) for name, x in (("a", -200), ("b", 200))]
    return rig_of(screen=screens, **tables)


def test_a_post_before_a_seam_hides_a_strip_from_each_eye(rig_of, screen_at):
    # thin, 60 wide, half way: from an eye at x it hides -60 - x to 60 - x of the screens' plane
    post = {"name": "post", "size": [60, 0.01, 900], "centre": [0, 300, 0]}
    (seam,) = seams_of(flat_pair(rig_of, screen_at, board=[post]))
    for eye, x in (("left", -31.5), ("right", 31.5)):
        first, second = seam.lost[eye]
        assert first.width == pytest.approx(60 + x, abs=5e-3)
        assert second.width == pytest.approx(60 - x, abs=5e-3)
        assert first.behind == second.behind == "post"
    assert seam.both_whole  # its own openings hide nothing


def test_a_sliver_between_a_post_and_the_seam_is_lost_too(rig_of, screen_at):
    # hides -13 to -5 of the plane from between the eyes, and leaves 5 mm, half a degree, to the
    # seam
    post = {"name": "post", "size": [4, 0.01, 900], "centre": [-4.5, 300, 0]}
    lost = seams_of(flat_pair(rig_of, screen_at, board=[post]))[0].lost["mid"]
    assert [strip.width for strip in lost] == pytest.approx([13, 0], abs=2e-3)
    assert [strip.behind for strip in lost] == ["post", None]


def test_a_post_in_the_middle_of_an_image_is_not_at_its_seam(rig_of, screen_at):
    post = {"name": "post", "size": [4, 0.01, 900], "centre": [-60, 300, 0]}
    lost = seams_of(flat_pair(rig_of, screen_at, board=[post]))[0].lost
    assert all(strip.width == 0 for strips in lost.values() for strip in strips)


def test_the_neighbour_s_bezel_is_named_where_it_hides_a_bare_screen(rig_of, screen_at):
    # a stands 100 nearer, its bezel 30 wide reaches over b's edge
    screens = [
        screen_at("a", centre=[-230, 500, 0], bezel=30, lip=0),
        screen_at("b", centre=[200, 600, 0]),
    ]
    lost = seams_of(rig_of(screen=screens))[0].lost["left"]
    assert lost[1].width == pytest.approx((31.5) * 600 / 500 - 31.5, abs=0.1)
    assert lost[1].behind.startswith("a ")
