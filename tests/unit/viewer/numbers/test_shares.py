"""How much of an image is seen, and what hides the rest: rigs simple enough to work out on paper.

The screen is 400 x 300 mm, 600 mm ahead. Projected from an eye onto it, a thing at y grows by 600 /
y about the eye.
"""

import math

import numpy as np
import pytest
import trimesh

CLOSE = 1e-5  # of the image's area
ONE_EYE = {
    "eye_point": [0, 0, 0],
    "pupil_distance": 0.01,
}  # the mean of both eyes is then that of one between them
POST = {
    "name": "post",
    "size": [40, 10, 900],
    "centre": [0, 305, 0],
}  # its face towards the eye at y = 300


@pytest.fixture
def seen_of(rig_of, screen_at, numbers_of):
    """Return a function from tables and a head to the one screen's shares."""

    def find(head=None, pilot=ONE_EYE, screen=None, **tables):
        rig = rig_of(pilot=pilot, screen=[screen_at(**(screen or {}))], **tables)
        numbers = numbers_of(rig, **(head or {}))
        seen = numbers.screens["screen"].seen
        return (seen["left"] + seen["right"]) / 2, numbers.hidden_by["screen"]

    return find


def lens(width, height=900, **keys):
    return {
        "screen": "screen",
        "focal_length": 450,
        "distance": 150,
        "width": width,
        "height": height,
    } | keys


def landing(edge, eye, before=450):
    """Return where the ray from an eye through a place of the lens lands, one axis."""
    return edge + 150 * ((edge - eye) / before - edge / 450)


def strip_area(t, off, thick):
    """Return the image's area within a strip: turned clockwise, off the middle, so thick."""
    normal = np.array([math.sin(t), math.cos(t)])
    image = np.array([(-200, -150), (200, -150), (200, 150), (-200, 150)])
    areas = []
    for limit in (off - thick / 2, off + thick / 2):
        # the image's part below a line: its corners there, and where the line cuts its edges
        below, points = image @ normal - limit, []
        for number, corner in enumerate(image):
            after = (number + 1) % 4
            if below[number] < 0:
                points.append(corner)
            if below[number] * below[after] < 0:
                points.append(
                    corner
                    + (image[after] - corner) * below[number] / (below[number] - below[after])
                )
        x, z = np.transpose(points)
        areas.append((x @ np.roll(z, -1) - z @ np.roll(x, -1)) / 2)
    return areas[1] - areas[0]


# ---- nothing in the way ----


def test_bare_screen_is_seen_whole(seen_of):
    seen, hidden = seen_of()
    assert (seen, hidden) == (pytest.approx(1, abs=1e-9), {})


@pytest.mark.parametrize("yaw", [30, 60, 85])
def test_turned_screen_is_seen_whole(seen_of, yaw):
    seen, hidden = seen_of(screen={"yaw": yaw, "bezel": 10})
    assert (seen, hidden) == (pytest.approx(1, abs=1e-9), {})


def test_large_lens_shows_the_image_whole(seen_of):
    seen, hidden = seen_of(lens=[lens(800)])
    assert (seen, hidden) == (pytest.approx(1, abs=1e-9), {})


# ---- apertures ----


@pytest.mark.parametrize("sideways", [0, 20, -75])
def test_aperture_cuts_strips(seen_of, sideways):
    seen, hidden = seen_of(
        {"offset": [sideways, 0, 0]}, lens=[lens(360, frame={"width": 400, "depth": 0.01})]
    )
    right, left = (min(200, sign * landing(sign * 180, sideways)) for sign in (1, -1))
    assert seen == pytest.approx((right + left) / 400, abs=CLOSE)
    assert hidden == {"screen lens frame": pytest.approx(1 - (right + left) / 400, abs=CLOSE)}


def test_aperture_cuts_both_ways(seen_of):
    seen, _ = seen_of(
        {"offset": [10, 0, -15]}, lens=[lens(360, 240, frame={"width": 400, "depth": 0.01})]
    )
    across = min(200, landing(180, 10)) - max(-200, landing(-180, 10))
    up = min(150, landing(120, -15)) - max(-150, landing(-120, -15))
    assert seen == pytest.approx(across * up / (400 * 300), abs=CLOSE)


def test_both_and_either_eye_behind_an_aperture(rig_of, screen_at, numbers_of):
    rig = rig_of(screen=[screen_at()], lens=[lens(360, frame={"width": 400, "depth": 0.01})])
    seen = numbers_of(rig).screens["screen"].seen
    near, far = (
        landing(180, 31.5),
        landing(180, -31.5),
    )  # to the right: of the right eye, of the left eye
    assert far < 200
    assert seen["left"] == pytest.approx((near + far) / 400, abs=CLOSE)
    assert seen["right"] == pytest.approx((near + far) / 400, abs=CLOSE)
    assert seen["both"] == pytest.approx(2 * near / 400, abs=CLOSE)
    assert seen["either"] == pytest.approx(2 * far / 400, abs=CLOSE)


