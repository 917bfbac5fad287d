"""Rays through a grooved lens: the ideal lens, another optics library, drawn grooves."""

import math

import numpy as np
import pytest

from seamsight.scene.display import Optic
from seamsight.scene.layout import PlacedLens
from seamsight.scene.optics import D_LINE, acrylic_index, facet_tangent
from seamsight.viewer.casting.lens_kernel import cross_lens
from seamsight.viewer.casting.sightlines import (
    as_thin,
    directions_through,
    image_intercepts,
    lens_intercepts,
    optics_of,
)

N = acrylic_index(D_LINE)
F, M, D = 450.0, 1.5, 150.0  # focal length, magnification and distance that belong together, mm
EYE = np.array([0.0, -600.0, 0.0])
RIGHT = np.array([1.0, 0.0, 0.0])
LAYOUTS = [(grooves, cut) for grooves in ("pilot", "screen") for cut in ("rig", "infinity")]


def lens_of(thickness=2.0, **keys):
    """Return a grooved lens about the origin; it may be thinner than a rig file lets it be."""
    keys = {"focal_length": F, "magnification": M, "width": 517, "height": 330} | keys
    optic = Optic(model="grooved", **keys)
    return PlacedLens(np.eye(4), optic.model_copy(update={"thickness": thickness}))


def landed(lens, eyes, places, depth=D, channel=3):
    """Return where rays through places (n, 2) of a lens land at a depth, and what passes.

    From eyes (3,) or (n, 3).
    """
    places = np.asarray(places, float)
    return image_intercepts(lens, eyes, places, np.full(len(places), float(depth)), channel)


def directions_behind(lens, eyes, places, channel=3):
    """Return unit directions (n, 3) behind a lens, from where rays land at two depths."""
    near, far = (landed(lens, eyes, places, depth, channel)[:, :2] for depth in (100, 1100))
    away = np.insert((far - near) / 1000, 1, 1.0, axis=1)
    return away / np.linalg.norm(away, axis=1, keepdims=True)


def lens_places(radii):
    angles = np.radians([0, 70, 161, 250])
    return np.concatenate(
        [radius * np.stack([np.cos(angles), np.sin(angles)], axis=1) for radius in radii]
    )


# ---- the points that the grooves are cut for -----------------------------------------------------


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_screen_s_middle_is_seen_at_its_virtual_image(grooves):
    lens = lens_of(1e-9, grooves=grooves)
    places = lens_places([1, 60, 180, 306])
    # from the virtual image, M d behind the lens
    towards = np.insert(places, 1, 0.0, axis=1) - np.array([0, M * D, 0])
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


# ---- small angles: the thin lens -----------------------------------------------------------------


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
    # third-order aberration of Seidel's (any optics textbook; from memory): twice the aperture,
    # eight times as far off
    lens = lens_of(1e-9, grooves=grooves, conjugates=cut)
    at = [[(F / 160, 0.0)], [(F / 80, 0.0)]]
    off = [landed(lens, EYE, place)[0, 0] - landed(as_thin(lens), EYE, place)[0, 0] for place in at]
    assert off[1] / off[0] == pytest.approx(8, rel=0.02)


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
def test_image_stands_where_the_thin_lens_has_it(grooves, cut):
    # where the sightlines of two eyes to one point of the screen cross; the thin lens:
    # e + M d = 825 mm
    lens = lens_of(grooves=grooves, conjugates=cut)
    point = np.array([[1.0, D, 0.5]])
    first, second = (directions_through(lens, EYE + x * RIGHT, point)[0] for x in (-0.5, 0.5))
    distance = 1 / (first[0] / first[1] - second[0] / second[1])
    assert distance == pytest.approx(600 + M * D, rel=1e-3)


def test_sheet_brings_the_image_nearer_as_a_plano_convex_lens_does():
    # principal planes of a plano-convex lens lie t (1 - 1/n) apart (any optics textbook; from
    # memory)
    lens = lens_of(8.0)
    tiny = np.array([[0.01, D, 0.0]])
    first, second = (directions_through(lens, EYE + x * RIGHT, tiny)[0] for x in (-0.1, 0.1))
    distance = 0.2 / (first[0] / first[1] - second[0] / second[1])
    assert 600 + M * D - distance == pytest.approx(8.0 * (1 - 1 / N), rel=1e-3)


