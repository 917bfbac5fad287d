"""A photograph laid over what is computed: against photographs with another aim, tilt and field."""

import math

import numpy as np
import pytest
from PIL import Image

from seamsight.viewer import Projection, see
from seamsight.viewer.colour import srgb
from seamsight.viewer.pictures.photo import Match, framed_on_photo, placed
from seamsight.viewer.pictures.photo_sheet import outlined, photo_sheet, residual_words, warped

pytest.importorskip("cv2")


@pytest.mark.parametrize("finer", [1, 3])
def test_the_photograph_laid_over_agrees_with_what_is_seen(
    seat, photograph, corners, camera, finer
):
    photo = placed(photograph, corners[:4])
    shown = framed_on_photo(photo, 480 // finer, 320 // finer)
    laid = np.asarray(warped(photo, shown)).astype(int)
    seen = srgb(see(seat, camera.eye, shown).light).astype(int)

    # where the camera's own axes say that it reaches, one pixel in
    columns = shown.columns()[::2]
    lines = shown.rows()[::2]
    grid = [np.outer(lines[:, 0], columns[:, k]) for k in (0, 1)]
    grid.append(np.repeat(lines[:, 1:], len(columns), axis=1))
    camera_from_grid = camera.projection.axes.T @ shown.axes
    across, ahead, up = np.tensordot(camera_from_grid, np.array(grid), 1)
    half = 0.98 * math.tan(math.radians(camera.projection.field / 2)) * ahead
    inside = (ahead > 0) & (np.abs(across) < half) & (np.abs(up) < half * 320 / 480)

    off = np.abs(laid - seen).max(axis=2)
    assert 0.5 < inside.mean() < 0.95
    assert (off[inside] > 40).mean() < 0.05  # edges, sampled twice
    assert off[inside].mean() < 5
    moved = np.roll(laid, 1, axis=1)
    assert off[inside].mean() < 0.7 * np.abs(moved - seen).max(axis=2)[inside].mean()


def test_nothing_of_the_photograph_is_shown_behind_it(photograph, corners, camera):
    photo = placed(photograph, corners[:4])
    ahead = camera.projection
    behind = Projection("rectilinear", 60, 40, 80.0, ahead.azimuth + 180, -ahead.elevation)
    grey = np.asarray(warped(photo, behind))
    assert (grey == grey[0, 0]).all()


def test_how_well_it_fits_is_told_in_words(photograph, corners):
    words = residual_words(placed(photograph, corners[:4]))
    assert words.startswith("Placed by 4 points, which always fit exactly")
    column, row = corners[-1].pixel
    photo = placed(photograph, [*corners[:-1], Match((column + 8, row), corners[-1].direction)])
    words = residual_words(photo)
    worst = photo.off_px[photo.off_degrees.argmax()]
    assert "6 points, by least squares" in words and f": {worst:.1f} px" in words


def test_points_that_are_close_together_are_told(camera, photograph):
    def words(*points):
        directions = [camera.matrix @ (*point, 1) for point in points]
        matches = [
            Match(point, tuple(one / np.linalg.norm(one)))
            for point, one in zip(points, directions, strict=True)
        ]
        return residual_words(placed(photograph, matches))

    wide = words((20, 20), (460, 20), (460, 300), (20, 300), (240, 160))
    assert wide.endswith("Expected error at the photograph's corners: 0.18°.")
    near = words((20, 20), (80, 20), (80, 60), (20, 60), (50, 30))
    assert "fit error 0.0 px" in near and "the points are close together" in near


def test_outlines_stand_where_parts_meet(seat, camera):
    view = see(seat, camera.eye, camera.projection)
    lines = (np.asarray(outlined(Image.new("RGB", (480, 320)), view)) == (255, 90, 170)).all(axis=2)
    assert lines[:-1, :-1][view.parts[:-1, :-1] != view.parts[:-1, 1:]].all()
    x, y = (round(place) for place in camera.pixel_of(np.array([0.0, 1, 0])))
    assert not lines[y - 3 : y + 3, x - 3 : x + 3].any()


def test_a_sheet_shows_all_three_at_one_scale(seat, photograph, corners, camera):
    photo = placed(photograph, corners)
    sheet = photo_sheet(seat, camera.eye, photo, framed_on_photo(photo, 300, 200), "seat")
    assert sheet.width < 2 * 300 and 3 * 200 < sheet.height < 3 * 300
