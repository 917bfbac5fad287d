"""Other lenses in a lens's place: closed forms, published facet angles, rigs that have them."""

import dataclasses
import json
import math

import numpy as np
import pytest

from seamsight.scene import Head, build, read_rig
from seamsight.scene.optics import D_LINE, acrylic_index
from seamsight.viewer import eyes_of, measure
from seamsight.viewer.numbers.landing import visible_field
from seamsight.viewer.numbers.lens_models import (
    LENS_MODELS,
    f_number,
    lens_models,
    with_lens_model,
)

F, D, M, E = 450.0, 150.0, 1.5, 600.0  # focal length; lens to screen; magnification; eye to lens


@pytest.fixture(scope="module")
def rig_with(rig_of, screen_at):
    """Return a function from a lens's keys to a rig: a screen of 400 x 300 mm, its lens E ahead."""

    def make(screen=None, **keys):
        optic = {"focal_length": F, "distance": D, "width": 420, "height": 320}
        placed = screen_at(centre=[0, E + D, 0], **(screen or {}))
        return rig_of(screen=[placed], lens=[{"screen": "screen"} | optic | keys])

    return make


def figures_of(rig, **head):
    """Return a rig's only screen's figures by lens."""
    (found,) = lens_models(build(rig), eyes_of(rig, Head(name="here", **head))).values()
    return {figures.lens: figures for figures in found}


def test_ideal_lens_s_figures_are_the_textbook_s(rig_with):
    ideal = figures_of(rig_with(width=390, height=340))["ideal"]
    # across the lens's edges end the field; up the image does, M times as large e + M d away
    assert ideal.field["h"] == pytest.approx(2 * math.degrees(math.atan(195 / E)))
    assert ideal.field["v"] == pytest.approx(2 * math.degrees(math.atan(M * 150 / (E + M * D))))
    # margin = a + d ((a - x) / e - a / f) - w / 2 at the eye farther from the side
    margin = 195 + D * ((195 - 31.5) / E - 195 / F) - 200
    assert ideal.lost == pytest.approx(-margin)
    assert (ideal.distortion, ideal.colour, ideal.groove_angle) == (0, 0, 0)
    assert ideal.light == {"centre": 1, "corner": 1} and ideal.blur == {"centre": 0, "corner": 0}


@pytest.mark.parametrize("head", [{}, {"offset": (40, 20, -30), "turn": 15}])
@pytest.mark.parametrize("name", LENS_MODELS)
def test_figures_are_what_a_rig_with_that_lens_measures(rig_with, name, head):
    rig = rig_with(width=380, height=290)
    found = figures_of(rig, **head)[name]
    changed = with_lens_model(rig, name)
    eyes = eyes_of(changed, Head(name="here", **head))
    screen = measure(build(changed), eyes).screens["screen"]
    least = min(by_eye[eye] for by_eye in screen.margin.values() for eye in ("left", "right"))
    assert found.lost == pytest.approx(max(0, -least), abs=1e-5)
    if screen.sheet:
        assert found.distortion == pytest.approx(screen.sheet.distortion, abs=1e-6)
        assert found.colour == pytest.approx(screen.sheet.colour, abs=1e-5)
        assert found.light == pytest.approx(screen.sheet.light, abs=1e-6)
        assert found.blur["corner"] == pytest.approx(screen.sheet.blur["corner"], abs=1e-5)
    field = visible_field(build(changed).screens[0], eyes.mid)
    assert found.field["h"] == pytest.approx(math.degrees(field["h"]), abs=1e-6)


def test_rig_s_own_lens_is_marked(rig_with):
    for keys, own in (
        ({}, "ideal"),
        ({"model": "grooved", "grooves": "screen"}, "cut for the rig, grooves to the screen"),
        ({"model": "grooved", "conjugates": "infinity"}, "stock, grooves to the pilot"),
    ):
        found = figures_of(rig_with(**keys)).values()
        assert [figures.lens for figures in found if figures.in_rig] == [own]


