"""Banks: where units stand, measured on the placed corners themselves."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from seamsight.scene import build
from seamsight.scene.layout import place, toe_angle

SCREEN = {"width": 400, "height": 250, "pixels": [1680, 1050]}
LENS = {"focal_length": 450, "magnification": 1.5, "width": 517, "height": 330}
EYE = (30, -20, 1150)


@pytest.fixture(scope="session")
def bank_of(rig_of):
    def make(screen=None, **keys):
        table = {"name": "wall", "count": 3, "radius": 600, "screen": SCREEN | (screen or {})}
        return rig_of(pilot={"eye_point": EYE}, bank=[table | keys])

    return make


def edge(assembly, name, side):
    """Return the corners of a part that lie on one side of its unit."""
    (part,) = (part for part in assembly.parts if part.name == name)
    (screen,) = (screen for screen in assembly.screens if screen.name == part.screen)
    points = np.unique(part.triangles.reshape(-1, 3), axis=0)
    right = (points @ screen.rig_from_screen[:3, 0]).round(6)
    return points[right == (right.max() if side == "right" else right.min())]


def gap_between(assembly, part, units=("wall.1", "wall.2")):
    """Return the least distance between corners on the neighbouring edges of two units' parts."""
    left, right = (f"{unit} {part}".strip() for unit in units)
    return min(
        math.dist(a, b)
        for a in edge(assembly, left, "right")
        for b in edge(assembly, right, "left")
    )


# ---- touching edges ----


@given(gap=st.floats(0, 80), radius=st.floats(300, 1500), width=st.floats(200, 700))
def test_toe_of_touching_lenses(bank_of, gap, radius, width):
    bank = bank_of(gap=gap, radius=radius, lens=LENS | {"width": width}).bank[0]
    a = width / 2
    assert toe_angle(bank) == pytest.approx(
        2 * math.atan(a / radius) + 2 * math.asin(gap / (2 * math.hypot(a, radius))), rel=1e-12
    )


def test_toe_of_517_mm_lenses_at_600_mm(bank_of):
    assert math.degrees(toe_angle(bank_of(lens=LENS).bank[0])) == pytest.approx(
        46.62, abs=0.005
    )  # 2 atan(258.5 / 600)


@given(gap=st.floats(0, 80), radius=st.floats(300, 1500))
def test_gap_is_the_straight_line_between_lens_edges(bank_of, gap, radius):
    assembly = build(bank_of(gap=gap, radius=radius, lens=LENS))
    assert gap_between(assembly, "lens") == pytest.approx(gap, abs=1e-6)
    assert gap_between(assembly, "lens", ("wall.2", "wall.3")) == pytest.approx(gap, abs=1e-6)


@given(gap=st.floats(0, 80), width=st.floats(0.5, 40))
def test_gap_between_lens_frames(bank_of, gap, width):
    assembly = build(bank_of(gap=gap, lens=LENS | {"frame": {"width": width, "depth": 20}}))
    assert gap_between(assembly, "lens frame") == pytest.approx(gap, abs=1e-6)


@given(gap=st.floats(0, 80), bezel=st.floats(0.5, 40))
def test_gap_between_bezels_without_lenses(bank_of, gap, bezel):
    assert gap_between(build(bank_of({"bezel": bezel}, gap=gap)), "bezel") == pytest.approx(
        gap, abs=1e-6
    )


@given(gap=st.floats(0, 80))
def test_gap_between_images_without_bezels(bank_of, gap):
    assert gap_between(build(bank_of(gap=gap)), "") == pytest.approx(gap, abs=1e-6)


@given(gap=st.floats(25, 80), left=st.floats(1, 60), right=st.floats(1, 60))
def test_gap_between_uneven_bezels(bank_of, gap, left, right):
    assembly = build(bank_of({"bezel": {"left": left, "right": right}}, gap=gap))
    assert gap_between(assembly, "bezel") == pytest.approx(gap, abs=1e-6)


@given(gap=st.floats(15, 80), offset=st.floats(-15, 15))
def test_gap_between_lenses_off_their_axes(bank_of, gap, offset):
    assembly = build(bank_of(gap=gap, lens=LENS | {"offset": [offset, 0]}))
    assert gap_between(assembly, "lens") == pytest.approx(gap, abs=1e-6)


# ---- where units stand ----


