"""Where an image just fills a lens: the thin lens law, and why there may be no such place."""

import pytest

from seamsight.scene import build
from seamsight.scene.starting import Measures, at_radius
from seamsight.viewer.studies.lens_filling import Lens, filling

EYE = (0.0, 0.0, 0.0)
IMAGE = (480.0, 300.0)


def unit_of(rig_of, radius=600.0):
    screen = {"width": IMAGE[0], "height": IMAGE[1], "pixels": [800, 500]}
    lens = {"focal_length": 450, "distance": 150, "width": 500, "height": 320}
    bank = {"name": "row", "count": 1, "radius": radius, "screen": screen, "lens": lens}
    return build(rig_of(bank=[bank])).screens[0]


def single(rig_of, screen_at, away):
    screen = screen_at(width=IMAGE[0], height=IMAGE[1], centre=[0, away, 0])
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 320}
    return build(rig_of(screen=[screen], lens=[lens])).screens[0]


def looks(focal_length, distance, radius):
    """Return M R / (R + M d), M = f / (f - d): how many times as wide the image looks there."""
    enlarged = focal_length / (focal_length - distance)
    return enlarged * radius / (radius + enlarged * distance)


@pytest.mark.parametrize("size", [(520, 325), (520, 300), (480, 340)])
@pytest.mark.parametrize("focal_length", [300, 420, 500])
def test_image_of_a_bank_s_unit_just_fills_the_lens(rig_of, size, focal_length):
    distance, why = filling(unit_of(rig_of), EYE, Lens(size, focal_length))
    assert why is None
    shown = looks(focal_length, distance, 600)
    # M w / (R + M d) = W / R one way, and no less than that the other
    assert shown == pytest.approx(max(size[0] / IMAGE[0], size[1] / IMAGE[1]))


@pytest.mark.parametrize(
    ("away", "focal_length", "size"),
    [(800, 450, (520, 325)), (710, 600, (460, 280)), (900, 300, (500, 320))],
)
def test_single_screen_stays_where_it_is(rig_of, screen_at, away, focal_length, size):
    screen = single(rig_of, screen_at, away)
    distance, why = filling(screen, EYE, Lens(size, focal_length))
    assert why is None
    shown = looks(focal_length, distance, away - distance)
    assert shown == pytest.approx(max(size[0] / IMAGE[0], size[1] / IMAGE[1]))


def test_distance_is_what_start_chooses(rig_of):
    measures = Measures(
        count=1,
        diagonal=(IMAGE[0] ** 2 + IMAGE[1] ** 2) ** 0.5,
        aspect=(8, 5),
        pixels=(800, 500),
        bezel=0,
        eye_height=0,
        lens=(520, 340),
        focal_length=450,
    )
    distance, _ = filling(unit_of(rig_of), EYE, Lens((520, 340), 450))
    assert distance == pytest.approx(at_radius(measures, 600).distance)


@pytest.mark.parametrize(
    ("lens", "said"),
    [
        (Lens((520, 325), 600), "must be below 600 mm, the distance from the eyes"),
        (Lens((520, 325), 900), "must be below 600 mm, the distance from the eyes"),
        (Lens((400, 250), 450), "not larger than the image area, 480 × 300 mm"),
        (Lens((1200, 325), 450), "450 mm, is below that distance"),
        (Lens((482, 300), 450), "too near"),
    ],
)
def test_what_cannot_be_is_told_in_words(rig_of, lens, said):
    distance, why = filling(unit_of(rig_of), EYE, lens)
    assert why and said in why
    # as far as there is one, the image does fill the lens there
    if distance is not None:
        assert looks(lens.focal_length, distance, 600) == pytest.approx(lens.size[0] / IMAGE[0])


def test_single_screen_may_be_too_small_for_a_lens(rig_of, screen_at):
    distance, why = filling(single(rig_of, screen_at, 710), EYE, Lens((700, 450), 600))
    assert distance is None
    assert why and "too long" in why
