"""What goes wrong in builds, at which places; against plain Monte Carlo in closed form."""

import numpy as np
import pytest

from seamsight.scene import ChoiceError, build
from seamsight.scene.rig import Head
from seamsight.scene.tolerance import Tolerance
from seamsight.viewer.studies.tolerance_bench import KINDS, Bench
from seamsight.viewer.studies.tolerance_draws import draws
from seamsight.viewer.studies.tolerance_errors import GROUPS, limits_of

BUILDS = 20_000
TRIED = 4096
IPD = 63.0
SPACING = (3.8 + 4) / 256  # degrees between two rays across a strip of 3.8 degrees


@pytest.fixture(scope="module")
def one_lens(rig_of, screen_at):
    """Return an assembly of one thin lens: e = 600, d = 150, f = 450, a = 150, image 259 wide."""
    screen = screen_at("one", centre=[0, 750, 0], width=259, height=150, shows="world")
    lens = {"screen": "one", "focal_length": 450, "distance": 150, "width": 300, "height": 200}
    return build(rig_of(screen=[screen], lens=[lens]))


@pytest.fixture(scope="module")
def two_bare(rig_of, screen_at):
    """Return an assembly of two bare screens side by side, 40 mm apart, 600 mm away."""
    screens = [
        screen_at(name, centre=[x, 600, 0], width=400, height=300, shows="world", bezel=19)
        for name, x in (("left", -220), ("right", 220))
    ]
    return build(rig_of(screen=screens))


def _agree(found, plain):
    """Return whether a chance is within 3 standard deviations of that of 20,000 plain builds."""
    mean = plain.mean()
    return abs(found - mean) <= 3 * np.sqrt(mean * (1 - mean) / len(plain))


def test_as_designed_nothing_is_off(two_bare):
    bench = Bench(two_bare, Head(name="design"))
    drawn = draws(len(bench.errors.groups), 0, 64)
    none = np.zeros(len(GROUPS))
    for kind in KINDS:
        told = bench.design[kind] if kind != "broken" else np.zeros(1)
        assert np.abs(bench.measured(kind, drawn, none) - told).max() < 1e-9
    assert bench.places["shown"] == bench.places["broken"] == ("left | right",)
    assert bench.places["lost"][:2] == ("left left", "left right")


def test_lost_strips_are_as_frequent_as_in_plain_builds_of_the_closed_form(one_lens):
    # right side: a + d ((a - x) / e - a / f) - w / 2, for an eye x right of the lens's middle
    bench = Bench(one_lens, Head(name="design"))
    tolerance = Tolerance(position=2.0, angle=0.0, focal_length=5.0, lens_size=3.0)
    drawn = draws(len(bench.errors.groups), 0, TRIED)
    found = bench.measured("lost", drawn, limits_of(tolerance))[:, :2] * 259 / 800  # mm

    rng = np.random.default_rng(77)
    screen_x, screen_y, lens_x, lens_y = rng.uniform(-2, 2, (4, BUILDS))
    half = 150 + rng.uniform(-3, 3, BUILDS) / 2
    focal_length = 450 * (1 + rng.uniform(-0.05, 0.05, BUILDS))
    before, depth = 600 + lens_y, 150 + screen_y - lens_y
    for column, sign in ((0, -1), (1, 1)):
        least = np.full(BUILDS, np.inf)
        for eye in (-IPD / 2, IPD / 2):
            aside = sign * (eye - lens_x)
            landing = half + depth * ((half - aside) / before - half / focal_length)
            least = np.minimum(least, landing + sign * (lens_x - screen_x) - 259 / 2)
        for limit in (-2.0, 0.0, 1.5):
            chance = (found[:, column] > -limit).mean()
            assert 0.02 < chance < 0.999
            assert _agree(chance, least < limit)


def test_strips_are_as_wide_as_in_plain_builds_of_two_bare_screens(two_bare):
    # each image's edge, x aside and y ahead of an eye, is seen at an angle of atan(x / y)
    bench = Bench(two_bare, Head(name="design"))
    drawn = draws(len(bench.errors.groups), 0, TRIED)
    limits = limits_of(Tolerance(position=5.0, angle=0.0))
    found = bench.measured("shown", drawn, limits)[:, 0]

    rng = np.random.default_rng(78)
    left, right = rng.uniform(-5, 5, (2, 2, BUILDS))
    widths = [
        np.arctan((20 + right[0] - eye) / (600 + right[1]))
        - np.arctan((-20 + left[0] - eye) / (600 + left[1]))
        for eye in (-IPD / 2, IPD / 2)
    ]
    plain = np.degrees(np.max(widths, axis=0))
    for more in (-0.3, 0.0, 0.25, 0.5):
        limit = bench.design["shown"][0] + more
        # its rays tell widths to within their spacing
        chance = (plain > limit).mean()
        deviation = np.sqrt(chance * (1 - chance) / BUILDS)
        low, high = ((found > limit + off).mean() for off in (SPACING, -SPACING))
        assert low - 3 * deviation <= chance <= high + 3 * deviation
    assert found.mean() == pytest.approx(plain.mean(), abs=0.01)


def test_breaks_are_as_frequent_as_in_plain_builds_of_two_bare_screens(two_bare):
    # the seam's middle lies 20 mm beside each image: a screen z too high shows it z / distance off
    bench = Bench(two_bare, Head(name="design"))
    drawn = draws(len(bench.errors.groups), 0, TRIED)
    found = bench.measured("broken", drawn, limits_of(Tolerance(position=1.0, angle=0.0)))[:, 0]

    rng = np.random.default_rng(79)
    left, right = rng.uniform(-1, 1, (2, 3, BUILDS))
    plain = np.abs(
        np.subtract(*(z / np.sqrt(x**2 + (600 + y) ** 2 + z**2) for x, y, z in (left, right)))
    )
    plain *= 180 * 60 / np.pi
    for limit in (1.0, 5.0, 8.0):
        assert _agree((found > limit).mean(), plain > limit)
    # root sum of squares of two rectangular values of half-width 1 (JCGM 100:2008, 4.3.7, 5.1.2)
    signed = np.sqrt(np.mean(found**2))
    assert signed == pytest.approx(np.sqrt(2 / 3) / 600 * 180 * 60 / np.pi, rel=0.01)


def test_a_head_behind_the_screens_is_refused(two_bare):
    with pytest.raises(ChoiceError, match="in front of both eyes"):
        Bench(two_bare, Head(name="behind", offset=(0, 900, 0)))