@pytest.mark.parametrize(("radius", "angle"), [(50, 27.2587), (100, 46.6662)])
def test_stock_facets_are_as_steep_as_published_formulas_have_them(rig_with, radius, angle):
    # a sheet of n = 1.4906, f = 200 mm, flat side to its focus, grooves to infinity: traced by
    # Snell's law, rays leave it parallel to 1e-15
    assert acrylic_index(D_LINE) == pytest.approx(1.4906, abs=2e-5)
    rig = rig_with(focal_length=200, width=radius * 1.2, height=radius * 1.6)
    for side in ("pilot", "screen"):
        found = figures_of(rig)[f"stock, grooves to the {side}"]
        assert found.groove_angle == pytest.approx(angle, abs=2e-3)


def test_units_of_a_bank_differ_by_their_strips_alone(rig_of):
    lens = {"focal_length": F, "magnification": M, "width": 517, "height": 330}
    screen = {"width": 474, "height": 296, "pixels": [1680, 1050], "shows": "black"}
    bank = {"name": "b", "count": 3, "radius": E, "screen": screen, "lens": lens}
    rig = rig_of(bank=[bank])
    left, middle, right = lens_models(build(rig), eyes_of(rig, Head(name="here"))).values()
    for units in zip(left, middle, right, strict=True):
        assert len({figures.distortion for figures in units}) == 1
        assert units[0].lost == pytest.approx(units[2].lost, abs=1e-6)


def test_real_sheets_differ_as_they_do(rig_with):
    found = figures_of(rig_with(screen={"width": 474, "height": 296}, width=517, height=330))
    stock, turned = found["stock, grooves to the pilot"], found["stock, grooves to the screen"]
    cut = found["cut for the rig, grooves to the screen"]
    assert stock.light["corner"] < 0.1 < 0.8 < turned.light["corner"]
    assert turned.distortion < 0.5 < 2 < stock.distortion < cut.distortion
    assert cut.field["h"] < 38 < 46 < turned.field["h"]
    assert cut.lost == 0 < turned.lost < stock.lost


def test_sheet_too_thick_for_its_place_is_left_out(rig_with):
    assert list(figures_of(rig_with(distance=3, thickness=4))) == ["ideal"]


def test_screens_without_lens_and_eyes_behind_one_have_none(rig_of, screen_at, rig_with):
    bare = rig_of(screen=[screen_at()])
    assert lens_models(build(bare), eyes_of(bare, Head(name="here"))) == {}
    rig = rig_with()
    behind = eyes_of(rig, Head(name="here", offset=(0, 640, 0)))
    assert lens_models(build(rig), behind) == {}


def test_every_lens_of_a_rig_changes(sample):
    rig = read_rig(sample)
    changed = with_lens_model(rig, "stock, grooves to the screen")
    optics = [*changed.lens, *(bank.lens for bank in changed.bank if bank.lens)]
    before = [*rig.lens, *(bank.lens for bank in rig.bank if bank.lens)]
    assert len(optics) == len(before)
    for optic, old in zip(optics, before, strict=True):
        keys = {"model": "grooved", "conjugates": "infinity", "grooves": "screen"}
        assert optic == old.model_copy(update=keys)
    assert changed.file == rig.file


def test_f_number_counts_to_the_corners(rig_with):
    assert f_number(rig_with(width=300, height=400).lens[0]) == pytest.approx(F / 500)


def test_odd_lenses_have_figures_or_none(rig_of, screen_at):
    random = np.random.default_rng(3)
    for _ in range(40):
        focal_length, distance = random.uniform(40, 900), random.uniform(0.03, 0.97)
        lens = {
            "screen": "screen",
            "focal_length": focal_length,
            "distance": focal_length * distance,
            "width": random.uniform(5, 900),
            "height": random.uniform(5, 700),
            "offset": random.uniform(-150, 150, 2).tolist(),
            "thickness": 1,
        }
        place = [random.uniform(-300, 300), focal_length * distance + random.uniform(60, 900), 0]
        screen = screen_at(centre=place, yaw=random.uniform(-60, 60), width=random.uniform(9, 900))
        rig = rig_of(screen=[screen], lens=[lens])
        for figures in lens_models(build(rig), eyes_of(rig, Head(name="here"))).get("screen", ()):
            json.dumps(dataclasses.asdict(figures), allow_nan=False)
            assert figures.lost >= 0 and all(0 <= angle < 180 for angle in figures.field.values())
            assert all(0 <= share <= 1 for share in figures.light.values())