def test_image_is_seen_past_a_small_lens_too(seen_of):
    # through the lens |x| < 133.3 - 40 / 3; straight past its edge at y = 450, beyond 100 x 600 /
    # 450 = 133.3
    seen, hidden = seen_of(lens=[lens(200)])
    through, past = landing(100, 0), 100 * 600 / 450
    assert through < past < 200
    assert seen == pytest.approx((through + 200 - past) / 200, abs=CLOSE)
    assert hidden == {"screen lens": pytest.approx((past - through) / 200, abs=CLOSE)}


def test_lip_hides_a_strip_from_the_side(seen_of):
    # an eye 600 mm left of the left edge sees past a lip of 30 mm only from 30 x 600 / 570 on
    seen, hidden = seen_of({"offset": [-800, 0, 0]}, screen={"bezel": 40, "lip": 30})
    hidden_strip = 30 * 600 / 570 / 400
    assert seen == pytest.approx(1 - hidden_strip, abs=CLOSE)
    assert hidden == {"screen bezel": pytest.approx(hidden_strip, abs=CLOSE)}


# ---- boards and plates ----


def test_board_covers_its_shadow(seen_of):
    board = {"name": "box", "size": [60, 20, 30], "centre": [5, 310, -4]}
    seen, hidden = seen_of(board=[board])
    share = (60 * 2) * (30 * 2) / (400 * 300)  # its near face, at 300
    assert seen == pytest.approx(1 - share, abs=CLOSE)
    assert hidden == {"box": pytest.approx(share, abs=CLOSE)}


def test_two_eyes_see_round_a_post(rig_of, screen_at, numbers_of):
    post = POST | {"size": [40, 0.01, 900], "centre": [0, 300, 0]}
    numbers = numbers_of(rig_of(screen=[screen_at()], board=[post]))
    seen = numbers.screens["screen"].seen
    # each eye loses a strip 80 wide, about x = 31.5 and x = -31.5: 17 are lost to both
    assert seen["left"] == pytest.approx(320 / 400, abs=CLOSE)
    assert seen["either"] == pytest.approx(383 / 400, abs=2e-5)  # the post is 0.01 mm thick
    assert seen["both"] == pytest.approx(257 / 400, abs=2e-5)
    assert numbers.hidden_by["screen"] == {"post": pytest.approx(80 / 400, abs=CLOSE)}


def test_two_overlapping_boards_share_what_they_hide(seen_of):
    beam = {
        "name": "beam",
        "size": [900, 10, 15],
        "centre": [0, 205, 0],
    }  # face at y = 200: before the post
    seen, hidden = seen_of(board=[POST, beam])
    beam_share, post_share = 15 * 3 / 300, 40 * 2 / 400
    assert hidden["beam"] == pytest.approx(beam_share, abs=CLOSE)
    assert hidden["post"] == pytest.approx(post_share * (1 - beam_share), abs=CLOSE)
    assert seen == pytest.approx((1 - beam_share) * (1 - post_share), abs=CLOSE)
    assert list(hidden) == ["post", "beam"]  # the worst first


@pytest.mark.parametrize("roll", [0, 20, 45, 71])
def test_slanting_edge(seen_of, roll):
    # half of the plane is covered, by a board whose upper edge, at the eye's height, goes through
    # the screen's middle
    t = math.radians(roll)
    middle = np.array([-math.sin(t), 0, -math.cos(t)]) * 500
    board = {
        "name": "slope",
        "size": [1000, 0.01, 1000],
        "centre": list(np.add(middle, [0, 300, 0])),
        "roll": roll,
    }
    seen, hidden = seen_of(board=[board])
    assert seen == pytest.approx(0.5, abs=CLOSE)
    assert hidden == {"slope": pytest.approx(0.5, abs=CLOSE)}


def test_slanting_edge_across_a_corner(seen_of):
    # a board turned by 45 degrees covers the corner beyond x + z = 250: a triangle with legs of 200
    # + 150 - 250
    middle = np.array([1, 0, 1]) / math.sqrt(2) * (125 / math.sqrt(2) + 500) + [0, 300, 0]
    board = {"name": "corner", "size": [1000, 0.01, 1000], "centre": list(middle), "roll": 45}
    _, hidden = seen_of(board=[board])
    assert hidden == {"corner": pytest.approx(100 * 100 / 2 / (400 * 300), abs=CLOSE)}


def test_round_hole_shows_a_circle(seen_of):
    # the plate's far face, 320 mm ahead, bounds the view; its hole is drawn with 96 corners
    hole = {"shape": "circle", "at": [0, 0], "diameter": 100}
    plate = {
        "name": "panel",
        "size": [900, 900],
        "thickness": 20,
        "centre": [0, 310, 0],
        "holes": [hole],
    }
    seen, hidden = seen_of(plate=[plate])
    shown = (50 * 600 / 320) ** 2 * 96 / 2 * math.sin(2 * math.pi / 96) / (400 * 300)
    assert seen == pytest.approx(shown, abs=CLOSE)
    assert hidden == {"panel": pytest.approx(1 - shown, abs=CLOSE)}


