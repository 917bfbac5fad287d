"""Mirror images in a picture: where `glare` says, as bright as it says."""

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer.casting.trace import see
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.light.glare import mirror_images
from seamsight.viewer.light.mirrored_view import with_mirror_images
from seamsight.viewer.projection import Projection

LAMP = {"name": "lamp", "centre": [0, -600, 0], "yaw": 180, "size": [240, 120]}
LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 420, "height": 320}
PICTURE = Projection("rectilinear", 240, 160, 40.0)


@pytest.mark.parametrize("model", [None, "thin", "grooved"])
def test_place_and_light(rig_of, screen_at, model):
    lens = [LENS | {"model": model}] if model else []
    lamp = LAMP | {"luminance": 1000}
    rig = rig_of(screen=[screen_at(luminance=250)], lens=lens, lamp=[lamp])
    assembly = build(rig)
    eyes = eyes_of(rig, Head(name="here"))
    plain = see(assembly, eyes.left, PICTURE)
    added = with_mirror_images(plain).light - plain.light

    mirror = "screen lens" if model else "screen"
    [image] = [
        one for one in mirror_images(assembly, eyes) if (one.eye, one.mirror) == ("left", mirror)
    ]
    column, row = round(PICTURE.column_at(image.azimuth)), round(PICTURE.row_at(image.elevation))
    behind = 0.0
    if model:  # there the screen behind the lens mirrors the lamp too
        others = [one for one in mirror_images(assembly, eyes) if one.mirror == "screen"]
        behind = next((one.luminance for one in others if one.eye == "left"), 0.0)
    # white, 250 cd/m², is 1
    assert added[row, column, 1] * 250 == pytest.approx(image.luminance, abs=behind + 1)
    assert added[row, column, 1] * 250 >= image.luminance - 1
    if not model:
        assert (added[:5] == 0).all()
        across = np.count_nonzero(added[row, :, 1] > 0.01)
        assert across == pytest.approx(PICTURE.column_at(image.width / 2) * 2 - 239, abs=2)


def test_without_lamps_a_view_stays_the_very_same(rig_of, screen_at):
    view = see(build(rig_of(screen=[screen_at(shows="card")])), np.zeros(3), PICTURE)
    assert with_mirror_images(view) is view
