"""A photograph from the seat, matched by points: how it is placed, by a camera in closed form."""

import dataclasses
import math
import sys

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import ChoiceError, FileError, PoseError, SeamsightError
from seamsight.scene.frames import direction_at
from seamsight.viewer import Projection
from seamsight.viewer.pictures.photo import (
    Match,
    corner_direction,
    framed_on_photo,
    placed,
    read_photo,
)

pytest.importorskip("cv2")

SMALL = np.zeros((70, 100, 3), np.uint8)


def like(first, second):
    """Return by how much two homographies differ, whatever their scale."""
    return np.abs(first / np.linalg.norm(first) - second / np.linalg.norm(second)).max()


def test_four_corners_give_the_camera_s_own_matrix(photograph, corners, camera):
    photo = placed(photograph, corners[:4])
    assert like(photo.rig_from_photo, camera.matrix) < 1e-6
    assert photo.off_px.max() < 1e-3 and photo.off_degrees.max() < 1e-4


def test_the_frame_is_level_and_holds_the_cameras_corners(photograph, corners, camera):
    shown = framed_on_photo(placed(photograph, corners[:4]), 600, 400)
    aim = (pytest.approx(9, abs=1e-3), pytest.approx(-6, abs=1e-3), 0)
    assert (shown.azimuth, shown.elevation, shown.tilt) == aim
    frame = dataclasses.replace(camera, projection=shown)
    for column, row in ((0, 0), (480, 0), (480, 320), (0, 320)):
        x, y = frame.pixel_of(camera.matrix @ (column, row, 1))
        assert 0 < x < 600 and 0 < y < 400


def test_more_points_are_fitted_by_least_squares(photograph, corners, camera):
    assert placed(photograph, corners).off_px.max() < 1e-3
    column, row = corners[-1].pixel
    worse = [*corners[:-1], Match((column + 8, row), corners[-1].direction)]
    photo = placed(photograph, worse)
    # least squares of places in the flat picture: no greater than those of the camera's matrix
    axes = Projection("rectilinear", 8, 8, 90.0, *_middle(worse)).axes

    def squares(rig_from_photo):
        total = 0.0
        for match in worse:
            here = axes.T @ rig_from_photo @ (*match.pixel, 1)
            there = axes.T @ match.direction
            total += ((here[[0, 2]] / here[1] - there[[0, 2]] / there[1]) ** 2).sum()
        return total

    assert squares(photo.rig_from_photo) < 0.9 * squares(camera.matrix)
    assert 0.5 < photo.off_px.max() < 8
    # a pixel's angle links the two residuals
    ratio = photo.off_degrees.max() / photo.off_px[photo.off_degrees.argmax()]
    assert ratio == pytest.approx(80 / 480, rel=0.5)


def _middle(matches):
    x, y, z = np.mean([match.direction for match in matches], axis=0)
    return math.degrees(math.atan2(x, y)), math.degrees(math.atan2(z, math.hypot(x, y)))


def matched(place, azimuth, elevation):
    """Return a place of a photograph matched to a direction, degrees."""
    return Match(place, direction_at(math.radians(azimuth), math.radians(elevation)))


def square(across=20.0, up=10.0):
    angles = [(-across, up), (across, up), (across, -up), (-across, -up)]
    places = [(10, 10), (90, 10), (90, 60), (10, 60)]
    return [matched(place, *angle) for place, angle in zip(places, angles, strict=True)]


def exchanged(*order):
    return [
        Match(one.pixel, square()[other].direction)
        for one, other in zip(square(), order, strict=True)
    ]


@pytest.mark.parametrize(
    ("matches", "words"),
    [
        ([matched((n, n), n, n) for n in range(1, 7)], "on one line"),
        ([matched((n, 5), n, n * n) for n in range(1, 6)], "on one line"),
        ([square()[0]] * 4, "on one line"),
        ([*square()[:3], square()[0]], "on one line"),
        (square(across=100), "too far apart"),
        (
            exchanged(1, 0, 2, 3),
            "probably swapped",
        ),
        (
            exchanged(1, 0, 3, 2),
            "mirrored",
        ),
    ],
)
def test_points_that_do_not_say_how_the_photograph_lies_are_refused(matches, words):
    with pytest.raises(PoseError) as told:
        placed(SMALL, matches)
    assert words in str(told.value)


