"""The sun's place against published values."""

import datetime

import pytest

from seamsight.scene import ChoiceError
from seamsight.viewer.light.sun_place import sun_at


@pytest.mark.parametrize(
    ("latitude", "longitude", "time", "zenith", "azimuth"),
    [
        # Reda and Andreas, NREL/TP-560-34302, appendix; zenith without refraction as pvlib has it
        (39.742476, -105.1786, "2003-10-17T12:30:30-07:00", 50.127954, 194.34024),
        # NREL's algorithm as in pvlib 0.11, without refraction
        (51.4779, 0.0, "2024-06-20T12:00+00:00", 28.0432, 179.1678),
        (51.4779, 0.0, "2024-12-21T12:00+00:00", 74.9196, 180.4059),
        (52.52, 13.405, "2024-12-21T10:00+01:00", 80.6724, 151.2497),
    ],
)
def test_published_places(latitude, longitude, time, zenith, azimuth):
    stands = sun_at(latitude, longitude, datetime.datetime.fromisoformat(time))
    assert stands.elevation == pytest.approx(90 - zenith, abs=0.01)
    assert stands.azimuth == pytest.approx(azimuth, abs=0.02)


def test_at_equinox_noon_it_stands_overhead_on_the_equator():
    # equinox of 20 March 2024, 03:06 UTC; local noon there is at 12:07 by the equation of time
    time = datetime.datetime(2024, 3, 20, 12, 7, tzinfo=datetime.UTC)
    assert sun_at(0.0, 0.0, time).elevation > 89.5


@pytest.mark.parametrize(
    ("time", "told"),
    [
        ("2026-06-21T12:00", "offset from UTC"),
        ("1949-12-31T12:00+00:00", "1950 to 2060"),
        ("2061-01-01T12:00+00:00", "1950 to 2060"),
    ],
)
def test_what_is_refused(time, told):
    with pytest.raises(ChoiceError, match=told):
        sun_at(0.0, 0.0, datetime.datetime.fromisoformat(time))
