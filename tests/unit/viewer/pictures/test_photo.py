"""A photograph from the seat, matched by points: against photographs made with another aim, tilt and field."""

import math
import sys

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import ChoiceError, FileError, PoseError, SeamsightError, build
from seamsight.viewer import see
from seamsight.viewer.colour import srgb
from seamsight.viewer.pictures.photo import (
    CORNERS,
    Match,
    corner_direction,
    direction_at,
    framed_on_photo,
    outlined,
    photo_sheet,
    placed,
    read_photo,
    residual_words,
    warped,
)
from seamsight.viewer.projection import Projection

pytest.importorskip("cv2")

CAMERA = Projection("rectilinear", 480, 320, 80.0, 9.0, -6.0, 5.0, samples=2)
EYE = np.array([10.0, -20.0, 5.0])


def matrix_of(camera):
    """Return where a pinhole camera's pixels look, in closed form: (column, row, 1) to a direction (3, 3)."""
    step = 2 * math.tan(math.radians(camera.field / 2)) / camera.width
    right, forward, up = camera.axes.T
    middle = forward - right * step * camera.width / 2 + up * step * camera.height / 2
    return np.column_stack([right * step, -up * step, middle])


def pixel_of(camera, direction):
    column, row, depth = np.linalg.inv(matrix_of(camera)) @ direction
    assert depth > 0
    return column / depth, row / depth


def like(first, second):
    """Return by how much two homographies differ, whatever their scale."""
    return np.abs(first / np.linalg.norm(first) - second / np.linalg.norm(second)).max()


@pytest.fixture(scope="session")
def seat(rig_of, screen_at):
    """Two screens that show a test card, one behind a lens, and a post."""
    screens = [
        screen_at("in front", shows="card", centre=[0, 700, 0]),
        screen_at("beside", shows="card"),
    ]
    screens[1] |= {"centre": [500, 500, 40], "yaw": 45, "bezel": 15}
    lens = {"screen": "in front", "focal_length": 450, "distance": 150, "width": 517, "height": 380}
    post = {"name": "post", "size": [30, 30, 500], "centre": [-200, 500, 0]}
    return build(rig_of(screen=screens, lens=[lens], board=[post]))


@pytest.fixture(scope="session")
def photograph(seat):
    return srgb(see(seat, EYE, CAMERA).light)


@pytest.fixture(scope="session")
def corners(seat):
    names = [("in front", corner) for corner in CORNERS] + [
        ("beside", "top left"),
        ("beside", "bottom left"),
    ]
    directions = [corner_direction(seat, EYE, *name) for name in names]
    return [Match(pixel_of(CAMERA, direction), direction) for direction in directions]


def test_four_corners_give_the_camera_s_own_matrix(photograph, corners):
    photo = placed(photograph, corners[:4])
    assert like(photo.rig_from_photo, matrix_of(CAMERA)) < 1e-6
    assert photo.off_px.max() < 1e-3 and photo.off_degrees.max() < 1e-4
    assert residual_words(photo).startswith("Placed by 4 points, which fit any photograph")


@pytest.mark.parametrize("finer", [1, 3])
def test_the_photograph_laid_over_agrees_with_what_is_seen_there(seat, photograph, corners, finer):
    size = 480 // finer, 320 // finer
    photo = placed(photograph, corners[:4])
    shown = framed_on_photo(photo, *size)
    laid = np.asarray(warped(photo, shown)).astype(int)
    seen = srgb(see(seat, EYE, shown).light).astype(int)
    # where the camera's own axes say that it reaches, one pixel in
    columns, lines = shown.columns()[::2], shown.rows()[::2]
    grid = [np.outer(lines[:, 0], columns[:, k]) for k in (0, 1)] + [
        np.repeat(lines[:, 1:], len(columns), axis=1)
    ]
    across, ahead, up = np.tensordot(CAMERA.axes.T @ shown.axes, np.array(grid), 1)
    half = math.tan(math.radians(CAMERA.field / 2))
    inside = (
        (ahead > 0)
        & (np.abs(across) < 0.98 * half * ahead)
        & (np.abs(up) < 0.98 * half * 320 / 480 * ahead)
    )
    off = np.abs(laid - seen).max(axis=2)
    assert 0.5 < inside.mean() < 0.95
    assert (off[inside] > 40).mean() < 0.05  # edges, sampled twice
    assert off[inside].mean() < 5
    moved = np.roll(laid, 1, axis=1)
    assert off[inside].mean() < 0.7 * np.abs(moved - seen).max(axis=2)[inside].mean()


def test_the_frame_is_level_looks_where_the_camera_did_and_holds_its_corners(photograph, corners):
    shown = framed_on_photo(placed(photograph, corners[:4]), 600, 400)
    assert (shown.azimuth, shown.elevation, shown.tilt) == (
        pytest.approx(9, abs=1e-3),
        pytest.approx(-6, abs=1e-3),
        0,
    )
    for column, row in ((0, 0), (480, 0), (480, 320), (0, 320)):
        x, y = pixel_of(shown, matrix_of(CAMERA) @ (column, row, 1))
        assert 0 < x < 600 and 0 < y < 400


