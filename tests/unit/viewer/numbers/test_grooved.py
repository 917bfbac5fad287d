"""The numbers of a grooved lens, against the ideal lens and against traces by hand."""

import itertools
import math

import numpy as np
import pytest
from scipy.optimize import brentq

from seamsight.scene import build
from seamsight.scene.layout import PlacedLens
from seamsight.scene.optics import D_LINE, acrylic_index, facet_tangent
from seamsight.viewer.casting.sightlines import directions_through, image_points
from seamsight.viewer.numbers.grooved import numbers, worst_corner

N = acrylic_index(D_LINE)
F, M, D = 450.0, 1.5, 150.0  # focal length, magnification and distance that belong together, mm
LAYOUTS = [(grooves, cut) for grooves in ("pilot", "screen") for cut in ("rig", "infinity")]


@pytest.fixture(scope="session")
def sheet_of(rig_of, screen_at):
    """Return a function that gives a screen behind a grooved lens, and that lens's numbers."""

    def make(size=(400.0, 300.0), aperture=(600, 450), focal_length=F, magnification=M, **keys):
        optic = {
            "focal_length": focal_length,
            "magnification": magnification,
            "width": aperture[0],
            "height": aperture[1],
        }
        behind = focal_length * (1 - 1 / magnification)
        screen = screen_at(width=size[0], height=size[1], centre=[0, 600 + behind, 0])
        rig = rig_of(
            screen=[screen], lens=[{"screen": "screen", "model": "grooved", **optic, **keys}]
        )
        placed = build(rig).screens[0]
        return placed, numbers(placed, np.zeros(3))

    return make


def test_nearly_flat_lens_does_nearly_nothing(sheet_of):
    _, found = sheet_of(focal_length=1e8, magnification=1.000001, thickness=0.01)
    assert found.distortion < 1e-4
    assert found.colour < 1e-2
    assert found.blur["centre"] < 1e-3
    assert found.blur["corner"] < 1e-3
    assert found.blocked["corner"] < 1e-3


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_centre_passes_what_two_faces_do(sheet_of, grooves):
    _, found = sheet_of(grooves=grooves)
    reflected = ((N - 1) / (N + 1)) ** 2  # Fresnel, square on
    assert found.light["centre"] == pytest.approx((1 - reflected) ** 2, abs=1e-9)
    assert found.blocked["centre"] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_point_that_the_grooves_are_cut_for_is_sharp(sheet_of, grooves):
    placed, _ = sheet_of(grooves=grooves)
    thin = PlacedLens(
        placed.lens.rig_from_lens, placed.lens.optic.model_copy(update={"thickness": 1e-7})
    )
    placed = type(placed)(placed.name, placed.rig_from_screen, placed.display, thin)
    assert numbers(placed, np.zeros(3)).blur["centre"] == pytest.approx(0, abs=1e-4)


def test_nothing_is_told_of_other_screens(rig_of, screen_at, sheet_of):
    placed, _ = sheet_of(model="thin")
    assert numbers(placed, np.zeros(3)) is None
    assert numbers(build(rig_of(screen=[screen_at()])).screens[0], np.zeros(3)) is None


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
def test_a_larger_image_has_larger_faults(sheet_of, grooves, cut):
    found = [
        sheet_of((400 * s, 300 * s), grooves=grooves, conjugates=cut)[1] for s in (0.1, 0.2, 0.3)
    ]
    for small, large in itertools.pairwise(found):
        assert small.distortion < large.distortion
        assert small.colour < large.colour
        assert small.light["corner"] > large.light["corner"]
        assert small.blocked["corner"] <= large.blocked["corner"] + 1e-12
        assert small.blur["corner"] < large.blur["corner"]


