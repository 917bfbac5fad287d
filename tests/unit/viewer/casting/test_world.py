"""The outside scene: horizon and runway where they should be, and one scene over many screens."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from seamsight.scene import build
from seamsight.scene.rig import World
from seamsight.viewer import Projection, see
from seamsight.viewer.casting.frustum import FlatView, part_of_wide
from seamsight.viewer.casting.world import paint, picture_on
from seamsight.viewer.colour import LINEAR

FOOT = 300.0  # mm


def axes_of(yaw, pitch, roll):
    """Return the axes of a posed thing (columns), by SciPy: turns about z, its own x, its own y."""
    return Rotation.from_euler("ZXY", [-yaw, pitch, roll], degrees=True).as_matrix()


# ---- horizon -------------------------------------------------------------------------------------

# From 10 km up, all ground less than 5 degrees below the horizon is farther than visibility: haze
# makes it one colour.
HIGH = {"eye_height": "10000 m"}


def ground_in(picture):
    """Return where a picture from 10 km up has its far ground, (h, w)."""
    far = paint(FlatView(-0.01, 0.01, -0.03, -0.01, 0, 0, 0), 2, 2, World(**HIGH))[0, 0]
    return (picture == far).all(axis=2)


POSES = [(0, 0, 0), (50, 0, 0), (-35, 12, 0), (20, -8, 25), (-80, 5, -170), (5, 0, 90)]
ATTITUDES = [(0, 0, 0), (30, 0, 0), (0, 4, 0), (-20, -3, 35), (100, 6, -40)]


@pytest.mark.parametrize("attitude", ATTITUDES)
@pytest.mark.parametrize("pose", POSES)
def test_horizon_is_level_with_the_eye(rig_of, screen_at, pose, attitude):
    # 10 x 10 painted pixels stand for each of a screen of 80 x 60: its edge is right to a tenth of
    # such a pixel
    heading, pitch, bank = attitude
    centre = 200 * axes_of(*pose)[:, 1]
    yaw, tip, roll = pose
    screen = screen_at(
        pixels=[800, 600], centre=list(centre), yaw=yaw, pitch=tip, roll=roll, shows="world"
    )
    rig = rig_of(screen=[screen], world=HIGH | {"heading": heading, "pitch": pitch, "bank": bank})
    across, up = np.meshgrid((np.arange(800) + 0.5) / 2 - 200, 150 - (np.arange(600) + 0.5) / 2)
    away = centre + np.stack([across, 0 * across, up], axis=-1) @ axes_of(*pose).T
    height = (away @ axes_of(*attitude).T)[..., 2] / np.linalg.norm(away, axis=-1)
    near = np.abs(height) < 0.08
    assert near.any()
    ground = ground_in(picture_on(build(rig).screens[0], rig))
    np.testing.assert_array_equal(ground[near], (height < 0)[near])


def test_nose_up_lowers_the_horizon():
    picture = paint(FlatView(-0.1, 0.1, -0.1, 0.1, 0, 0, 0), 1, 2000, World(**HIGH, pitch=3.0))
    row = np.flatnonzero(ground_in(picture)[:, 0])[0]
    assert row == pytest.approx(1000 + math.tan(math.radians(3)) / 0.1 * 1000, abs=1)


def test_right_wing_down_raises_the_horizon_on_the_right():
    picture = paint(FlatView(-0.1, 0.1, -0.1, 0.1, 0, 0, 0), 400, 400, World(**HIGH, bank=10.0))
    left, right = (np.flatnonzero(ground_in(picture)[:, column])[0] for column in (0, 399))
    rise = math.tan(math.radians(10)) * 199.5
    assert (left, right) == (pytest.approx(200 + rise, abs=1), pytest.approx(200 - rise, abs=1))


def test_nose_to_the_right_moves_the_runway_to_the_left():
    # its far end, on the axis at heading 0, is at azimuth -4 from a nose at 4
    def brightest(heading):
        view = FlatView(-0.2, 0.2, -0.06, 0.0, 0, 0, 0)
        return paint(view, 800, 120, World(heading=heading)).astype(int).sum(axis=(0, 2)).argmax()

    assert (brightest(4.0) - brightest(0.0)) * 0.4 / 800 == pytest.approx(
        -math.tan(math.radians(4)), abs=0.006
    )


@pytest.mark.parametrize("lens", [{}, {"focal_length": 450, "magnification": 1.5}])
def test_the_horizon_is_straight_ahead_between_the_eyes(rig_of, screen_at, lens):
    # an odd number of rows would put it inside a pixel: with 600 it is the edge between two, in the
    # middle
    screen = screen_at(shows="world", centre=[0, 750, 0])
    optics = [{"screen": "screen", "width": 700, "height": 600} | lens] if lens else []
    rig = rig_of(screen=[screen], lens=optics, world=HIGH)
    close = Projection("rectilinear", 1, 400, 0.005)  # 1/200 degree a pixel
    seen = see(build(rig), np.zeros(3), close).light[:, 0, 2]
    edge = np.abs(np.diff(seen)).argmax() + 0.5
    pixel = math.degrees((1.5 if lens else 1.0) * 0.5 / (825 if lens else 750))
    assert abs(close.elevation_at(edge)) < 0.1 * pixel


# ---- runway --------------------------------------------------------------------------------------

# FAA AC 150/5340-1, as secondary pages quote it: threshold stripes 150 ft long and 5.75 ft wide
# that begin 20 ft from the threshold, both sets 11.5 ft apart; aiming point 150 ft x 30 ft at 1020
# ft, 72 ft apart; touchdown zone bars 75 ft x 6 ft each 500 ft, 72 ft apart inside. Centre line of
# 120 ft stripes and 80 ft gaps: from memory. Each of these feet is 0.3 m here.
HEIGHT = 200.0  # m; straight down, a tangent of 0.1 is 20 m on the ground


def markings(past, along, across):
    """Return how much white paint there is under an eye straight above the centre line, (h, w).

    `past` is where, ft from the threshold; `along` and `across` are feet to each side of that. Ten
    pixels are a foot; the top row is farthest on.
    """
    scale = FOOT / 1000 / HEIGHT
    world = World(eye_height=f"{HEIGHT} m", ahead=-past * FOOT)
    view = FlatView(
        -across * scale, across * scale, -along * scale, along * scale, 0.0, -math.pi / 2, 0.0
    )
    light = LINEAR[paint(view, round(20 * across), round(20 * along), world)[..., 0]]
    tar, white = 0.07, light.max()
    return np.clip((light - tar) / (white - tar), 0, 1)


def stripes(line, length):
    """Return the start and stop of every stripe along a line of samples, ft from its middle."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], line > 0.5, [0]]).astype(int)))
    return (edges.reshape(-1, 2) / len(line) - 0.5) * length


