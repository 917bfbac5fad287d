"""Focus and vergence against closed forms and a published table."""

import math

import pytest

from seamsight.scene import build
from seamsight.viewer.eye import eyes_of, head_named
from seamsight.viewer.studies.refocus import focuses, greatest_change


def found_in(rig):
    return focuses(build(rig), eyes_of(rig, head_named(rig, "design")))


# 2 arctan(IPD / 2 d), worked out by hand for 63 mm and 64 mm; dioptres: 1 / distance in metres
@pytest.mark.parametrize(
    ("pupils", "distance", "vergence"),
    [(63, 500, 7.2097), (63, 1000, 3.6084), (63, 6000, 0.6016), (64, 800, 4.5812)],
)
def test_bare_screen_ahead(rig_of, screen_at, pupils, distance, vergence):
    pilot = {"eye_point": [0, 0, 0], "pupil_distance": pupils}
    [one] = found_in(rig_of(pilot=pilot, screen=[screen_at(centre=[0, distance, 0])]))
    assert one.vergence == pytest.approx(vergence, abs=6e-5)
    assert one.dioptres == pytest.approx(1000 / distance)
    assert (one.outside, one.aside) == (False, pytest.approx(0))


def test_lens_takes_the_image_farther_away(rig_of, screen_at):
    # thin lens: M = f / (f - d) = 1.5, image 600 + 1.5 x 150 = 825 from the eyes
    screen = screen_at(centre=[0, 750, 0], shows="world")
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 400}
    [one] = found_in(rig_of(screen=[screen], lens=[lens]))
    assert one.dioptres == pytest.approx(1000 / 825)
    assert one.vergence == pytest.approx(math.degrees(2 * math.atan(31.5 / 825)))
    assert one.outside


def test_focus_is_what_check_reports(rig_of, screen_at, numbers_of):
    rig = rig_of(screen=[screen_at(centre=[200, 600, 90], yaw=10)])
    [one] = found_in(rig)
    assert one.dioptres == pytest.approx(numbers_of(rig).screens["screen"].image_dioptres)


def test_change_is_from_ahead_to_what_differs_most(rig_of, screen_at):
    screens = [
        screen_at("aside", centre=[500, 500, 0], yaw=45, shows="world"),
        screen_at("ahead", centre=[0, 1000, 0], shows="world"),
        screen_at("near", width=80, height=60, centre=[0, 500, 0]),
        screen_at("nearer", width=80, height=60, centre=[0, 400, 0]),
        screen_at("behind", centre=[0, -400, 0]),
    ]
    found = found_in(rig_of(screen=screens))
    assert [one.screen for one in found] == ["aside", "ahead", "near", "nearer"]
    change = greatest_change(found)
    assert (change.outside, change.inside) == ("ahead", "nearer")
    assert change.dioptres == pytest.approx(1.5)
    turned = math.atan(31.5 / 400) - math.atan(31.5 / 1000)
    assert change.vergence == pytest.approx(math.degrees(2 * turned))


def test_no_change_without_both(rig_of, screen_at):
    assert greatest_change(found_in(rig_of(screen=[screen_at()]))) is None
    assert greatest_change([]) is None
