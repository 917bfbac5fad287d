"""Mirror images, against a plane-mirror construction done with trimesh."""

import numpy as np
import pytest
import trimesh

from seamsight.scene import Head, build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.light.glare import mirror_images

LAMP = {"name": "lamp", "centre": [-460, -360, 550], "yaw": -154, "pitch": 27, "size": [300, 200]}
TILTED = {"yaw": 12.0, "pitch": -14.0}


@pytest.fixture(scope="module")
def images_of():
    def images(rig, **head):
        return mirror_images(build(rig), eyes_of(rig, Head(name="here", **head)))

    return images


def constructed(assembly, eye, mirror, lamp):
    """Return which azimuths, elevations and share of a mirror show a lamp, by trimesh."""
    glass, shining = (
        trimesh.Trimesh(corners.reshape(-1, 3), np.arange(corners.size // 3).reshape(-1, 3))
        for corners in (assembly.parts[assembly.part_id(name)].triangles for name in (mirror, lamp))
    )
    normal = glass.face_normals[0]
    mirrored = shining.copy()
    mirrored.apply_transform(trimesh.transformations.reflection_matrix(glass.vertices[0], normal))

    # look at places of the glass: what they show lies on the same straight line, behind it
    corner, right, up = rectangle(glass)
    steps = (np.arange(300) + 0.5) / 300
    grid = corner + steps[:, None, None] * right + steps[None, :, None] * up
    ways = (grid - eye).reshape(-1, 3)
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    hit = mirrored.ray.intersects_any(np.broadcast_to(eye, ways.shape), ways)
    shown = ways[hit]
    azimuths = np.degrees(np.arctan2(shown[:, 0], shown[:, 1]))
    elevations = np.degrees(np.arcsin(shown[:, 2]))
    return azimuths, elevations, hit.mean()


def rectangle(glass):
    """Return a corner of a rectangle and the two sides from there."""
    corner = glass.vertices[0]
    away = glass.vertices - corner
    one, other = away[np.argsort(np.linalg.norm(away, axis=1))[1:3]]
    return corner, one, other


@pytest.mark.parametrize("eye", ["left", "right"])
@pytest.mark.parametrize("lensed", [False, True])
def test_where_and_how_large(rig_of, screen_at, images_of, eye, lensed):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 420, "height": 320}
    rig = rig_of(
        screen=[screen_at(**TILTED)],
        lens=[lens] if lensed else [],
        lamp=[LAMP | {"luminance": 3000}],
    )
    mirror = "screen lens" if lensed else "screen"
    [image] = [one for one in images_of(rig) if (one.eye, one.mirror) == (eye, mirror)]

    assembly = build(rig)
    point = eyes_of(rig, Head(name="here")).point(eye)
    azimuths, elevations, share = constructed(assembly, point, mirror, "lamp")
    assert len(azimuths) > 500
    # within two steps of the grids
    assert image.azimuth == pytest.approx((azimuths.min() + azimuths.max()) / 2, abs=0.2)
    assert image.elevation == pytest.approx((elevations.min() + elevations.max()) / 2, abs=0.2)
    assert image.width == pytest.approx(np.ptp(azimuths), abs=0.4)
    assert image.height == pytest.approx(np.ptp(elevations), abs=0.4)
    assert image.share == pytest.approx(share, rel=0.03)
    assert image.share_without_hood == image.share


def test_how_bright_and_at_which_pixels(rig_of, screen_at, images_of):
    # square on from the middle: a lamp around the head's back, mirrored about the screen's middle
    lamp = {"name": "lamp", "centre": [0, -600, 0], "yaw": 180, "size": [240, 120]}
    rig = rig_of(screen=[screen_at(luminance=200)], lamp=[lamp | {"luminance": 1000}])
    image = images_of(rig)[0]
    reflectance = (0.52 / 2.52) ** 2  # glass of 1.52, square on (Fresnel)
    assert image.reflectance == pytest.approx(reflectance, rel=0.01)
    assert image.luminance == pytest.approx(1000 * reflectance, rel=0.01)
    assert image.of_white == pytest.approx(5 * reflectance, rel=0.01)
    assert image.contrast == pytest.approx(1 + 1 / (5 * reflectance), rel=0.01)
    # the image of the lamp is 1,800 behind the eye's 600: a third of its size on the surface
    left, right, top, bottom = image.pixels
    assert (right - left, bottom - top) == (pytest.approx(160, abs=6), pytest.approx(80, abs=6))


def test_a_lamp_that_looks_away_or_is_hidden_is_not_mirrored(rig_of, screen_at, images_of):
    lamp = LAMP | {"luminance": 3000}
    away = rig_of(screen=[screen_at(**TILTED)], lamp=[lamp | {"yaw": 26, "pitch": -27}])
    assert images_of(away) == []
    board = {"name": "board", "size": [900, 12, 900], "centre": [-300, -200, 500]}
    hidden = rig_of(screen=[screen_at(**TILTED)], lamp=[lamp], board=[board])
    assert images_of(hidden) == []


def test_a_small_lamp_is_found(rig_of, screen_at, images_of):
    lamp = LAMP | {"size": [6, 6], "luminance": 3000}
    rig = rig_of(screen=[screen_at(**TILTED)], lamp=[lamp])
    assert {image.of for image in images_of(rig)} == {"lamp"}


def test_screens_are_mirrored_too(rig_of, screen_at, images_of):
    bright = screen_at("bright", centre=[0, -300, 0], yaw=180, shows="card", luminance=500)
    rig = rig_of(screen=[screen_at(), bright])
    found = {(image.mirror, image.of) for image in images_of(rig)}
    assert found == {("screen", "bright")}
