"""What the tests of the numbers share: a rig with one lens."""

import pytest


@pytest.fixture(scope="session")
def lensed(rig_of, screen_at):
    """Return a rig with one screen whose lens plane stands `before` mm ahead of the origin."""

    def make(before, focal_length, magnification, width=517, height=330, **lens):
        behind = focal_length * (1 - 1 / magnification)
        optic = {
            "focal_length": focal_length,
            "magnification": magnification,
            "width": width,
            "height": height,
        }
        screen = screen_at(centre=[0, before + behind, 0])
        return rig_of(screen=[screen], lens=[{"screen": "screen", **optic, **lens}])

    return make
