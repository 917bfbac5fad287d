"""The desktop's drawing: to scale, what fits in blue, what does not in red."""

import numpy as np
import pytest

from seamsight.scene.layout import place
from seamsight.viewer.pictures.desktop import FITS, FITS_NOT, desktop_picture
from seamsight.viewer.setup.signals import signals_of


@pytest.fixture
def drawn(rig_of, screen_at):
    def picture(*pixels, refresh=60):
        names = [f"s{number}" for number in range(len(pixels))]
        screens = [
            screen_at(name, pixels=list(one)) for name, one in zip(names, pixels, strict=True)
        ]
        rates = [60] * (len(names) - 1) + [refresh]
        outputs = [
            {"name": f"o {name}", "link": "HDMI 1.2", "screens": [name], "refresh": rate}
            for name, rate in zip(names, rates, strict=True)
        ]
        rig = rig_of(screen=screens, output=outputs)
        return desktop_picture(signals_of(rig.output, place(rig)), "rig", 1000)

    return picture


def span(sheet, colour):
    rows, columns = np.nonzero((np.asarray(sheet) == colour).all(axis=2))
    return np.ptp(columns), np.ptp(rows)


def test_rectangles_are_to_scale(drawn):
    width, height = span(drawn((1600, 800)), FITS)
    assert width > 800
    assert height - 30 < width / 2 < height + 30  # letters above it have the same colour


def test_what_does_not_fit_is_red(drawn):
    sheet = drawn((1280, 800), (1280, 800), refresh=240)
    wide_good, wide_bad = (span(sheet, colour)[0] for colour in (FITS, FITS_NOT))
    assert wide_bad == pytest.approx(wide_good, abs=5)
    with pytest.raises(ValueError, match="zero-size"):
        span(drawn((1280, 800)), FITS_NOT)


@pytest.mark.parametrize("pixels", [(1, 16384), (16384, 1), (1, 1)])
def test_any_desktop_makes_a_sheet_that_can_be_looked_at(drawn, pixels):
    sheet = drawn(pixels)
    assert sheet.width == 1000
    assert sheet.height < 2000
