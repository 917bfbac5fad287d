"""What the tests of the numbers share: a rig with one lens, and one with every number."""

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


@pytest.fixture(scope="session")
def whole(rig_of, screen_at, numbers_of):
    """Return the JSON of a rig that has every number.

    It has two screens of one scene, a grooved lens, a mark.
    """
    places = {"left": [-205, 600, 0], "right": [205, 600, 0]}
    screens = [screen_at(name, centre=at, shows="world") for name, at in places.items()]
    lens = {"focal_length": 450, "distance": 100, "width": 400, "height": 300, "model": "grooved"}
    mark = {"name": "hub", "at": [3, 504, -330], "want": [0, 500, -330]}
    rig = rig_of(screen=screens, lens=[lens | {"screen": "left"}], mark=[mark])
    return numbers_of(rig).as_json()
