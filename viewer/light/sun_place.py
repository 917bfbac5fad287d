"""Where the sun stands at a place and a time: a short formula, good to 0.01 degrees."""

import datetime
import math
from typing import NamedTuple

from seamsight.scene.errors import ChoiceError

YEARS = (1950, 2060)
"""For which the formula was held against NREL's solar position algorithm: it is at most 0.0093
degrees off, a sixtieth of the sun's width."""

_J2000 = 946_728_000.0  # s; noon of 1 January 2000 UTC, in Unix time
_DAY = 86_400.0  # s
_DELTA_T = 69.0  # s; by how much terrestrial time was ahead of UTC about 2020, near enough here


class SunPlace(NamedTuple):
    """Where the sun stands, degrees.

    Attributes
    ----------
    azimuth : float
        Clockwise from true north.
    elevation : float
        Above the horizon, without refraction, which lifts the sun by half a degree there.
    """

    azimuth: float
    elevation: float


def sun_at(latitude: float, longitude: float, time: datetime.datetime) -> SunPlace:
    """Return where the sun stands.

    Mean elements of the sun's path with the main terms of its equation of centre, nutation and
    aberration (J. Meeus, Astronomical Algorithms, chapters 12, 22 and 25, low accuracy).

    Parameters
    ----------
    latitude, longitude : float
        Degrees north and east.
    time : datetime
        With an offset from UTC.

    Raises
    ------
    ChoiceError
        When the time has no offset, or the formula was not tried for its year.
    """
    if time.utcoffset() is None:
        msg = f"a time needs its offset from UTC, as 2026-06-21T12:00+02:00 (got {time})"
        raise ChoiceError(msg)
    if not YEARS[0] <= time.year <= YEARS[1]:
        msg = f"the sun's place is known for the years {YEARS[0]} to {YEARS[1]} (got {time.year})"
        raise ChoiceError(msg)

    # the sun's place among the stars
    days = (time.timestamp() - _J2000) / _DAY
    centuries = (days + _DELTA_T / _DAY) / 36525
    ecliptic, tilt, nutation = _ecliptic(centuries)
    right_ascension = math.atan2(math.cos(tilt) * math.sin(ecliptic), math.cos(ecliptic))
    declination = math.asin(math.sin(tilt) * math.sin(ecliptic))

    # and how the earth is turned below it
    greenwich = 280.46061837 + 360.98564736629 * days + 0.000387933 * (days / 36525) ** 2
    sidereal = math.radians(greenwich + nutation * math.cos(tilt) + longitude)
    hour = sidereal - right_ascension
    north = math.radians(latitude)
    east = -math.cos(declination) * math.sin(hour)
    ahead = math.sin(declination) * math.cos(north)
    ahead -= math.cos(declination) * math.cos(hour) * math.sin(north)
    up = math.sin(north) * math.sin(declination)
    up += math.cos(north) * math.cos(declination) * math.cos(hour)
    azimuth = math.degrees(math.atan2(east, ahead)) % 360
    return SunPlace(azimuth, math.degrees(math.asin(max(-1.0, min(1.0, up)))))


def _ecliptic(centuries: float) -> tuple[float, float, float]:
    """Return the sun's apparent longitude and the ecliptic's tilt, radians; nutation, degrees."""
    anomaly = math.radians(357.52911 + 35999.05029 * centuries)
    node = math.radians(125.04452 - 1934.136261 * centuries)
    mean = 280.46646 + 36000.76983 * centuries
    centre = (1.914602 - 0.004817 * centuries) * math.sin(anomaly)
    centre += (0.019993 - 0.000101 * centuries) * math.sin(2 * anomaly)
    centre += 0.000289 * math.sin(3 * anomaly)
    nutation = -0.00478 * math.sin(node) - 0.000367 * math.sin(2 * math.radians(mean))
    longitude = math.radians(mean + centre - 0.00569 + nutation)
    tilt = math.radians(23.4392911 - 0.0130042 * centuries + 0.00256 * math.cos(node))
    return longitude, tilt, nutation