@pytest.fixture(scope="session")
def tangent_by_snell(bent):
    """Return a function that traces rays by hand, through a sheet of 2 mm in a plane with the axis.

    It gives the tangent at which an eye, off the axis and 600 mm before the lens, sees a point of
    the screen. Grooves cut for the "rig" have their conjugates D before and M D behind the lens;
    for "infinity", the focal length on the flat side.
    """

    def tangent(target, index, grooves, cut="rig", eye=0.0):
        near, far = 1 / D, -1 / (M * D)
        flat_side, groove_side = (near, far) if grooves == "pilot" else (far, near)
        if cut == "infinity":
            flat_side, groove_side = 1 / F, 0.0
        level = np.array([0.0, 1.0])

        def facet(x, way):
            tilt = math.atan(facet_tangent(x, N, flat_side, groove_side))
            return np.array([way * math.sin(tilt), math.cos(tilt)])

        def miss(tangent):
            away = np.array([tangent, 1.0]) / math.hypot(tangent, 1)
            first = -2 * (1 - 1 / N) if grooves == "pilot" else -2.0
            x = eye + tangent * (600 + first)
            away = bent(away, facet(x, -1) if grooves == "pilot" else level, 1 / index)
            x += 2 * away[0] / away[1]
            away = bent(away, level if grooves == "pilot" else facet(x, 1), index)
            return x + (D - first - 2) * away[0] / away[1] - target

        return brentq(miss, -0.1, 0.45, xtol=1e-14)

    return tangent


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_blur_is_that_of_a_trace_by_hand(sheet_of, tangent_by_snell, grooves):
    # rings of 6, 12 and 18 rays over a pupil of 4 mm, from a point on the axis, where all rings are
    # alike: the focus that is nearest to all rays lies on the axis at y, least squares of
    # h cos t + y sin t
    _, found = sheet_of(grooves=grooves, conjugates="infinity")
    height, count = np.array([2 / 3, 4 / 3, 2.0]), np.array([6, 12, 18])
    angle = np.arctan([tangent_by_snell(0.0, N, grooves, "infinity", h) for h in height])
    focus = -np.sum(count * height * np.cos(angle) * np.sin(angle)) / np.sum(
        count * np.sin(angle) ** 2
    )
    off = np.abs(np.arctan2(-height, focus) - angle)
    assert found.blur["centre"] == pytest.approx(2 * math.degrees(off.max()) * 60, rel=1e-4)


@pytest.mark.parametrize("magnification", [1.5, 4.0, 40.0])
def test_blur_is_what_no_focus_takes_away(sheet_of, magnification):
    # rays to the worst corner, traced, as directions in the pupil's plane: of all vergences from
    # -10 to 10 dioptres in small steps the one that leaves least of them, by a plain search
    placed, found = sheet_of(magnification=magnification, grooves="screen", conjugates="infinity")
    corner = image_points(placed, np.array([[-200.0, -150.0]]))
    chief = directions_through(placed.lens, np.zeros(3), corner)[0]
    side = np.cross(chief, [0.0, 0.0, 1.0])
    side /= np.linalg.norm(side)
    across = np.stack([side, np.cross(side, chief)])
    turns = [np.arange(6 * ring) * np.pi / 3 / ring for ring in (1, 2, 3)]
    rings = [
        ring * 2 / 3 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        for ring, turn in enumerate(turns, start=1)
    ]
    disc = np.concatenate([[(0.0, 0.0)], *rings])
    rays = directions_through(placed.lens, disc @ across, np.repeat(corner, len(disc), axis=0))
    slopes = rays @ across.T / (rays @ chief)[:, None]
    slopes -= slopes.mean(axis=0)
    left = [slopes + dioptres / 1000 * disc for dioptres in np.arange(-10, 10, 0.002)]
    best = min(left, key=lambda spread: np.sum(spread**2))
    worst = 2 * math.degrees(np.linalg.norm(best, axis=1).max()) * 60
    assert found.blur["corner"] == pytest.approx(worst, abs=0.02)


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_distortion_and_colour_are_those_of_a_trace_by_hand(
    sheet_of, published_index, tangent_by_snell, grooves
):
    # an image so low that all its border lies in a plane with the axis, where points each 25 mm are
    # looked at
    placed, found = sheet_of((400.0, 0.02), grooves=grooves)
    border = np.arange(25.0, 201.0, 25.0)

    def angles(index):
        return np.degrees(np.arctan([tangent_by_snell(x, index, grooves) for x in border]))

    real, thin = angles(N), np.degrees(np.arctan(M * border / (600 + M * D)))
    assert found.distortion == pytest.approx(np.abs(real - thin).max(), rel=1e-5)
    red, _, blue = (angles(index) for index in published_index)
    assert found.colour == pytest.approx((blue - red).max() * 60, rel=1e-4)
    towards = directions_through(
        placed.lens, np.zeros(3), image_points(placed, np.array([[200.0, 0.0]]))
    )[0]
    assert math.degrees(math.atan2(towards[0], towards[1])) == pytest.approx(real[-1], abs=1e-6)


