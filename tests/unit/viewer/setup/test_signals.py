"""What fits which link, and at which refresh rates."""

import pytest

from seamsight.viewer.setup.signals import in_edid, signals_of
from seamsight.viewer.setup.timing import CVT_RB, CVT_RB2, cvt_rb, listed


@pytest.fixture
def signal(rig_with, placed):
    return lambda output: signals_of(*placed(rig_with(output))).signals[0]


def fitting(way):
    return [timing.standard for timing in way.fitting]


def test_three_screens_in_one_picture(signal, wide):
    # 5040x1050: CVT 441.00, CVT-RB 336.75 MHz (cvt), against 340 MHz
    found = signal(wide)
    assert found.pixels == (5040, 1050)
    assert fitting(found.ways[0]) == [CVT_RB, CVT_RB2]
    assert found.fits and found.exact
    assert found.rates[-1] == 60
    # the parts go on to the screens by links of their own
    assert [(way.key, way.pixels) for way in found.ways] == [
        ("link", (5040, 1050)),
        ("splitter.link", (1680, 1050)),
    ]
    assert found.ways[1].screens == ("row.1", "row.2", "row.3")


def test_a_splitter_s_own_links_count_too(signal, wide):
    found = signal(wide | {"link": "DisplayPort HBR3", "refresh": 120})
    assert found.ways[0].fitting and not found.ways[1].fitting
    assert not found.fits


def test_an_adapter_passes_on_the_timing_that_it_gets(signal, output_of):
    found = signal(output_of("a", "map", link="DisplayPort HBR2", adapter="HDMI 1.2"))
    assert [way.key for way in found.ways] == ["link", "adapter"]
    assert found.fits
    slow = output_of("a", "up", link="DisplayPort HBR2", adapter="HDMI 1.2", refresh=75)
    assert not signal(slow).fits
    assert signal(slow).rates[-1] == 60


def test_an_upright_screen_s_picture_lies(signal, output_of):
    assert signal(output_of("a", "up")).pixels == (1920, 1080)


@pytest.mark.parametrize(
    ("keys", "exact"),
    [
        ({}, True),
        ({"pixels": [5040, 1050]}, True),
        ({"pixels": [5760, 1080]}, False),
        ({"pixels": [1050, 5040]}, False),
        ({"pixels": [1680, 3150]}, False),
    ],
)
def test_a_wide_picture_is_an_exact_multiple_of_the_screens(signal, wide, keys, exact):
    assert signal(wide | keys).exact is exact


@pytest.mark.parametrize(("pixels", "exact"), [([1920, 1080], True), ([1280, 720], False)])
def test_a_screen_s_own_pixels(signal, output_of, pixels, exact):
    assert signal(output_of("a", "up", pixels=pixels)).exact is exact


def test_screens_of_a_splitter_that_are_not_alike(signal, output_of):
    splitter = {"outputs": 2, "link": "HDMI 1.4"}
    found = signal(output_of("a", "row.1", "map", splitter=splitter))
    assert not found.exact
    assert [way.pixels for way in found.ways[1:]] == [(1680, 1050), (1280, 800)]


def test_screens_that_nothing_feeds(rig_with, placed, wide):
    assert signals_of(*placed(rig_with(wide))).unfed == ("map", "up")


def test_what_a_plain_edid_can_announce():
    # EDID 1.4: 12 bits for pixels, 16 bits of 10 kHz; 3840x2160 at 75 Hz needs 671.25 MHz
    assert in_edid(cvt_rb((3840, 2160), 60), (3840, 2160))
    assert not in_edid(cvt_rb((3840, 2160), 75), (3840, 2160))
    assert not in_edid(cvt_rb((5040, 1050), 60), (5040, 1050))
    assert in_edid(listed((3840, 2160), 120)[0], (3840, 2160))  # VIC 118 is a number