def test_threshold_stripes():
    from_threshold = stripes(markings(95, 100, 8)[:, -5], 200)[0]
    assert (95 - from_threshold[1], 95 - from_threshold[0]) == (
        pytest.approx(20, abs=0.2),
        pytest.approx(170, abs=0.2),
    )
    across = stripes(markings(95, 1, 70)[5], 140)
    np.testing.assert_allclose(across[:, 1] - across[:, 0], 5.75, atol=0.2)
    middle = len(across) // 2
    assert across[middle][0] - across[middle - 1][1] == pytest.approx(11.5, abs=0.2)
    assert len(across) == 12  # for a runway 150 ft wide; from memory


def test_aiming_point():
    across = stripes(markings(1095, 1, 70)[5], 140)
    blocks = across[(across[:, 1] - across[:, 0]) > 10]
    np.testing.assert_allclose(blocks[:, 1] - blocks[:, 0], 30, atol=0.2)
    assert blocks[1][0] - blocks[0][1] == pytest.approx(72, abs=0.2)
    start, stop = -stripes(markings(1095, 90, 50)[:, -50], 180)[0][::-1]
    assert (1095 + start, 1095 + stop) == (
        pytest.approx(1020, abs=0.2),
        pytest.approx(1170, abs=0.2),
    )


@pytest.mark.parametrize("past", [500, 1500, 2000, 2500, 3000])
def test_touchdown_zone(past):
    across = stripes(markings(past + 40, 1, 70)[5], 140)
    bars = across[(across[:, 1] - across[:, 0]) > 4]
    np.testing.assert_allclose(bars[:, 1] - bars[:, 0], 6, atol=0.2)
    inner = len(bars) // 2
    assert bars[inner][0] - bars[inner - 1][1] == pytest.approx(72, abs=0.2)
    start, stop = -stripes(markings(past + 40, 60, 40)[:, -20], 120)[0][::-1]
    assert (past + 40 + start, past + 40 + stop) == (
        pytest.approx(past, abs=0.2),
        pytest.approx(past + 75, abs=0.2),
    )


def test_centre_line():
    line = stripes(markings(3900, 500, 2)[:, 20], 1000)[1:-1]
    np.testing.assert_allclose(line[:, 1] - line[:, 0], 120, atol=0.2)
    np.testing.assert_allclose(line[1:, 0] - line[:-1, 1], 80, atol=0.2)


def test_threshold_lies_where_the_settings_put_it():
    # 800 m ahead of an eye 60 m up: atan(60 / 800) below the horizon. Between the last threshold
    # stripe and the side stripe, 21.1 m from the centre line, bare tar begins there, darker than
    # the grass
    green = paint(FlatView(0.0262, 0.0264, -0.0765, -0.0742, 0, 0, 0), 40, 460, World())[
        ..., 1
    ].mean(axis=1)
    edge = np.flatnonzero(green > (green[0] + green[-1]) / 2)[0]
    assert -0.0742 - 0.0023 * edge / 460 == pytest.approx(-60 / 800, abs=2e-5)


