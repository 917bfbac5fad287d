"""A dark cockpit lit by its screens and lamps, against formulas and Mitsuba's direct integrator."""

import dataclasses
import math

import numpy as np
import pytest
import trimesh

from seamsight.scene import build
from seamsight.viewer.casting.trace import see
from seamsight.viewer.light.dark_view import see_in_the_dark
from seamsight.viewer.projection import Projection

EYE = np.array([0.0, -700.0, 250.0])
PICTURE = Projection("rectilinear", 80, 50, 80.0, elevation=-12.0)
FINER = 8  # rays along a side of a pixel that Mitsuba draws


@pytest.fixture(scope="module")
def white(tmp_path_factory):
    """Return the path of a white picture, of the shape of the screens."""
    from PIL import Image

    path = tmp_path_factory.mktemp("rig") / "white.png"
    Image.new("RGB", (100, 64), (255, 255, 255)).save(path)
    return path


@pytest.fixture(scope="module")
def bare(rig_of, white):
    """Return two bare screens at an angle above a desk, with a board across it."""
    screen = {"width": 500, "height": 320, "pixels": [800, 512], "bezel": 14, "lip": 3}
    screen |= {"shows": "white.png", "body": 30}
    left = screen | {"name": "left", "centre": [-230, 420, 220], "yaw": -30}
    right = screen | {"name": "right", "centre": [300, 420, 220], "yaw": 30, "luminance": 120}
    desk = {"name": "desk", "size": [1500, 1100, 20], "centre": [0, 150, -60], "colour": "#b0a090"}
    post = {"name": "post", "size": [60, 60, 180], "centre": [40, 100, 40], "colour": "#a0b0a0"}
    wall = {"name": "wall", "size": [1500, 20, 900], "centre": [0, 700, 400], "colour": "#8090a0"}
    rig = rig_of(screen=[left, right], board=[desk, post, wall])
    return build(rig.read_from(white.parent / "rig.toml"))


def test_light_below_a_small_lamp(rig_of):
    # E = L A cos cos' / r² of a small lamp (any textbook of photometry); a matt part then shines
    # with its reflectance times E / pi
    lamp = {"name": "lamp", "centre": [0, 500, 1000], "pitch": 90, "size": [20, 20]}
    board = {"name": "floor", "size": [3000, 3000, 10], "centre": [0, 500, -5]}
    rig = rig_of(lamp=[lamp | {"luminance": 100.0}], board=[board | {"colour": "#ffffff"}])
    picture = Projection("rectilinear", 64, 64, 50.0, elevation=-50.0)
    view = see_in_the_dark(build(rig), np.array([0.0, 0, 400]), picture)
    # without any screen, a lamp of 1 cd/m² would be white
    row, column = 32, 32  # half a pixel beside the middle
    down = -math.tan(math.radians(picture.elevation_at(row)))
    at = np.array([0.0, 400 / down, 0.0])
    away = np.array([0.0, 500, 1000]) - at
    far = np.linalg.norm(away)
    expected = 100 * 400 * (away[2] / far) ** 2 / far**2 / math.pi
    assert view.light[row, column] == pytest.approx(expected, rel=0.02)


def test_what_shines_looks_as_ever_and_nothing_else_without_it(bare, rig_of, screen_at):
    lit, dark = see(bare, EYE, PICTURE), see_in_the_dark(bare, EYE, PICTURE)
    assert (lit.parts == dark.parts).all()
    images = np.isin(lit.parts, [bare.part_id("left"), bare.part_id("right")])
    assert images.any()
    assert dark.light[images] == pytest.approx(lit.light[images])
    black = build(
        rig_of(screen=[screen_at()], board=[{"name": "b", "size": [9, 9, 9], "centre": [0, 99, 0]}])
    )
    assert see_in_the_dark(black, np.zeros(3), PICTURE).light.max() == 0