def test_more_points_are_fitted_by_least_squares(photograph, corners):
    assert placed(photograph, corners).off_px.max() < 1e-3
    worse = [
        *corners[:-1],
        Match((corners[-1].pixel[0] + 8, corners[-1].pixel[1]), corners[-1].direction),
    ]
    photo = placed(photograph, worse)
    # the least squares of the flat picture's places: no greater than those of the camera's true matrix
    axes = Projection("rectilinear", 8, 8, 90.0, *_middle(worse)).axes

    def squares(rig_from_photo):
        total = 0.0
        for match in worse:
            here = axes.T @ rig_from_photo @ (*match.pixel, 1)
            there = axes.T @ match.direction
            total += ((here[[0, 2]] / here[1] - there[[0, 2]] / there[1]) ** 2).sum()
        return total

    assert squares(photo.rig_from_photo) < 0.9 * squares(matrix_of(CAMERA))
    assert 0.5 < photo.off_px.max() < 8
    words = residual_words(photo)
    worst = photo.off_px[photo.off_degrees.argmax()]
    assert "6 points, by least squares" in words and f"by {worst:.1f} px" in words
    # a pixel's angle links the two residuals
    ratio = photo.off_degrees.max() / worst
    assert ratio == pytest.approx(80 / 480, rel=0.5)


def _middle(matches):
    x, y, z = np.mean([match.direction for match in matches], axis=0)
    return math.degrees(math.atan2(x, y)), math.degrees(math.atan2(z, math.hypot(x, y)))


def square(across=20.0, up=10.0):
    angles = [(-across, up), (across, up), (across, -up), (-across, -up)]
    places = [(10, 10), (90, 10), (90, 60), (10, 60)]
    return [Match(place, direction_at(*angle)) for place, angle in zip(places, angles, strict=True)]


def exchanged(*order):
    return [
        Match(one.pixel, square()[other].direction)
        for one, other in zip(square(), order, strict=True)
    ]


SMALL = np.zeros((70, 100, 3), np.uint8)


@pytest.mark.parametrize(
    ("matches", "words"),
    [
        ([Match((n, n), direction_at(n, n)) for n in range(1, 7)], "on one line"),
        ([Match((n, 5), direction_at(n, n * n)) for n in range(1, 6)], "on one line"),
        ([square()[0]] * 4, "on one line"),
        ([*square()[:3], square()[0]], "on one line"),
        (square(across=100), "too far apart"),
        (
            exchanged(1, 0, 2, 3),
            "exchanged",
        ),
        (
            exchanged(1, 0, 3, 2),
            "mirror",
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


def test_nothing_of_the_photograph_is_shown_behind_it(photograph, corners):
    photo = placed(photograph, corners[:4])
    behind = Projection("rectilinear", 60, 40, 80.0, CAMERA.azimuth + 180, -CAMERA.elevation)
    grey = np.asarray(warped(photo, behind))
    assert (grey == grey[0, 0]).all()


def test_a_corner_is_where_the_lens_shows_it(seat):
    # thin lens: a point 150 mm behind f = 450 looks 1.5 times as far off the axis, 225 mm behind the lens
    right, forward, up = corner_direction(seat, np.zeros(3), "in front", "top right")
    assert (right / forward, up / forward) == pytest.approx(
        (1.5 * 200 / (550 + 225), 1.5 * 150 / (550 + 225))
    )


@pytest.mark.parametrize("name", [("nowhere", "top left"), ("beside", "left top")])
def test_an_unknown_corner_is_told_with_those_there_are(seat, name):
    with pytest.raises(ChoiceError, match=r"bottom right; screens are in front, beside"):
        corner_direction(seat, EYE, *name)


def test_a_direction_is_azimuth_clockwise_and_elevation_up():
    assert direction_at(90, 0) == pytest.approx((1, 0, 0))
    assert direction_at(0, 30) == pytest.approx((0, math.cos(math.pi / 6), 0.5))


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


def test_outlines_stand_where_parts_meet(seat):
    view = see(seat, EYE, CAMERA)
    lines = (np.asarray(outlined(Image.new("RGB", (480, 320)), view)) == (255, 90, 170)).all(axis=2)
    assert lines[:-1, :-1][view.parts[:-1, :-1] != view.parts[:-1, 1:]].all()
    middle = tuple(round(place) for place in pixel_of(CAMERA, np.array([0.0, 1, 0])))
    assert not lines[middle[1] - 3 : middle[1] + 3, middle[0] - 3 : middle[0] + 3].any()


def test_a_sheet_shows_all_three_at_one_scale(seat, photograph, corners):
    photo = placed(photograph, corners)
    sheet = photo_sheet(seat, EYE, photo, framed_on_photo(photo, 300, 200), "seat")
    assert sheet.width < 2 * 300 and 3 * 200 < sheet.height < 3 * 300
