"""Pixel clocks by five standards, held to what two other programs print.

CVT and its reduced blanking: `cvt` of xcvt 0.1.2; both versions of reduced blanking, DMT and
CTA-861: edid-decode 2022 (`--cvt`, `--list-dmts`, `--list-vics`).
"""

import pytest

from seamsight.viewer.setup.timing import (
    CTA,
    CVT,
    CVT_RB,
    CVT_RB2,
    DMT,
    STANDARDS,
    cvt,
    cvt_rb,
    cvt_rb2,
    listed,
    timings,
)

# MHz and total by `cvt W H 60`, and by `cvt -r W H 60`
AT_60 = {
    (800, 600): (38.25, (1024, 624), 35.50, (960, 618)),
    (1024, 768): (63.50, (1328, 798), 56.00, (1184, 790)),
    (1280, 1024): (109.00, (1712, 1063), 90.75, (1440, 1054)),
    (1600, 1200): (161.00, (2160, 1245), 130.25, (1760, 1235)),
    (1680, 1050): (146.25, (2240, 1089), 119.00, (1840, 1080)),
    (1920, 1080): (173.00, (2576, 1120), 138.50, (2080, 1111)),
    (2560, 1440): (312.25, (3488, 1493), 241.50, (2720, 1481)),
    (3840, 2160): (712.75, (5312, 2237), 533.00, (4000, 2222)),
    (1366, 768): (85.25, None, 72.25, None),  # both round up to 1368
}
# MHz and total by `cvt`, by edid-decode's rb=1 and rb=2
OTHERS = {
    ((1920, 1080), 75): (220.75, (2608, 1130), 174.50, (2080, 1119), 167.850, (2000, 1119)),
    ((1920, 1080), 120): (369.50, (2656, 1160), 285.50, (2080, 1144), 274.560, (2000, 1144)),
    ((1920, 1080), 144): (452.50, (2672, 1177), 346.50, (2080, 1157), 333.216, (2000, 1157)),
    ((2560, 1440), 75): (397.25, (3520, 1506), 304.25, (2720, 1492), 295.416, (2640, 1492)),
    ((2560, 1440), 120): (661.25, (3568, 1545), 497.75, (2720, 1525), 483.120, (2640, 1525)),
    ((2560, 1440), 144): (808.75, (3584, 1568), 604.25, (2720, 1543), 586.586, (2640, 1543)),
    ((3840, 2160), 75): (904.00, (5344, 2257), 671.25, (4000, 2238), 657.972, (3920, 2238)),
    ((3840, 2160), 120): (1498.25, (5392, 2316), 1097.75, (4000, 2287), 1075.804, (3920, 2287)),
    ((3840, 2160), 144): (1829.25, (5408, 2350), 1332.75, (4000, 2314), 1306.206, (3920, 2314)),
    ((5760, 1080), 60): (519.25, (7728, 1120), 394.50, (5920, 1111), 389.294, (5840, 1111)),
    ((5040, 1050), 60): (441.00, (6752, 1089), 336.75, (5200, 1080), 331.776, (5120, 1080)),
    ((3840, 800), 60): (251.00, (5040, 831), 197.50, (4000, 823), 193.569, (3920, 823)),
    ((3440, 1440), 60): (419.50, (4688, 1493), 319.75, (3600, 1481), 312.787, (3520, 1481)),
    ((1920, 1200), 60): (193.25, (2592, 1245), 154.00, (2080, 1235), 148.200, (2000, 1235)),
}
RB2_AT_60 = {(1920, 1080): 133.320, (2560, 1440): 234.590, (3840, 2160): 522.614}
# MHz of `cvt -r`, which counts in single precision and comes out lower
CVT_R = {((1920, 1080), 120): 285.25, ((2560, 1440), 120): 497.25, ((3840, 2160), 120): 1097.25}
DMTS = {
    ((800, 600), 60): [40.00],
    ((1024, 768), 60): [65.00],
    ((1280, 1024), 60): [108.00],
    ((1600, 1200), 60): [162.00],
    ((1680, 1050), 60): [119.00, 146.25],
    ((1920, 1080), 60): [148.50],
    ((1920, 1200), 60): [154.00, 193.25],
    ((1920, 1200), 120): [317.00],
    ((1680, 1050), 120): [245.50],
    ((2560, 1600), 60): [268.50, 348.50],
    ((1600, 900), 60): [108.00],
    ((1366, 768), 60): [85.50, 72.00],
    ((1280, 720), 60): [74.25],
    ((4096, 2160), 60): [556.744, 556.188],
    ((2560, 1440), 60): [],
    ((3840, 2160), 60): [],
}
# of some, the blank pixels of a line and the blank lines of a picture
DMT_BLANKS = {
    (1024, 768): (24 + 136 + 160, 3 + 6 + 29),
    (1280, 1024): (48 + 112 + 248, 1 + 3 + 38),
    (1600, 1200): (64 + 192 + 304, 1 + 3 + 46),
    (1920, 1080): (88 + 44 + 148, 4 + 5 + 36),
}
CTAS = {
    ((1920, 1080), 120): ("VIC 63", 297.0),
    ((3840, 2160), 30): ("VIC 95", 297.0),
    ((3840, 2160), 60): ("VIC 97", 594.0),
    ((3840, 2160), 120): ("VIC 118", 1188.0),
    ((2560, 1080), 60): ("VIC 90", 198.0),
    ((1920, 1080), 60): ("VIC 16", 148.5),
}