# ---- what the aperture shows ---------------------------------------------------------------------


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_faults_are_those_of_what_the_aperture_shows(sheet_of, grooves):
    # the facets of a stock sheet grow steeper, and its faults larger, all the way out
    apertures = ((520.0, 330.0), (260.0, 165.0), (100.0, 60.0))
    found = [
        sheet_of((480.0, 300.0), aperture, grooves=grooves, conjugates="infinity")[1]
        for aperture in apertures
    ]
    for large, small in itertools.pairwise(found):
        assert small.distortion < large.distortion
        assert small.colour < large.colour
        assert small.light["corner"] > large.light["corner"]
        assert small.light["centre"] == large.light["centre"]
        assert small.blur["corner"] < large.blur["corner"]
        assert small.blur["centre"] == pytest.approx(large.blur["centre"], abs=1e-8)


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
def test_wider_aperture_than_the_image_changes_nothing(sheet_of, grooves, cut):
    _, found = sheet_of(grooves=grooves, conjugates=cut)
    _, wider = sheet_of(aperture=(900, 800), grooves=grooves, conjugates=cut)
    assert wider == found


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
@pytest.mark.parametrize("aperture", [120.0, 240.0])
def test_distortion_at_an_aperture_s_edge_is_that_of_a_trace_by_hand(
    sheet_of, tangent_by_snell, grooves, cut, aperture
):
    # an image so low that all its border lies in a plane with the axis: the eye 600 mm before the
    # lens sees its last through the aperture's edges
    _, found = sheet_of((400.0, 0.02), (aperture, 450), grooves=grooves, conjugates=cut)
    edge = aperture / 1200
    last = brentq(lambda place: tangent_by_snell(place, N, grooves, cut) - edge, 1.0, 200.0)
    thin = M * last / (600 + M * D)
    expected = math.degrees(abs(math.atan(edge) - math.atan(thin)))
    assert found.distortion == pytest.approx(expected, rel=1e-5)


def test_aperture_that_shows_nothing_of_its_image_has_no_faults(sheet_of):
    _, found = sheet_of((100.0, 100.0), (100, 450), offset=[400, 0])
    assert found.distortion is None and found.colour is None
    assert found.light == {"centre": 0, "corner": 0}
    assert found.blur == {"centre": None, "corner": None}


def test_the_worst_corner_alone_is_that_of_all_numbers(rig_of, screen_at):
    for keys in ({"width": 430}, {"width": 300}):
        lens = {"screen": "screen", "focal_length": 450, "distance": 150, "height": 400, **keys}
        rig = rig_of(screen=[screen_at()], lens=[lens | {"model": "grooved"}])
        [screen] = build(rig).screens
        eye = np.array([10.0, 20.0, 5.0])
        every = numbers(screen, eye)
        alone = worst_corner(screen, eye)
        assert alone == pytest.approx((every.light["corner"], every.blur["corner"]))
    [bare] = build(rig_of(screen=[screen_at()])).screens
    assert worst_corner(bare, eye) is None
