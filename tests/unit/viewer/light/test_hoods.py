"""A hood as long as is told hides a mirror image; one that is shorter does not."""

import pytest

from seamsight.scene import Head, build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.light.glare import mirror_images

LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 420, "height": 320}
LAMP = {"name": "lamp", "centre": [0, 100, 600], "pitch": 90, "size": [300, 200]}


@pytest.fixture
def seen(rig_of, screen_at):
    def seen(hood):
        screen = screen_at(pitch=-25, shows="card", surface="matt")
        lens = LENS | ({"hood": {"depth": hood, "sides": ["top"]}} if hood else {})
        rig = rig_of(screen=[screen], lens=[lens], lamp=[LAMP | {"luminance": 3000}])
        return mirror_images(build(rig), eyes_of(rig, Head(name="here")))

    return seen


def test_hood_needed(seen):
    images = seen(None)
    assert {image.mirror for image in images} == {"screen lens"}
    assert all(list(image.hood) == ["top"] for image in images)
    needed = max(image.hood["top"].depth for image in images)
    assert 10 < needed < 400
    assert [image.share for image in seen(needed + 2)] == [0, 0]
    assert max(image.share for image in seen(needed - 10)) > 0
    for image in seen(needed + 2):
        assert image.share_without_hood == pytest.approx(images[0].share, rel=0.05)


def test_no_hood_at_a_neighbour(rig_of):
    screen = {"width": 400, "height": 300, "pixels": [80, 60], "shows": "card"}
    bank = {"name": "row", "count": 2, "radius": 500, "toe": 80, "screen": screen}
    rig = rig_of(bank=[bank])
    head = Head(name="aside", offset=(-100, 0, 0))
    images = mirror_images(build(rig), eyes_of(rig, head))
    assert images
    assert all(hood.depth is None for image in images for hood in image.hood.values())
