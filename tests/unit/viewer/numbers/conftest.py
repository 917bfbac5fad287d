"""What the tests of the numbers share: a rig that has every number."""

import pytest


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
