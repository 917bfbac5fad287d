"""Whole pictures and single rays: which part is seen where, behind lenses and past them."""

import io
import math

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import Head, PoseError, build, read_rig
from seamsight.viewer import Projection, eyes_of, see
from seamsight.viewer.casting.kernel import LOST, VOID
from seamsight.viewer.casting.sightlines import directions_through, image_points
from seamsight.viewer.casting.trace import trace

UNIT = {"diagonal": "22 in", "aspect": "16:10", "pixels": [168, 105], "bezel": 16, "shows": "black"}
LENS = {"focal_length": 450, "magnification": 1.5, "width": 517, "height": 330}
AHEAD = Projection("equirectangular", 400, 160, 100)


@pytest.fixture
def parts_seen(rig_of):
    """Return a function from tables and a head to the names of the parts that either eye sees."""

    def seen(projection=AHEAD, lenses=True, head=None, **tables):
        rig = rig_of(**tables)
        assembly, eyes = build(rig, lenses=lenses), eyes_of(rig, Head(name="here", **(head or {})))
        views = [see(assembly, eye, projection).parts for eye in (eyes.left, eyes.right)]
        return {assembly.parts[part].name for part in np.unique(views) if part >= 0}

    return seen


def bank(**keys):
    return {"name": "wall", "count": 3, "radius": 600, "screen": UNIT, "lens": LENS} | keys


# Between two lens edges 258.5 mm off their axes at 600 mm the bracket's near edge stands 653 + 20
# mm from the eye
BRACKET = {"name": "bracket", "size": [18, 130, 330], "centre": [297.0, 688.8, 0], "yaw": 23.3}


def test_bracket_between_two_lens_edges_is_not_seen_from_the_seat(parts_seen):
    # common practice: what holds two lenses stands in the wedge between them, where no ray to an
    # eye passes
    assert "bracket" not in parts_seen(bank=[bank()], board=[BRACKET])


def test_bracket_is_seen_once_the_lenses_are_gone(parts_seen):
    assert "bracket" in parts_seen(bank=[bank()], board=[BRACKET], lenses=False)


def test_bracket_that_stands_before_the_lens_edges_is_seen(parts_seen):
    before = BRACKET | {"centre": [253.1, 587.0, 0]}  # 639 from the eye, its near edge at 574
    assert "bracket" in parts_seen(bank=[bank()], board=[before])


def test_bezels_vanish_behind_lenses(parts_seen):
    # common practice: the borders of bare monitors show between their images; behind lenses that
    # meet they do not
    middle = Projection("equirectangular", 600, 60, 60)
    assert {"wall.1 bezel", "wall.2 bezel", "wall.3 bezel"} <= parts_seen(
        middle, bank=[bank(lens=None)]
    )
    # each image is larger than its lens shows to either eye: 0.917 x 249 + 150 x 31.5 / 600 = 236.2
    # of 236.9 mm
    assert parts_seen(middle, bank=[bank(lens=LENS | {"width": 498})]) == {
        "wall.1",
        "wall.2",
        "wall.3",
    }


def test_part_ids_are_where_the_screen_is(rig_of, screen_at):
    assembly = build(rig_of(screen=[screen_at()]))
    projection = Projection("rectilinear", 200, 200, 90)
    parts = see(assembly, np.zeros(3), projection).parts
    # tangents at the pixels' middles, against 200 / 600 and 150 / 600 of the screen's edges
    tangents = (np.arange(200) + 0.5 - 100) / 100
    inside = (np.abs(tangents)[:, None] < 150 / 600) & (np.abs(tangents) < 200 / 600)
    np.testing.assert_array_equal(parts == assembly.part_id("screen"), inside)
    assert (parts[~inside] == VOID).all()