def test_units_are_named_from_the_left(bank_of):
    screens = place(bank_of(count=4))
    assert [screen.name for screen in screens] == ["wall.1", "wall.2", "wall.3", "wall.4"]
    across = [screen.rig_from_screen[0, 3] for screen in screens]
    assert across == sorted(across)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_bank_is_even_about_its_middle(bank_of, count):
    middles = (
        np.array([screen.rig_from_screen[:3, 3] for screen in place(bank_of(count=count))]) - EYE
    )
    np.testing.assert_allclose(middles, middles[::-1] * [-1, 1, 1], atol=1e-9)


def test_lens_planes_are_at_the_radius(bank_of):
    for screen in place(bank_of(lens=LENS, toe=35)):
        assert math.dist(screen.lens.rig_from_lens[:3, 3], EYE) == pytest.approx(600)
        assert math.dist(screen.rig_from_screen[:3, 3], EYE) == pytest.approx(600 + 150)


def test_without_lenses_images_are_at_the_radius(bank_of):
    for screen in place(bank_of(toe=35)):
        assert math.dist(screen.rig_from_screen[:3, 3], EYE) == pytest.approx(600)


@given(toe=st.floats(0, 60), azimuth=st.floats(-170, 170), elevation=st.floats(-80, 80))
def test_aimed_bank_is_the_same_arc_turned(bank_of, toe, azimuth, elevation):
    turned = Rotation.from_euler("ZX", [-azimuth, elevation], degrees=True).as_matrix()
    straight, aimed = (
        place(bank_of(toe=toe, aim=aim, lens=LENS)) for aim in ([0, 0], [azimuth, elevation])
    )
    for before, after in zip(straight, aimed, strict=True):
        away = turned @ (before.rig_from_screen[:3, 3] - EYE)
        np.testing.assert_allclose(after.rig_from_screen[:3, 3] - EYE, away, atol=1e-9)
        np.testing.assert_allclose(
            after.rig_from_screen[:3, :3], turned @ before.rig_from_screen[:3, :3], atol=1e-12
        )


@pytest.mark.parametrize("toe", [0, 20, 45])
def test_toe_is_the_angle_between_neighbouring_axes(bank_of, toe):
    axes = [screen.rig_from_screen[:3, 1] for screen in place(bank_of(toe=toe))]
    assert math.degrees(math.acos(min(1.0, float(axes[0] @ axes[1])))) == pytest.approx(
        toe, abs=1e-6
    )


def test_pitch_turns_each_unit_about_its_own_horizontal_axis(bank_of):
    for flat, pitched in zip(place(bank_of(toe=40)), place(bank_of(toe=40, pitch=15)), strict=True):
        np.testing.assert_allclose(
            flat.rig_from_screen[:3, 0], pitched.rig_from_screen[:3, 0], atol=1e-12
        )
        np.testing.assert_allclose(
            flat.rig_from_screen[:3, 3], pitched.rig_from_screen[:3, 3], atol=1e-9
        )
        # positive: the face, which looks back at the pilot, looks down
        assert -pitched.rig_from_screen[2, 1] == pytest.approx(-math.sin(math.radians(15)))


def test_lens_stands_before_its_own_screen_with_its_offset(rig_of, screen_at):
    lens = {
        "screen": "b",
        "focal_length": 450,
        "distance": 120,
        "width": 300,
        "height": 200,
        "offset": [7, -3],
    }
    first, second = place(
        rig_of(screen=[screen_at("a"), screen_at("b", yaw=30, pitch=10, roll=5)], lens=[lens])
    )
    assert first.lens is None
    there = np.linalg.inv(second.rig_from_screen) @ second.lens.rig_from_lens
    np.testing.assert_allclose(there[:3, 3], [7, -120, -3], atol=1e-9)
    np.testing.assert_allclose(there[:3, :3], np.eye(3), atol=1e-12)


def test_lenses_left_out_screens_stay(bank_of):
    rig = bank_of(lens=LENS | {"frame": {"width": 5, "depth": 5}})
    bare = build(rig, lenses=False)
    assert {part.role for part in bare.parts} == {"image", "housing"}
    for with_lens, without in zip(place(rig), bare.screens, strict=True):
        np.testing.assert_array_equal(with_lens.rig_from_screen, without.rig_from_screen)
