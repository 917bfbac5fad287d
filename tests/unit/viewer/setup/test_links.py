"""The limits of links, held to published figures."""

import re
from typing import get_args

import pytest

from seamsight.scene.outputs import LinkKind
from seamsight.viewer.setup.links import BITS, LINKS
from seamsight.viewer.setup.timing import cvt_rb, cvt_rb2

# million pixels a second at 24 bits: TMDS by 8b/10b; FRL by lanes, rates and 16b/18b of Linux's
# drm_edid.c; DisplayPort by the codes of Linux's header and 8b/10b or 128b/132b
PUBLISHED = {
    "DVI single link": 165,
    "HDMI 1.2": 165,
    "HDMI 1.4": 340,
    "HDMI 2.0": 600,
    "DVI dual link": 330,  # from memory
    "VGA": 388,
    "HDMI 2.1 FRL1": 333.3,
    "HDMI 2.1 FRL2": 666.7,
    "HDMI 2.1 FRL3": 888.9,
    "HDMI 2.1 FRL4": 1185.2,
    "HDMI 2.1 FRL5": 1481.5,
    "HDMI 2.1 FRL6": 1777.8,
    "HDMI 2.1": 1777.8,
    "DisplayPort RBR": 216,
    "DisplayPort HBR": 360,
    "DisplayPort HBR2": 720,
    "DisplayPort HBR3": 1080,
    "DisplayPort UHBR10": 1616,
    "DisplayPort UHBR13.5": 2182,
    "DisplayPort UHBR20": 3232,
}


def test_every_kind_has_its_published_limit():
    assert set(PUBLISHED) == set(get_args(LinkKind)) == set(LINKS)
    for kind, mhz in PUBLISHED.items():
        assert LINKS[kind].clock / 1000 == pytest.approx(mhz, abs=0.5)


def test_payload_of_hbr2():
    # 4 lanes of 5.4 Gbit/s, 8 of 10 bits payload: 17.28 Gbit/s
    assert LINKS["DisplayPort HBR2"].clock * BITS / 1e6 == pytest.approx(17.28)


@pytest.mark.parametrize(
    ("timing", "fits", "fits_not"),
    [
        (cvt_rb((3840, 2160), 60), ["HDMI 2.0", "DisplayPort HBR2"], ["HDMI 1.4"]),
        (cvt_rb((2560, 1440), 144), ["DisplayPort HBR2"], ["HDMI 2.0"]),
        (cvt_rb2((2560, 1440), 144), ["HDMI 2.0"], ["HDMI 1.4"]),
        (cvt_rb((3840, 2160), 120), ["HDMI 2.1 FRL4"], ["DisplayPort HBR3"]),
        (cvt_rb2((3840, 2160), 120), ["DisplayPort HBR3"], []),
        (cvt_rb((5760, 1080), 60), ["HDMI 2.0"], ["HDMI 1.4"]),
    ],
)
def test_edge_cases(timing, fits, fits_not):
    assert all(timing.clock <= LINKS[kind].clock for kind in fits)
    assert all(timing.clock > LINKS[kind].clock for kind in fits_not)


def test_the_reference_has_the_same_limits(sample_rigs):
    _, _, table = (sample_rigs / "README.md").read_text("utf-8").partition("Kinds of link,")
    told = set(re.findall(r"\d+", table))
    assert {f"{link.clock / 1000:.0f}" for link in LINKS.values()} <= told