@pytest.mark.parametrize(
    ("matches", "words"),
    [
        (square()[:3], "at least 4 matched points (got 3)"),
        (
            [*square()[:3], Match((10, 71), square()[3].direction)],
            "outside the photograph, which is 100 x 70 pixels",
        ),
    ],
)
def test_too_few_points_and_those_beside_the_photograph_are_refused(matches, words):
    with pytest.raises(ChoiceError) as told:
        placed(SMALL, matches)
    assert words in str(told.value)


def test_a_corner_is_where_the_lens_shows_it(seat):
    # thin lens: what is 150 mm behind f = 450 looks 1.5 times as large, 225 mm behind the lens
    right, forward, up = corner_direction(seat, np.zeros(3), "in front", "top right")
    expected = (1.5 * 200 / (550 + 225), 1.5 * 150 / (550 + 225))
    assert (right / forward, up / forward) == pytest.approx(expected)


@pytest.mark.parametrize("name", [("nowhere", "top left"), ("beside", "left top")])
def test_an_unknown_corner_is_told_with_those_there_are(seat, camera, name):
    with pytest.raises(ChoiceError, match=r"bottom right; screens are in front, beside"):
        corner_direction(seat, camera.eye, *name)


def test_a_photograph_is_read_as_its_camera_was_held(tmp_path):
    upright = Image.new("RGB", (40, 60), "red")
    upright.paste("blue", (0, 0, 40, 20))
    exif = Image.Exif()
    exif[0x0112] = 6  # Exif 2.3, orientation: the stored row 0 is the picture's right side
    upright.transpose(Image.Transpose.ROTATE_90).save(tmp_path / "seat.jpg", exif=exif, quality=95)
    read = read_photo(tmp_path / "seat.jpg")
    assert read.shape == (60, 40, 3)
    assert np.abs(read.astype(int) - np.asarray(upright)).mean() < 5


@pytest.mark.parametrize("content", [None, b"", b"no picture"])
def test_what_is_no_photograph_is_told_in_one_line(tmp_path, content):
    if content is not None:
        (tmp_path / "seat.jpg").write_bytes(content)
    with pytest.raises(
        FileError,
        match=r"^the photograph .*seat.jpg (cannot be opened|is not a readable picture).*$",
    ):
        read_photo(tmp_path / "seat.jpg")


def test_without_opencv_it_says_how_to_install_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "cv2", None)
    with pytest.raises(
        SeamsightError, match=r"^matching a photograph needs OpenCV: pip install .*photo"
    ):
        placed(SMALL, square())


SPREADS = {
    "corners": [(20, 20), (460, 20), (460, 300), (20, 300)],
    "and more": [(20, 20), (460, 20), (460, 300), (20, 300), (240, 160), (100, 250)],
    "the middle": [(160, 110), (320, 110), (320, 210), (160, 210)],
    "one corner": [(20, 20), (80, 20), (80, 60), (20, 60), (50, 30)],
    "a narrow band": [(20, 130), (160, 180), (320, 130), (460, 180)],
}


@pytest.mark.parametrize("points", SPREADS.values(), ids=SPREADS.keys())
def test_the_error_at_the_corners_is_what_random_errors_of_the_points_come_to(camera, points):
    picture = np.zeros((320, 480, 3), np.uint8)
    corners = np.array([(0, 0), (480, 0), (480, 320), (0, 320)], float)
    directions = [camera.matrix @ (*point, 1) for point in points]
    directions = [tuple(one / np.linalg.norm(one)) for one in directions]
    photo = placed(picture, [Match(*pair) for pair in zip(points, directions, strict=True)])
    right = photo.directions(corners)

    # errors so small that what they cause grows with them, but a few pixels' worth when scaled
    random = np.random.default_rng(3)
    squares = np.zeros(4)
    for _ in range(300):
        off = [tuple(point + random.normal(0, 0.01, 2)) for point in np.array(points)]
        other = placed(picture, [Match(*pair) for pair in zip(off, directions, strict=True)])
        squares += ((other.directions(corners) - right) ** 2).sum(axis=1) / 300
    expected = math.degrees(math.sqrt(squares.max())) / 0.01
    assert photo.corner_degrees == pytest.approx(expected, rel=0.15)


def test_a_fit_that_is_off_makes_the_corners_worse(photograph, corners):
    column, row = corners[-1].pixel
    worse = [*corners[:-1], Match((column + 30, row), corners[-1].direction)]
    right, wrong = (placed(photograph, matches).corner_degrees for matches in (corners, worse))
    assert wrong > 3 * right
