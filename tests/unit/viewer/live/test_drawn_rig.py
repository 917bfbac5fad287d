"""A rig as a browser draws it: parts with their faces, images, lenses, pictures without loss."""

import io

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import build
from seamsight.viewer.casting.world import picture_on
from seamsight.viewer.live.drawn_rig import drawn_rig, without_loss
from seamsight.viewer.live.stage_shapes import image_corners


@pytest.fixture
def drawn(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 517, "height": 330}
    board = {"name": "shelf", "size": [100, 200, 10], "centre": [0, 300, -400]}
    rig = rig_of(screen=[screen_at(luminance=100)], lens=[lens], board=[board])
    assembly = build(rig)
    return assembly, *drawn_rig(assembly, 10_000, without_loss)


def test_faces_and_corners_give_every_triangle_back(drawn):
    assembly, facts, binary = drawn
    corners = np.frombuffer(binary[0], "<f4").reshape(-1, 3)
    faces = np.frombuffer(binary[1], "<u4").reshape(-1, 3)
    np.testing.assert_allclose(corners[faces], assembly.triangles, atol=1e-3)
    for told, part in zip(facts["parts"], assembly.parts, strict=True):
        own = corners[faces[told["first"] : told["first"] + told["count"]]]
        np.testing.assert_allclose(own, part.triangles, atol=1e-3)
        np.testing.assert_allclose([told["low"], told["high"]], part.bounds)
    assert sum(told["corners"] for told in facts["parts"]) == len(corners)


def test_images_and_lenses_are_told_in_their_places(drawn):
    assembly, facts, _ = drawn
    (image,), (lens,) = facts["images"], facts["lenses"]
    screen = assembly.screens[0]
    assert facts["parts"][image["part"]]["kind"] == "image"
    assert facts["parts"][lens["part"]]["kind"] == "lens"
    assert image["size"] == list(screen.size)
    np.testing.assert_allclose(image["middle"], screen.rig_from_screen[:3, 3])
    apart = np.subtract(image["middle"], lens["middle"])
    np.testing.assert_allclose(apart, 150 * np.array(lens["away"]))
    assert lens["focalLength"] == 450 and facts["images"][lens["image"]] is image


def test_a_lens_tells_its_virtual_image_and_a_ball_holds_the_screens(drawn):
    assembly, facts, _ = drawn
    (screen,) = assembly.screens
    np.testing.assert_allclose(
        facts["lenses"][0]["virtualImage"], image_corners(screen, virtual=True)
    )
    away = np.subtract(screen.rig_from_screen[:3, 3], facts["ball"]["middle"])
    assert np.linalg.norm(away) < facts["ball"]["radius"]


def test_pictures_lose_nothing(drawn):
    assembly, _, binary = drawn
    shown = picture_on(assembly.screens[0], assembly.rig)
    np.testing.assert_array_equal(np.asarray(Image.open(io.BytesIO(binary[2]))), shown)


def test_finer_pictures_are_averaged(drawn):
    assembly, *_ = drawn
    _, binary = drawn_rig(assembly, 100, without_loss)
    assert max(Image.open(io.BytesIO(binary[2])).size) <= 100
