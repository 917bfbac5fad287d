"""All that tells how pilots fit in, together."""

from seamsight.scene import build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.fit import fit


def found_in(rig):
    return fit(build(rig), eyes_of(rig, rig.heads()["design"]))


def test_everything_is_found(rig_of, screen_at):
    screens = [
        screen_at("outside", centre=[0, 900, 0], shows="world"),
        screen_at("gauges", width=80, height=60, centre=[0, 500, -250]),
    ]
    found = found_in(rig_of(screen=screens, mark=[{"name": "a", "at": [0] * 3, "want": [0] * 3}]))
    assert [one.target.name for one in found.reaches] == ["a"]
    assert (len(found.seats), len(found.focuses), list(found.views)) == (5, 2, ["left", "right"])
    assert found.change.outside == "outside"
    assert found.nose.down > 0


def test_a_rig_without_an_outside_view(rig_of, screen_at):
    found = found_in(rig_of(screen=[screen_at()]))
    assert (found.change, found.nose, found.views, found.reaches) == (None, None, {}, [])