@pytest.mark.parametrize("height", [0.4, 1, 2])
@pytest.mark.parametrize("middle", [0, 2.1, 3.3, 51.7])
def test_thin_rod_hides_its_share_wherever_it_is(seen_of, middle, height):
    rod = {"name": "rod", "size": [900, 0.01, height], "centre": [0, 300, middle]}
    _, hidden = seen_of(board=[rod])
    assert hidden == {"rod": pytest.approx(height * 2 / 300, abs=5e-5)}


@pytest.mark.parametrize("width", [0.4, 1, 2])
@pytest.mark.parametrize("middle", [0, 2.1, 3.3, 51.7])
def test_thin_post_hides_its_share_wherever_it_is(seen_of, middle, width):
    post = {"name": "post", "size": [width, 0.01, 900], "centre": [middle, 300, 0]}
    _, hidden = seen_of(board=[post])
    assert hidden == {"post": pytest.approx(width * 2 / 400, abs=5e-5)}


@pytest.mark.parametrize("height", [5, 10])
@pytest.mark.parametrize("middle", [2.1, 3.3, 51.7])
def test_knob_hides_its_share_wherever_it_is(seen_of, middle, height):
    knob = {"name": "knob", "size": [5, 0.01, height], "centre": [middle / 2, 300, middle]}
    _, hidden = seen_of(board=[knob])
    assert hidden == {"knob": pytest.approx(10 * height * 2 / (400 * 300), abs=5e-5)}


@pytest.mark.parametrize("thick", [1, 2])
@pytest.mark.parametrize("roll", [20, 45, 70])
def test_slanting_rod_hides_its_share(seen_of, roll, thick):
    rod = {"name": "rod", "size": [900, 0.01, thick], "centre": [3.3, 300, 2.1], "roll": roll}
    _, hidden = seen_of(board=[rod])
    t = math.radians(roll)
    off = 2 * (3.3 * math.sin(t) + 2.1 * math.cos(t))
    assert hidden == {"rod": pytest.approx(strip_area(t, off, 2 * thick) / (400 * 300), abs=1e-4)}


def test_web_between_two_holes_hides_its_share(seen_of):
    holes = [
        {"shape": "rect", "at": [x, 0], "size": [300, 400]} for x in (-150.5 + 13.3, 150.5 + 13.3)
    ]  # 1 mm apart
    plate = {
        "name": "panel",
        "size": [900, 900],
        "thickness": 0.01,
        "centre": [0, 300, 0],
        "holes": holes,
    }
    _, hidden = seen_of(plate=[plate])
    assert hidden == {"panel": pytest.approx(2 / 400, abs=1e-4)}


@pytest.mark.parametrize("thick", [1, 3])
def test_finely_modelled_rod_hides_its_share(rig_of, screen_at, numbers_of, tmp_path, thick):
    rod = trimesh.creation.cylinder(thick / 2, 900, sections=300)  # upright, of 1200 triangles
    (tmp_path / "rod.stl").write_bytes(rod.export(file_type="stl"))
    mesh = {"name": "rod", "file": "rod.stl", "centre": [13.3, 300, 0]}
    rig = rig_of(pilot=ONE_EYE, screen=[screen_at()], mesh=[mesh]).read_from(tmp_path / "rig.toml")
    assert numbers_of(rig).hidden_by["screen"] == {"rod": pytest.approx(2 * thick / 400, rel=0.01)}


# ---- behind a lens ----


def test_post_before_a_lens(seen_of):
    # its edges at x = -20 and 20, y = 300, cross the lens at 30 and land at 30 + 150 (30 / 450 - 30
    # / 450)
    seen, hidden = seen_of(board=[POST], lens=[lens(900)])
    assert seen == pytest.approx(1 - 60 / 400, abs=CLOSE)
    assert hidden == {"post": pytest.approx(60 / 400, abs=CLOSE)}


def test_post_between_lens_and_screen(seen_of):
    # half way, at 525: rays to x cross the lens at x too when the eye is at the focal distance, so
    # they run straight
    post = {"name": "post", "size": [40, 10, 900], "centre": [0, 525, 0]}
    seen, hidden = seen_of(board=[post], lens=[lens(900)])
    assert seen == pytest.approx(1 - 40 / 400, abs=CLOSE)
    assert hidden == {"post": pytest.approx(40 / 400, abs=CLOSE)}


def test_screen_hides_its_neighbour(rig_of, screen_at, numbers_of):
    near = screen_at("near", width=100, height=900, body=10, centre=[0, 300, 0])
    numbers = numbers_of(rig_of(pilot=ONE_EYE, screen=[near, screen_at("far")]))
    assert numbers.screens["near"].seen["both"] == pytest.approx(1, abs=1e-9)
    assert numbers.hidden_by == {"near": {}, "far": {"near": pytest.approx(200 / 400, abs=CLOSE)}}