def test_light_comes_through_a_lens(rig_of, white):
    # an ideal lens keeps luminance: from near its axis, the lens is a window as bright as the
    # screen behind it, whose image fills it
    screen = {"name": "s", "width": 400, "height": 256, "pixels": [100, 64], "centre": [0, 600, 0]}
    lens = {"screen": "s", "focal_length": 300, "distance": 100, "width": 200, "height": 150}
    plate = {"name": "b", "size": [20, 2, 20], "centre": [0, -400, 0], "colour": "#ffffff"}
    tables = {"screen": [screen | {"shows": "white.png"}], "board": [plate]}
    picture = Projection("rectilinear", 40, 40, 20.0, azimuth=180.0)
    lights = []
    for lenses in ([lens], []):
        rig = rig_of(lens=lenses, **tables).read_from(white.parent / "rig.toml")
        view = see_in_the_dark(build(rig), np.array([0.0, -300, 0]), picture)
        lights.append(view.light[20, 20, 0])
    # form factors of the parallel rectangles at 899 and 999 mm, small receiver on the axis
    assert lights[0] == pytest.approx(form_factor(200, 150, 899), rel=0.02)
    assert lights[1] == pytest.approx(form_factor(400, 256, 999), rel=0.02)


def form_factor(width, height, away):
    """Return that of a small receiver to a rectangle square before it (Incropera, fig. 13.4)."""
    a, b = width / 2 / away, height / 2 / away
    x, y = math.hypot(1, a), math.hypot(1, b)
    return 2 / math.pi * (a / x * math.atan(b / x) + b / y * math.atan(a / y))


def test_bare_screens_as_mitsuba_s_direct_integrator(bare, tmp_path):
    rendered = by_mitsuba(bare, tmp_path)
    fine = dataclasses.replace(PICTURE, width=FINER * PICTURE.width, height=FINER * PICTURE.height)
    view = see_in_the_dark(bare, EYE, fine)
    blocks = view.parts.reshape(PICTURE.height, FINER, PICTURE.width, FINER)
    first = blocks[:, :1, :, :1]
    boards = np.array([part.role == "board" for part in bare.parts] + [False])
    whole = (blocks == first).all(axis=(1, 3)) & boards[first[:, 0, :, 0]]
    light = view.light.reshape(PICTURE.height, FINER, PICTURE.width, FINER, 3).mean(axis=(1, 3, 4))
    theirs = rendered.mean(axis=2)
    lit = whole & (theirs > 0.05 * theirs[whole].mean())
    assert lit.sum() > 1200

    assert light[whole].mean() == pytest.approx(theirs[whole].mean(), rel=0.03)
    off = np.abs(light[lit] / theirs[lit] - 1)
    assert np.quantile(off, 0.95) < 0.10


def by_mitsuba(assembly, folder, samples=512):
    """Return the picture (h, w, 3) that Mitsuba draws of bare, white screens and matt parts."""
    mitsuba = pytest.importorskip("mitsuba", reason="needs Mitsuba, of the benchmark extra")
    mitsuba.set_variant("scalar_rgb")
    axes = PICTURE.axes
    way = mitsuba.ScalarTransform4f().look_at(list(EYE), list(EYE + axes[:, 1]), list(axes[:, 2]))
    film = {"type": "hdrfilm", "width": PICTURE.width, "height": PICTURE.height}
    sensor = {
        "type": "perspective",
        "fov": PICTURE.field,
        "to_world": way,
        "film": film | {"rfilter": {"type": "box"}},
        "sampler": {"type": "multijitter", "sample_count": samples},
    }
    scene = {"type": "scene", "integrator": {"type": "direct"}, "sensor": sensor}
    brightest = max(screen.display.luminance for screen in assembly.screens)
    shining = {screen.name: screen.display.luminance / brightest for screen in assembly.screens}
    for number, part in enumerate(assembly.parts):
        file = folder / f"{number}.ply"
        corners = part.triangles.reshape(-1, 3)
        faces = np.arange(len(corners)).reshape(-1, 3)
        trimesh.Trimesh(corners, faces, process=False).export(file)
        shape = {"type": "ply", "filename": str(file), "face_normals": True}
        if part.name in shining:
            radiance = {"type": "rgb", "value": shining[part.name]}
            shape["emitter"] = {"type": "area", "radiance": radiance}
        else:
            colour = {"type": "rgb", "value": part.colour.tolist()}
            matt = {"type": "diffuse", "reflectance": colour}
            shape["bsdf"] = {"type": "twosided", "matt": matt}
        scene[f"part{number}"] = shape
    return np.array(mitsuba.render(mitsuba.load_dict(scene)))
