"""The lists of modes have no slips: totals, clocks and rates go together."""

import pytest

from seamsight.viewer.setup import listed_modes

ROWS = [*listed_modes.DMT.split("\n"), *listed_modes.CTA.split("\n")]
MODES = [row.split() for row in ROWS if row]


def test_there_are_as_many_as_the_standards_list():
    # 88 of DMT less one interlaced (edid-decode 2022)
    assert len(listed_modes.DMT.strip().splitlines()) == 87


@pytest.mark.parametrize("mode", MODES, ids="-".join)
def test_a_row_s_rate_is_what_its_clock_gives(mode):
    pixels, refresh, clock, total, _ = mode
    width, height = map(int, pixels.split("x"))
    across, down = map(int, total.split("x"))
    assert across > width and down > height
    assert 1000 * int(clock) / (across * down) == pytest.approx(int(refresh), abs=0.5)