# ---- one scene over several screens --------------------------------------------------------------

LENS = {"focal_length": 450, "magnification": 1.5, "width": 517, "height": 330}


@pytest.fixture(scope="session")
def wall(rig_of):
    """Return a function that builds three screens about the eye, with lenses or bare."""

    def make(shows=("world",) * 3, lens=None, world=None, **keys):
        display = {"width": 474, "height": 296, "pixels": [1600, 1000]}
        banks = [
            {
                "name": name,
                "count": 1,
                "radius": 600,
                "aim": [azimuth, 0.0],
                "screen": display | {"shows": show},
            }
            | ({"lens": lens} if lens else {})
            for name, show, azimuth in zip("abc", shows, (-46.6, 0.0, 46.6), strict=True)
        ]
        return build(rig_of(bank=banks, world={"grid": True, **(world or {})}, **keys))

    return make


BAND = Projection("equirectangular", 2600, 40, 130, elevation=10, samples=3)  # 1/20 degree a pixel


@pytest.mark.parametrize("lens", [None, LENS, LENS | {"offset": [20, -10], "width": 500}])
def test_line_runs_on_level_across_every_seam(wall, lens):
    # in an equirectangular picture an elevation is a level line, whatever screen it is on
    view = see(wall(lens=lens), np.zeros(3), BAND)
    images = [number for number, part in enumerate(view.assembly.parts) if part.role == "image"]
    seen = np.isin(view.parts[20], images)
    azimuths = np.array([BAND.azimuth_at(column) for column in range(2600)])
    between = np.abs(azimuths % 10 - 5) < 1.5  # there are figures after the upright lines
    sky = view.light.mean(axis=2)
    ink = np.clip(0.8 * sky[[0, -1]].mean(axis=0) - sky, 0, None)
    rows = (ink * np.arange(40)[:, None]).sum(axis=0) / np.maximum(ink.sum(axis=0), 1e-9)
    for screen in range(3):
        columns = between & seen & (view.parts[20] == images[screen])
        assert columns.sum() > 100
        np.testing.assert_allclose(rows[columns], BAND.row_at(10), atol=0.5)


@pytest.mark.parametrize("lens", [None, LENS])
def test_eye_sees_what_one_flat_view_of_its_direction_would_show(wall, lens):
    # over the seam between b and c: the same as painting the whole at once
    close = Projection("rectilinear", 500, 300, 30, azimuth=23.3, samples=2)
    view = see(wall(lens=lens), np.zeros(3), close)
    half = math.tan(math.radians(15))
    flat = FlatView(-half, half, -0.6 * half, 0.6 * half, math.radians(23.3), 0.0, 0.0)
    whole = (
        LINEAR[paint(flat, 1000, 600, World(grid=True))]
        .reshape(300, 2, 500, 2, 3)
        .mean(axis=(1, 3))
    )
    images = [number for number, part in enumerate(view.assembly.parts) if part.role == "image"]
    seen = np.isin(view.parts, images)
    assert seen.mean() > 0.8
    off = np.abs(view.light - whole)[seen].mean()
    beside = np.abs(np.roll(view.light, 1, axis=1) - whole)[
        seen
    ].mean()  # the same, one pixel to the side
    assert off < 0.5 * beside


WIDE: list[dict] = [{"wide": "world", "field": 120, "part": part, "of": 3} for part in (1, 2, 3)]


def test_parts_of_a_wide_view_join_to_one(wall):
    assembly = wall(WIDE)
    joined = np.concatenate(
        [picture_on(screen, assembly.rig) for screen in assembly.screens], axis=1
    )
    half = math.tan(math.radians(60))
    tall = half / 3 * 1000 / 1600
    whole = paint(FlatView(-half, half, -tall, tall, 0, 0, 0), 4800, 1000, assembly.rig.world)
    np.testing.assert_array_equal(joined, whole)


def line_near(assembly, azimuth):
    """Return the azimuth at which an upright line of the grid is darkest, 4 degrees up."""
    close = Projection("equirectangular", 100, 1, 1.0, azimuth=azimuth, elevation=4, samples=3)
    light = see(assembly, np.zeros(3), close).light[0].mean(axis=1)
    assert light.min() < 0.8 * light.max()
    return close.azimuth_at(light.argmin())


