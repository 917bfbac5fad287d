"""Plain panels, and a system on which nothing can be drawn."""

import numpy as np
import pytest

from seamsight.viewer.live.plotting import Panel, off_screen, snapshot


def test_a_panel_shows_its_picture_as_it_is(plotter):
    panel = Panel(plotter, 0)
    picture = np.random.default_rng(5).integers(0, 256, (240, 320, 3), np.uint8)
    panel.show(picture)
    np.testing.assert_array_equal(snapshot(plotter), picture)
    panel.show(picture[:, ::-1])
    np.testing.assert_array_equal(snapshot(plotter), picture[:, ::-1])


def test_a_system_without_opengl_is_told_what_to_install(monkeypatch):
    def missing(name):
        raise OSError(name)

    monkeypatch.setattr("seamsight.viewer.live.plotting.sys.platform", "linux")
    monkeypatch.setattr("seamsight.viewer.live.plotting.ctypes.CDLL", missing)
    with pytest.raises(OSError, match="need OpenGL"):
        off_screen(320, 240)
