"""Plain panels, and a system on which nothing can be drawn."""

import numpy as np
import pytest

from seamsight.viewer.live.plotting import Panel, body_above, off_screen, snapshot


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


def test_a_body_is_closed_and_as_large_as_its_values_say():
    axes = np.meshgrid(*[np.arange(-100.0, 101, 10)] * 3, indexing="ij")
    far = np.sqrt(sum(axis**2 for axis in axes))
    ball = body_above(100 - far, np.full(3, -100.0), 10.0, 40.0)
    assert ball.n_open_edges == 0
    assert ball.volume == pytest.approx(4 / 3 * np.pi * 60**3, rel=0.02)

    # one that reaches beyond the grid ends with it
    whole = body_above(np.ones((3, 4, 5)), np.array([7.0, 0, 0]), 10.0, 0.5)
    assert whole.n_open_edges == 0
    assert np.array(whole.bounds) == pytest.approx([7, 27, 0, 30, 0, 40], abs=0.1)