def test_a_wide_view_is_wrong_on_angled_screens(wall):
    # the line of azimuth 20 stands tan 20 / (tan 60 / 3) of the way to the middle screen's edge,
    # and there the eye sees it at atan(237 / 600 of that) = 14.0; on the right screen, turned by
    # 46.6, the line of 50 is at 48.0
    right, wrong = wall(), wall(WIDE)
    share = math.tan(math.radians(20)) / (math.tan(math.radians(60)) / 3)
    middle = math.degrees(math.atan(share * 237 / 600))
    share = 1.5 * (math.tan(math.radians(50)) / math.tan(math.radians(60)) - 1 / 3)
    beside = 46.6 + math.degrees(math.atan((share - 0.5) * 474 / 600))
    assert line_near(right, 20.0) == pytest.approx(20.0, abs=0.03)
    assert line_near(wrong, middle) == pytest.approx(middle, abs=0.03)
    assert line_near(right, 50.0) == pytest.approx(50.0, abs=0.03)
    assert line_near(wrong, beside) == pytest.approx(beside, abs=0.03)


def test_a_wide_view_is_right_on_screens_in_one_plane(rig_of, screen_at):
    # three that together span 120 degrees, with square pixels: each shows what it would show by
    # itself
    width = 2 * 600 * math.tan(math.radians(60)) / 3
    shape = {"width": width, "height": width / 4, "pixels": [800, 200]}
    tables = [
        screen_at(
            f"part {wide['part']}", shows=wide, centre=[(wide["part"] - 2) * width, 600, 0], **shape
        )
        for wide in WIDE
    ]
    alone = [table | {"shows": "world"} for table in tables]
    pictures = []
    for screens in (tables, alone):
        rig = rig_of(screen=screens, world={"grid": True})
        pictures.append(
            np.stack([picture_on(screen, rig) for screen in build(rig).screens]).astype(int)
        )
    differs = np.abs(pictures[0] - pictures[1]).max(axis=-1)
    assert (differs > 1).mean() < 1e-3


# ---- the same again, and what is refused ---------------------------------------------------------


def test_same_settings_paint_the_same_bytes():
    view = FlatView(-0.8, 0.9, -0.5, 0.6, 0.3, -0.1, 0.05)
    pictures = [paint(view, 320, 200, World(grid=True, bank=7.0)).tobytes() for _ in range(2)]
    assert pictures[0] == pictures[1]


def test_other_settings_paint_another_picture():
    view = FlatView(-0.8, 0.9, -0.5, 0.6, 0.3, -0.1, 0.05)
    settings: list[dict] = [
        {},
        {"eye_height": 70_000},
        {"ahead": 500_000},
        {"heading": 3.0},
        {"pitch": 1.0},
        {"bank": 2.0},
    ]
    pictures = {
        paint(view, 320, 200, World(**keys)).tobytes() for keys in [*settings, {"grid": True}]
    }
    assert len(pictures) == 7


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("eye_height = 0.1", "eye_height"),
        ('ahead = "far"', "is not a length"),
        ("bank = 400", "bank"),
        ("pitch = nan", "pitch"),
        ("grid = 1", "grid"),
        ("bonk = 3", 'unknown key "bonk"'),
    ],
)
def test_bad_world_is_told_with_its_line(problems_of, line, said):
    told = problems_of(f"[world]\n{line}\n")
    assert len(told) == 1
    assert told[0].startswith("rig.toml:6: ")
    assert said in told[0]


@pytest.mark.parametrize(
    ("shows", "said"),
    [
        ('{ wide = "world", part = 4, of = 3 }', "part must not be above of"),
        ('{ wide = "world", field = 175, part = 1, of = 3 }', "field"),
        ('{ wide = "world", part = 0, of = 3 }', "part"),
    ],
)
def test_bad_wide_is_told_with_its_line(problems_of, shows, said):
    screen = (
        '[[screen]]\nname = "s"\nwidth = 400\nheight = 300\npixels = [8, 6]\ncentre = [0, 600, 0]\n'
    )
    told = problems_of(f"{screen}shows = {shows}\n")
    assert len(told) == 1
    assert told[0].startswith("rig.toml:11: ")
    assert said in told[0]


def test_what_is_seen_with_other_views_is_what_a_rig_with_them_shows(wall):
    right, wide = wall(world={"grid": False}), wall(WIDE)
    views = {
        screen.name: part_of_wide(math.tan(math.radians(60)), part, 3, (1600, 1000))
        for part, screen in enumerate(right.screens, start=1)
    }
    small = Projection("equirectangular", 300, 80, 140)
    seen = see(right, np.zeros(3), small, views=views).light
    shown = see(build(wide.rig.model_copy(update={"world": right.rig.world})), np.zeros(3), small)
    # painted no finer than rays, it differs a little from what is averaged of a screen's pixels
    assert np.abs(seen - shown.light).mean() < 0.005
    assert np.abs(seen - see(right, np.zeros(3), small).light).mean() > 0.01