def test_ray_through_a_lens_lands_where_the_law_says(rig_of, screen_at):
    lens = {
        "screen": "screen",
        "focal_length": 300,
        "distance": 100,
        "width": 800,
        "height": 800,
        "offset": [20, -10],
    }
    assembly = build(rig_of(screen=[screen_at()], lens=[lens]))
    slopes = np.random.default_rng(5).uniform([-0.25, -0.2], [0.25, 0.2], (50, 2))
    directions = np.insert(slopes, 1, 1.0, axis=1)
    ends = trace(
        assembly, np.zeros((50, 3)), directions / np.linalg.norm(directions, axis=1, keepdims=True)
    )
    crossing = 500 * slopes
    expected = crossing + 100 * (
        slopes - (crossing - [20, -10]) / 300
    )  # slope' = slope - place / f
    assert (ends.parts == assembly.part_id("screen")).all()
    np.testing.assert_allclose(ends.points[:, [0, 2]], expected, atol=1e-9)


def test_ray_through_the_lens_s_middle_goes_straight_on(rig_of, screen_at):
    # any optics textbook: the ray through a thin lens's middle is not bent
    lens = {"screen": "screen", "focal_length": 300, "distance": 100, "width": 800, "height": 800}
    assembly = build(rig_of(screen=[screen_at(centre=[60, 600, 40])], lens=[lens]))
    through = np.array([[60.0, 500.0, 40.0]])
    ends = trace(assembly, np.zeros((1, 3)), through / np.linalg.norm(through))
    np.testing.assert_allclose(ends.points, through * 600 / 500, atol=1e-9)


def test_aimed_rays_arrive(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 300, "distance": 100, "width": 800, "height": 800}
    assembly = build(rig_of(screen=[screen_at(yaw=25, pitch=10, roll=40)], lens=[lens]))
    flat = np.random.default_rng(6).uniform([-199, 0, -149], [199, 0, 149], (50, 3))
    points = flat @ assembly.screens[0].rig_from_screen[:3, :3].T + [0, 600, 0]
    eye = np.array([20.0, -30.0, 10.0])
    ends = trace(
        assembly, np.tile(eye, (50, 1)), directions_through(assembly.screens[0].lens, eye, points)
    )
    np.testing.assert_allclose(ends.points, points, atol=1e-6)


def test_more_lenses_than_a_ray_may_meet(rig_of, screen_at):
    rows = range(30)
    screens = [screen_at(f"s{n}", width=10, height=10, centre=[500, 900 + n, 0]) for n in rows]
    offset = [-500, 0]
    lens = {"focal_length": 1e9, "width": 100, "height": 100, "offset": offset}
    lenses = [lens | {"screen": f"s{n}", "distance": 700 - 19 * n} for n in rows]
    ends = trace(
        build(rig_of(screen=screens, lens=lenses)), np.zeros((1, 3)), np.array([[0.0, 1.0, 0.0]])
    )
    assert ends.parts.tolist() == [LOST]


def test_nothing_to_see(rig_of):
    view = see(build(rig_of()), np.zeros(3), AHEAD)
    assert (view.parts == VOID).all()


def test_eye_inside_a_part_is_refused(rig_of):
    assembly = build(rig_of(board=[{"name": "box", "size": [100, 100, 100], "centre": [0, 0, 0]}]))
    with pytest.raises(PoseError, match='inside "box"'):
        see(assembly, np.zeros(3), AHEAD)


# ---- the same every time ----


def test_same_bytes_on_every_run(sample):
    rig = read_rig(sample)
    eye = eyes_of(rig, rig.heads()["design"]).left
    projection = Projection("equirectangular", 500, 250, 120, samples=2)
    views = [see(build(rig), eye, projection) for _ in range(3)]
    assert len({view.parts.tobytes() for view in views}) == 1
    assert len({view.light.tobytes() for view in views}) == 1


# ---- colours behind a grooved lens ---------------------------------------------------------------


