"""What is said of outputs that do not fit, and what to change."""

import pytest

from seamsight.viewer.setup.signal_advice import advice
from seamsight.viewer.setup.signals import signals_of


@pytest.fixture
def said(rig_with, placed):
    def told(*outputs):
        lines = advice(signals_of(*placed(rig_with(*outputs))))
        return {(line.output, line.kind): line.text for line in lines if line.kind != "unfed"}

    return told


def test_nothing_where_all_is_well(said, output_of):
    assert said(output_of("a", "map")) == {}


def test_what_to_change_where_a_link_is_too_slow(said, wide):
    text = said(wide | {"link": "HDMI 1.2"})["wide", "rate"]
    assert "5040 × 1050 at 60 Hz does not fit HDMI 1.2" in text
    assert "at least 331.78 MHz" in text  # CVT-RB2 by edid-decode
    assert 'Use link = "HDMI 1.4" or faster, or lower refresh to 30 Hz, or share' in text


def test_an_adapter_and_a_splitter_are_named(said, wide, output_of):
    slow = output_of("a", "up", link="DisplayPort HBR2", adapter="HDMI 1.2", refresh=75)
    assert 'Use adapter = "HDMI 1.4"' in said(slow)["a", "rate"]
    fast = said(wide | {"link": "DisplayPort HBR3", "refresh": 120})["wide", "rate"]
    assert "DVI single link after the splitter" in fast
    assert 'Use splitter.link = "DVI dual link"' in fast


def test_another_family_where_none_of_the_same_is_fast_enough(said, output_of):
    text = said(output_of("a", "up", link="DVI dual link", refresh=240))["a", "rate"]
    assert 'Use link = "HDMI 2.0" or faster' in text


def test_nothing_is_fast_enough(said, output_of):
    text = said(output_of("a", "up", pixels=[16384, 16384], refresh=1000))["a", "rate"]
    assert "Use" not in text


def test_only_some_timings_fit(said, wide):
    text = said(wide)["wide", "blanking"]
    assert "HDMI 1.4 (340.00 MHz) only with the timing CVT-RB 336.75 or CVT-RB2 331.78 MHz" in text


def test_beyond_a_plain_edid(said, wide, output_of):
    assert "more than 4095 pixels" in said(wide)["wide", "edid"]
    fast = output_of("a", "map", link="HDMI 2.1", pixels=[3840, 2160], refresh=75)
    assert "above 655.35 MHz" in said(fast)["a", "edid"]


@pytest.mark.parametrize(
    ("name", "pixels", "wanted"),
    [("wide", [5760, 1080], "[5040, 1050]"), ("map", [1920, 1080], "[1280, 800]")],
)
def test_what_to_send_instead_of_a_scaled_picture(said, wide, output_of, name, pixels, wanted):
    output = wide if name == "wide" else output_of("map", "map")
    text = said(output | {"pixels": pixels, "link": "DisplayPort HBR3"})[name, "scaled"]
    assert f"Write pixels = {wanted}" in text


def test_screens_that_are_not_alike(said, output_of):
    splitter = {"outputs": 2, "link": "HDMI 1.4"}
    text = said(output_of("a", "row.1", "map", splitter=splitter))["a", "scaled"]
    assert "row.1 1680 × 1050, map 1280 × 800" in text


def test_places_on_the_desktop(said, output_of):
    first = output_of("a", "map")
    assert ("b", "overlap") in said(first, output_of("b", "row.1", desktop=[1279, 0]))
    assert ("b", "apart") in said(first, output_of("b", "row.1", desktop=[1281, 0]))
    assert said(first, output_of("b", "row.1", desktop=[1280, 0])) == {}


def test_screens_that_nothing_feeds(rig_with, placed, output_of):
    lines = advice(signals_of(*placed(rig_with(output_of("a", "map")))))
    texts = [line.text for line in lines if line.kind == "unfed"]
    assert texts == [f"No output feeds {name}." for name in ("up", "row.1", "row.2", "row.3")]