@pytest.mark.parametrize("pixels", AT_60)
def test_cvt_and_its_reduced_blanking_at_60_hz(pixels):
    full, total, reduced, reduced_total = AT_60[pixels]
    assert cvt(pixels, 60).clock == 1000 * full
    # the other program comes out up to 0.5 MHz lower
    assert cvt_rb(pixels, 60).clock == pytest.approx(1000 * reduced, abs=500)
    if total:
        assert cvt(pixels, 60).total == total
        assert cvt_rb(pixels, 60).total == reduced_total


@pytest.mark.parametrize("mode", OTHERS, ids=str)
def test_three_formulas_to_the_khz(mode):
    clocks = OTHERS[mode][::2]
    totals = OTHERS[mode][1::2]
    found = [formula(*mode) for formula in (cvt, cvt_rb, cvt_rb2)]
    assert [timing.clock for timing in found] == [round(1000 * clock) for clock in clocks]
    assert [timing.total for timing in found] == list(totals)


@pytest.mark.parametrize("pixels", RB2_AT_60)
def test_reduced_blanking_version_2(pixels):
    assert cvt_rb2(pixels, 60).clock == round(1000 * RB2_AT_60[pixels])


@pytest.mark.parametrize("mode", CVT_R, ids=str)
def test_reduced_blanking_is_within_half_a_mhz_of_single_precision(mode):
    assert cvt_rb(*mode).clock == pytest.approx(1000 * CVT_R[mode], abs=500)


@pytest.mark.parametrize("mode", DMTS, ids=str)
def test_dmt(mode):
    found = [timing.clock / 1000 for timing in listed(*mode) if timing.standard == DMT]
    assert found == DMTS[mode]


@pytest.mark.parametrize("pixels", DMT_BLANKS)
def test_dmt_s_blanking(pixels):
    timing = next(one for one in listed(pixels, 60) if one.standard == DMT)
    pairs = zip(timing.total, pixels, strict=True)
    assert tuple(total - shown for total, shown in pairs) == DMT_BLANKS[pixels]


@pytest.mark.parametrize("mode", CTAS, ids=str)
def test_cta_861(mode):
    found = [(one.code, one.clock / 1000) for one in listed(*mode) if one.standard == CTA]
    assert found == [CTAS[mode]]


def test_the_rate_that_comes_out():
    # `cvt` prints 59.96 for 1920x1080, edid-decode 60.317 for the first mode of DMT at 800x600
    assert cvt((1920, 1080), 60).rate == pytest.approx(59.96, abs=0.005)
    assert listed((800, 600), 60)[0].rate == pytest.approx(60.317, abs=0.001)


@pytest.mark.parametrize(
    ("refresh", "is_listed"),
    [(60, True), (59.94, True), (60.5, False), (119.88, True), (59, False)],
)
def test_a_rate_near_a_listed_one(refresh, is_listed):
    assert bool(listed((1920, 1080), refresh)) is is_listed


def test_all_standards_are_asked():
    found = timings((1920, 1080), 60)
    assert {timing.standard for timing in found} == set(STANDARDS)
    assert [timing.standard for timing in timings((854, 480), 60)] == [CVT, CVT_RB, CVT_RB2]


@pytest.mark.parametrize("pixels", [(1, 1), (16384, 1), (1, 16384), (16384, 16384)])
@pytest.mark.parametrize("refresh", [10, 1000])
def test_any_mode_that_a_rig_can_have_has_timings(pixels, refresh):
    for timing in timings(pixels, refresh):
        assert timing.clock >= 0
        assert all(total > shown for total, shown in zip(timing.total, pixels, strict=True))