@pytest.fixture
def square(write_rig):
    """Return a function that reads a rig of a white square behind a lens of a model.

    It gives the eye too. The square is 300 mm wide, with a black bar of 12 mm in its middle.
    """
    black = Image.new("RGB", (1000, 750), "black")
    black.paste("white", (125, 0, 875, 750))
    black.paste("black", (485, 0, 515, 750))
    stream = io.BytesIO()
    black.save(stream, "PNG")

    def read(model, **keys):
        more = "\n".join(f'{key} = "{value}"' for key, value in keys.items())
        file = write_rig(
            f"""
            [[screen]]
            name = "square"
            width = 400
            height = 300
            pixels = [1000, 750]
            shows = "square.png"
            centre = [0, 750, 0]
            [[lens]]
            screen = "square"
            focal_length = 450
            magnification = 1.5
            width = 600
            height = 450
            model = "{model}"
            {more}
            """,
            square__png=stream.getvalue(),
        )
        rig = read_rig(file)
        return build(rig), eyes_of(rig, Head(name="here")).mid

    return read


def edges(assembly, eye):
    """Return the tangents at which red, green, blue end at the square's two sides, (2, 3)."""
    ends = image_points(assembly.screens[0], np.array([[-150.0, 0.0], [150.0, 0.0]]))
    found = []
    for towards, outwards in zip(
        directions_through(assembly.screens[0].lens, eye, ends, channel=1), (-1, 1), strict=True
    ):
        close = Projection(
            "rectilinear", 2001, 1, 2.0, math.degrees(math.atan2(towards[0], towards[1]))
        )
        light = see(assembly, eye, close).light[0][::-outwards]
        lit = (light > light[-1] / 2).argmax(axis=0)  # counted from outside
        place = outwards * (1000 - lit)
        found.append([math.tan(math.radians(close.azimuth_at(1000 + column))) for column in place])
    return np.array(found)


def test_model_is_read_from_the_file(square):
    assembly, _ = square("grooved", grooves="screen", conjugates="infinity")
    optic = assembly.screens[0].lens.optic
    assert (optic.model, optic.grooves, optic.conjugates) == ("grooved", "screen", "infinity")


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_fringes_at_an_edge(square, grooves):
    # acrylic bends blue more than red: blue is enlarged more, and stands farther out than green,
    # red less far
    assembly, eye = square("grooved", grooves=grooves)
    (left, right), lens = edges(assembly, eye), assembly.screens[0].lens
    assert right[0] < right[1] < right[2]
    assert left[2] < left[1] < left[0]
    np.testing.assert_allclose(right, -left, atol=5e-5)
    end = image_points(assembly.screens[0], np.array([[150.0, 0.0]]))
    for channel in range(3):
        towards = directions_through(lens, eye, end, channel=channel)[0]
        assert right[channel] == pytest.approx(towards[0] / towards[1], abs=5e-5)


def test_thin_lens_has_no_fringes(square):
    found = edges(*square("thin"))
    assert (found == found[:, :1]).all()


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_picture_s_middle_is_the_thin_lens_s(square, grooves):
    # the 12 mm bar between x = -6 and 6 mm; the thin lens shows its edges at M x / (e + M d)
    close = Projection("rectilinear", 4001, 1, 2.0)
    for assembly, eye in (square("grooved", grooves=grooves), square("thin")):
        light = see(assembly, eye, close).light[0, :, 1]
        bar = np.flatnonzero(light < light[0] / 2)[[0, -1]]
        seen = np.tan(np.radians([close.azimuth_at(column) for column in bar]))
        np.testing.assert_allclose(seen, [-1.5 * 6 / 825, 1.5 * 6 / 825], rtol=2e-3)


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_same_bytes_on_every_run_behind_a_grooved_lens(square, grooves):
    assembly, eye = square("grooved", grooves=grooves)
    projection = Projection("equirectangular", 300, 200, 60, samples=2)
    first, second = (see(assembly, eye, projection) for _ in range(2))
    assert first.light.tobytes() == second.light.tobytes()
    assert first.parts.tobytes() == second.parts.tobytes()
