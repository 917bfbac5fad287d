"""What weighs, and what mountings carry."""

import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.weights import weights


@pytest.fixture
def weights_of(rig_of):
    def of(**tables):
        assembly = build(rig_of(**tables))
        return weights(assembly, cut_pieces(assembly))

    return of


def test_screens_weigh_what_the_rig_says(weights_of, screen_at):
    found = weights_of(screen=[screen_at("a", mass=3.5), screen_at("b", centre=[900, 600, 0])])
    assert found.mass == 3.5
    assert found.unknown == ["b"]


def test_the_centre_of_gravity_is_on_the_lever(weights_of, screen_at):
    # 1 kg at -100 and 3 kg at 300 balance at 200; bodies are 40 deep
    light = screen_at("a", mass=1, centre=[-100, 600, 0])
    heavy = screen_at("b", mass=3, centre=[300, 600, 0])
    assert weights_of(screen=[light, heavy]).centre_of_gravity == pytest.approx([200, 620, 0])


LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 400}


def test_a_lens_weighs_its_volume_of_acrylic_with_its_frame(weights_of, screen_at):
    [bare] = weights_of(screen=[screen_at()], lens=[LENS]).lenses
    assert bare.mass == pytest.approx(0.5 * 0.4 * 0.002 * 1180)
    frame = {"frame": {"width": 10, "depth": 20}}
    [framed] = weights_of(screen=[screen_at()], lens=[LENS | frame]).lenses
    assert framed.mass - bare.mass == pytest.approx((0.52 * 0.42 - 0.5 * 0.4) * 0.02 * 1180)


def test_a_lens_weighs_what_the_rig_says(weights_of, screen_at):
    [lens] = weights_of(screen=[screen_at()], lens=[LENS | {"mass": 0.7}]).lenses
    assert lens.mass == 0.7


@pytest.mark.parametrize(("mass", "within"), [(8, True), (8.1, False), (None, None)])
def test_a_mounting_has_its_limit(weights_of, screen_at, mass, within):
    screen = screen_at(mounting="75x75") | ({"mass": mass} if mass else {})
    [mounted] = weights_of(screen=[screen]).mounted
    assert mounted.within is within


def test_nothing_weighs_nothing(weights_of):
    found = weights_of()
    assert found.mass == 0
    assert found.centre_of_gravity is None


def test_a_lens_in_slots_weighs_what_stands_in_them_too(weights_of, screen_at):
    # the space between the boards is 400 high, the slots 4 deep, 0.5 of play
    slotted = LENS | {"carcass": {"slot": {}}}
    [lens] = weights_of(screen=[screen_at()], lens=[slotted]).lenses
    assert lens.mass == pytest.approx(0.5 * 0.4075 * 0.002 * 1180)