# ---- an independent optics library ---------------------------------------------------------------


# Compiling optiland's own functions, numba may warn of itself.
by_optiland = pytest.mark.filterwarnings("ignore::numba.core.errors.NumbaIRAssumptionWarning")


def traced_by_optiland(surfaces, origin, direction, depth):
    """Return where a ray ends at a depth, x and z, through surfaces of acrylic.

    By the package optiland.

    Parameters
    ----------
    surfaces : list of dict
        Place, tilt and radius of the two faces, in optiland's words: its z is away here, its y is
        up.
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
    # a lens of radius (n - 1) f; its curved face's vertex where the grooves are, its flat face
    # where the sheet's is
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
def test_grooves_to_the_screen_bend_as_optiland_s_wedge(bent, radius, slopes):
    lens = lens_of(grooves="screen")
    direction = np.array([slopes[0], 1.0, slopes[1]])
    inside = bent(direction / np.linalg.norm(direction), np.array([0.0, 1.0, 0.0]), 1 / N)
    # so that the ray meets the facet at this radius
    entry = np.array([radius, 0.0, 0.0]) - inside * 2 / inside[1]
    eye = entry - 500 * direction
    place = (eye + direction * -eye[1])[[0, 2]]
    facet = {"x": radius, "y": 0.0, "z": 0.0, "ry": math.atan(facet_at(lens, radius))}
    expected = traced_by_optiland([{"z": -2.0}, facet], eye, direction, D)
    np.testing.assert_allclose(landed(lens, eye, [place])[0, :2], expected, atol=1e-9)


# ---- drawn grooves -------------------------------------------------------------------------------

PITCH, GROOVES, HALF = 0.5, 24, 40.0  # of the drawn patch, mm


@pytest.fixture(scope="module")
def patch_of():
    """Return a function that draws a patch of a lens's grooves, straight across, and its flat back.

    The patch lies about (radius, 0). It gives a tracer for rays, and the triangles' count: facets
    first, walls, then the back.
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
        lean = math.tan(math.radians(lens.optic.draft))
        facets, walls = [], []
        for number in range(-GROOVES // 2, GROOVES // 2):
            start, stop = radius + number * PITCH, radius + (number + 1) * PITCH
            tangent = facet_at(lens, (start + stop) / 2)
            deep = PITCH * tangent / (1 + lean * tangent)  # where facet and leaning wall meet
            end, floor = stop - lean * deep, grooved + way * deep
            facets += strip((start, grooved), (end, floor))
            walls += strip((end, floor), (stop, grooved))
        back = strip((radius - 60, flat), (radius + 60, flat))
        mesh = trimesh.Trimesh(
            **trimesh.triangles.to_kwargs(np.array(facets + walls + back)), process=False
        )
        return RayMeshIntersector(mesh), mesh.face_normals, len(facets), len(walls)

    return draw


def followed(patch, origins, direction, bent):
    """Return the directions (n, 3) of parallel rays behind a drawn patch.

    Not a number for those lost on the way.
    """
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


def beam(radius, slopes):
    """Return rays over four whole grooves in a patch's middle: in the lens plane, origin, way."""
    direction = np.array([slopes[0], 1.0, slopes[1]]) / math.hypot(1.0, *slopes)
    across = radius + PITCH * (4 * (np.arange(800) + 0.5) / 800 - 2)
    middle = np.stack([across, np.zeros(800), np.linspace(-0.3, 0.3, 800)], axis=1)
    return middle, middle - 20 * direction, direction


@pytest.mark.parametrize(("grooves", "cut", "radius", "slopes"), PATCHES)
def test_drawn_grooves_bend_and_block_as_much(patch_of, bent, grooves, cut, radius, slopes):
    lens = lens_of(grooves=grooves, conjugates=cut)
    middle, origins, direction = beam(radius, slopes)
    drawn = followed(patch_of(lens, radius), origins, direction, bent)
    found = landed(lens, origins, middle[:, [0, 2]])
    passes = np.isfinite(drawn).all(axis=1)
    assert np.nan_to_num(found[:, 3]).mean() == pytest.approx(passes.mean(), abs=0.01)
    if passes.any():
        expected = directions_behind(lens, origins, middle[:, [0, 2]]).mean(axis=0)
        np.testing.assert_allclose(drawn[passes].mean(axis=0), expected, atol=5e-4)


@pytest.mark.parametrize("draft", [3.0, 10.0])
@pytest.mark.parametrize(("grooves", "cut", "radius", "slopes"), PATCHES)
def test_leaning_walls_block_as_much_as_drawn(patch_of, bent, grooves, cut, radius, slopes, draft):
    lens = lens_of(grooves=grooves, conjugates=cut, draft=draft)
    middle, origins, direction = beam(radius, slopes)
    drawn = followed(patch_of(lens, radius), origins, direction, bent)
    found = landed(lens, origins, middle[:, [0, 2]])
    passes = np.isfinite(drawn).all(axis=1)
    assert np.nan_to_num(found[:, 3]).mean() == pytest.approx(passes.mean(), abs=0.01)


@pytest.mark.parametrize(("grooves", "gains"), [("pilot", False), ("screen", True)])
def test_leaning_walls_change_only_the_light(grooves, gains):
    # light from an image's corner runs towards the axis, against walls that lean from grooves to
    # the pilot, and along those that lean from grooves to the screen
    corner = np.array([[200.0, 120.0]])
    upright, leaning = (
        landed(lens_of(draft=draft, grooves=grooves), EYE, corner)[0] for draft in (0.0, 4.0)
    )
    np.testing.assert_array_equal(upright[:2], leaning[:2])
    assert (leaning[3] > upright[3]) == gains
    assert leaning[2] / leaning[3] == pytest.approx(upright[2] / upright[3], rel=1e-12)


# ---- colour --------------------------------------------------------------------------------------


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
def test_colours_part_by_snell_s_law(bent, published_index, radius):
    lens = lens_of()
    tilt = math.atan(facet_at(lens, radius))
    normal = np.array([-math.sin(tilt), math.cos(tilt), 0.0])
    level = np.array([0.0, 1.0, 0.0])
    for channel, index in enumerate(published_index):
        expected = bent(bent(level, normal, 1 / index), level, index)
        found = directions_behind(lens, np.array([radius, -100.0, 0.0]), [(radius, 0.0)], channel)
        np.testing.assert_allclose(found[0], expected, atol=1e-6)


# ---- both ways -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("grooves", "cut"), LAYOUTS)
@pytest.mark.parametrize("channel", [0, 1, 2, 3])
def test_ray_goes_back_the_way_it_came(grooves, cut, channel):
    lens = np.array(optics_of(lens_of(grooves=grooves, conjugates=cut)), float)
    way = np.array([0.2, 1.0, -0.1]) / math.hypot(0.2, 1.0, 0.1)
    there = np.array(cross_lens(120.0, -70.0, way[0], way[1], way[2], lens, channel))
    assert there[0] > 0
    out, behind = there[2:5], there[5:]
    back_at = out - behind * out[1] / behind[1]
    back = np.array(
        cross_lens(back_at[0], back_at[2], -behind[0], -behind[1], -behind[2], lens, channel)
    )
    np.testing.assert_allclose(back[5:], -way, atol=1e-12)
    start = back[2:5] + way * -back[3] / way[1]
    np.testing.assert_allclose(start, [120.0, 0.0, -70.0], atol=1e-9)
    assert back[0] / back[1] == pytest.approx(there[0] / there[1], rel=1e-12)  # what the faces pass


def test_eye_sees_each_point_through_the_place_where_the_ray_lands_on_it():
    for grooves, cut in LAYOUTS:
        lens = lens_of(grooves=grooves, conjugates=cut)
        points = np.array([[0.0, D, 0.0], [150.0, D, 90.0], [-190.0, D, 100.0]])
        places = lens_intercepts(lens, EYE + 31.5 * RIGHT, points)
        found = landed(lens, EYE + 31.5 * RIGHT, places[:, [0, 2]])
        np.testing.assert_allclose(found[:, :2], points[:, [0, 2]], atol=1e-6)
