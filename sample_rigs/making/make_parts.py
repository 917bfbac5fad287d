"""Make the meshes and the picture of the sample rigs: `python sample_rigs/making/make_parts.py`.

Meshes are binary STL in mm, in a part's own frame: x to the pilot's right, y away from the pilot, z
up. Each has its origin at the point by which a rig places it, named in the function that makes it.
A mesh is several closed pieces laid together, without cutting them where they meet: rays do not
mind, and the pieces stay simple.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt
import trimesh
from PIL import Image, ImageDraw
from trimesh import Trimesh
from trimesh.creation import box, capsule, cylinder, torus, uv_sphere

FOLDER = Path(__file__).resolve().parents[1]
Array = npt.NDArray[np.float64]

# ---- pieces ----


def loft(rings: Array) -> Trimesh:
    """Return a solid through rings of points (m, n, 3), with a flat cap at each end."""
    steps, around = rings.shape[:2]
    index = np.arange(steps * around).reshape(steps, around)
    a, d = index[:-1], index[1:]
    b, c = (np.roll(corners, -1, axis=1) for corners in (a, d))
    faces = [np.stack(corners, axis=-1).reshape(-1, 3) for corners in ((a, b, c), (a, c, d))]

    # a fan of triangles about its middle closes each end
    points = np.concatenate([rings.reshape(-1, 3), rings[[0, -1]].mean(axis=1)])
    for ring, middle in ((index[0][::-1], index.size), (index[-1], index.size + 1)):
        faces.append(np.stack([ring, np.roll(ring, -1), np.full(around, middle)], axis=-1))

    solid = Trimesh(points, np.concatenate(faces), process=False)
    if solid.volume < 0:
        solid.invert()
    return solid


def tube(path: Array, radius: float | Array, around: int = 24) -> Trimesh:
    """Return a round bar along a path (m, 3), of one radius or of one radius a point (m,)."""
    along = np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    # carry a first sideways direction on from point to point, so that the bar does not twist
    across = np.empty_like(along)
    start = np.eye(3)[np.argmin(np.abs(along[0]))]
    for number, direction in enumerate(along):
        across[number] = start - (start @ direction) * direction
        across[number] /= np.linalg.norm(across[number])
        start = across[number]

    other = np.cross(along, across)
    angle = np.linspace(0, 2 * np.pi, around, endpoint=False)[None, :, None]
    circle = np.cos(angle) * across[:, None] + np.sin(angle) * other[:, None]
    reach = np.broadcast_to(np.asarray(radius, np.float64), len(path))[:, None, None]
    return loft(path[:, None] + reach * circle)


def bar(start: Sequence[float], end: Sequence[float], radius: float, around: int = 32) -> Trimesh:
    """Return a straight round bar between two points."""
    return cylinder(radius, segment=[start, end], sections=around)


def block(size: Sequence[float], centre: Sequence[float]) -> Trimesh:
    """Return a box about a point."""
    return box(size).apply_translation(centre)


def ball(radius: float, centre: Sequence[float]) -> Trimesh:
    """Return a sphere about a point."""
    return uv_sphere(radius, count=(20, 20)).apply_translation(centre)


def cushion(size: Sequence[float], centre: Sequence[float], lean: float = 0.0) -> Trimesh:
    """Return a box with soft edges, leaning back by degrees about the x axis."""
    solid = uv_sphere(1.0, count=(24, 32))
    solid.vertices = np.sign(solid.vertices) * np.abs(solid.vertices) ** 0.4 * np.asarray(size) / 2
    turn = trimesh.transformations.rotation_matrix(np.radians(lean), [1, 0, 0])
    return solid.apply_transform(turn).apply_translation(centre)


def upright(solid: Trimesh) -> Trimesh:
    """Return a solid made about the z axis so that this axis points away from the pilot."""
    return solid.apply_transform(trimesh.transformations.rotation_matrix(-np.pi / 2, [1, 0, 0]))


def around_the_wheel(radius: float, degrees: Array | float, away: float | Array = 0.0) -> Array:
    """Return points (m, 3) on a circle facing the pilot, at angles clockwise from the top."""
    angle = np.radians(np.atleast_1d(degrees))
    away = np.broadcast_to(away, angle.shape)
    return np.stack([radius * np.sin(angle), away, radius * np.cos(angle)], axis=1)


# ---- meshes ----


def control_wheel() -> list[Trimesh]:
    """Make a control wheel open at the top; origin: the hub's middle.

    Its column reaches 260 mm away.
    """
    rim = around_the_wheel(150, np.linspace(48, 312, 97))
    ends = rim[[0, -1]]
    left, right, bottom = (around_the_wheel(150, at)[0] for at in (262, 98, 180))

    return [
        tube(rim, 12.5, around=28),
        *(ball(14.5, end) for end in ends),
        *(
            tube(np.linspace([0, 6, -4], end, 12), np.linspace(13, 9, 12))
            for end in (left, right, bottom)
        ),
        upright(cylinder(38, 40, sections=64)).apply_translation([0, 4, 0]),
        upright(cylinder(26, 6, sections=64)).apply_translation([0, -19, 0]),
        bar([0, 20, 0], [0, 260, 0], 15, around=48),
        upright(cylinder(21, 24, sections=48)).apply_translation([0, 36, 0]),
    ]


def steering_wheel() -> list[Trimesh]:
    """Make a steering wheel, 450 mm across; origin: the rim's middle.

    The column reaches 300 mm away.
    """
    spokes = [around_the_wheel(218, at)[0] for at in (100, 180, 260)]
    return [
        upright(torus(225, 15, major_sections=120, minor_sections=24)),
        *(tube(np.linspace([0, 34, 0], end, 12), np.linspace(18, 11, 12)) for end in spokes),
        upright(cylinder(62, 36, sections=64)).apply_translation([0, 36, 0]),
        upright(cylinder(44, 8, sections=64)).apply_translation([0, 15, 0]),
        bar([0, 54, 0], [0, 300, 0], 34, around=48),
        *(bar([side * 30, 82, 6], [side * 170, 70, 26], 6, around=16) for side in (-1, 1)),
        *(ball(9, [side * 170, 70, 26]) for side in (-1, 1)),
    ]


def control_stick() -> list[Trimesh]:
    """Make a control stick with a grip, 420 mm high; origin: the middle of its gaiter's foot."""
    s = np.linspace(0, 1, 40)
    # the stick bends towards the pilot on its way up, as it must clear the panel
    shaft = np.stack([np.zeros_like(s), 30 - 60 * s**2, 30 + 250 * s], axis=1)
    grip = np.stack([np.zeros_like(s), -30 - 32 * s, 280 + 120 * s], axis=1)
    swell = 17 + 3.5 * np.sin(2 * np.pi * s) + np.where(s > 0.96, -3, 0)

    folds = np.linspace(0, 1, 41)
    leaning = 30 * np.maximum(folds - 0.05, 0) ** 3
    gaiter = np.stack([np.zeros_like(folds), leaning, 90 * folds], axis=1)
    return [
        tube(gaiter, 62 - 44 * folds + 4 * np.sin(5 * 2 * np.pi * folds), around=40),
        tube(shaft, 11),
        tube(grip, swell, around=32),
        ball(17, grip[-1]),
        bar(grip[30] + [0, 12, 0], grip[30] + [0, 32, -4], 5, around=16),  # trigger
        bar(grip[-1] + [0, -6, 8], grip[-1] + [0, -10, 24], 6, around=16),  # button
    ]


def throttle_quadrant() -> list[Trimesh]:
    """Make a lever box with three levers; origin: the middle of its foot. It is 120 mm wide."""
    pieces = [block([120, 150, 70], [0, 0, 35])]
    drum = cylinder(70, 120, sections=96)
    drum.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, [0, 1, 0]))
    pieces.append(drum.apply_translation([0, 0, 70]))

    # lean each lever by its angle from upright, positive: away
    for x, degrees in ((-36, 18), (0, -8), (36, -22)):
        lean = np.radians(degrees)
        up = np.array([0, np.sin(lean), np.cos(lean)])
        foot, top = (np.array([x, 0, 70]) + reach * up for reach in (60, 150))
        pieces.append(bar(foot, top, 4.5, around=20))
        knob = capsule(height=22, radius=11, count=(20, 20))
        knob.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, [0, 1, 0]))
        pieces.append(knob.apply_translation(top - knob.centroid))
    return pieces


def pilot_seat() -> list[Trimesh]:
    """Make a seat for one; origin: the floor some 1150 mm below the design eye point."""
    legs = [block([40, 420, 60], [side * 190, -60, 30]) for side in (-1, 1)]
    return [
        *legs,
        block([440, 460, 200], [0, -60, 160]),
        cushion([480, 500, 130], [0, -60, 320]),
        cushion([460, 110, 600], [0, -370, 640], lean=12),
    ]


def glare_shield() -> list[Trimesh]:
    """Make the harbour floatplane's hood; origin: below the eye point, level with the hood's top.

    The far edge follows three lens planes 600 mm from the eye, turned by the toe angle of lenses
    517 mm wide; the near edge is an arc with a padded roll.
    """
    toe = 2 * np.arctan(517 / 2 / 600)
    azimuth = np.linspace(-1.46 * toe, 1.46 * toe, 121)
    unit = np.clip(np.round(azimuth / toe), -1, 1)
    far = 597 / np.cos(azimuth - unit * toe)  # 3 mm before the lens planes
    near = np.full_like(azimuth, 516.0)

    # go round the near edge, from its top to its underside
    roll = np.radians(np.linspace(90, 270, 13))
    reach = np.stack([far, *(near + 11 * np.cos(r) for r in roll), far], axis=1)
    height = np.concatenate([[0], 11 * np.sin(roll) - 11, [-22]])
    x, y = reach * np.sin(azimuth)[:, None], reach * np.cos(azimuth)[:, None]
    return [loft(np.stack([x, y, np.broadcast_to(height, x.shape)], axis=-1))]


def canopy_bow() -> list[Trimesh]:
    """Make a canopy's front bow, two posts joined by an arch; origin: midway between their feet."""
    rise = np.linspace(0, 560, 30)
    arch = np.radians(np.linspace(0, 180, 61)[1:-1])
    path = [
        np.stack([np.full_like(rise, 412.0), 0 * rise, rise], axis=1),
        np.stack([412 * np.cos(arch), 0 * arch, 560 + 190 * np.sin(arch)], axis=1),
        np.stack([np.full_like(rise, -412.0), 0 * rise, rise[::-1]], axis=1),
    ]
    return [tube(np.concatenate(path), 14, around=28)]


MESHES: dict[str, Callable[[], list[Trimesh]]] = {
    "control_wheel.stl": control_wheel,
    "steering_wheel.stl": steering_wheel,
    "control_stick.stl": control_stick,
    "throttle_quadrant.stl": throttle_quadrant,
    "pilot_seat.stl": pilot_seat,
    "glare_shield.stl": glare_shield,
    "canopy_bow.stl": canopy_bow,
}

# ---- picture ----


def bay_and_hills(width: int = 5760, height: int = 1080) -> Image.Image:
    """Return an invented bay at evening, for a picture over three 16:9 screens side by side."""
    horizon = height * 0.52
    rows = np.arange(height)[:, None]
    sky = np.clip(rows / horizon, 0, 1)
    water = np.clip((rows - horizon) / (height - horizon), 0, 1)
    above = (1 - sky) * [62, 108, 160] + sky * [246, 214, 170]
    below = (1 - water) * [196, 184, 168] + water * [26, 58, 84]
    column = np.where(rows < horizon, above, below)

    image = Image.fromarray(np.repeat(column[:, None], width, axis=1).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    sun_x, sun_y, sun_radius = width * 0.58, horizon - height * 0.13, height * 0.045
    draw.circle((sun_x, sun_y), sun_radius, fill=(255, 244, 214))
    _ridges(draw, width, height, horizon)

    # let the sun glitter on the water
    for number in range(14):
        y = horizon + height * (0.012 + 0.002 * number**1.95)
        half = sun_radius * (1 + 0.16 * number * (1 + number % 3))
        draw.rectangle([sun_x - half, y, sun_x + half, y + 2 + number // 2], fill=(236, 206, 164))

    _jetty(draw, width * 0.2, horizon + height * 0.2, height / 540)
    return image


def _ridges(draw: ImageDraw.ImageDraw, width: int, height: int, horizon: float) -> None:
    """Draw three ranges of hills, the farthest first and palest."""
    x = np.arange(-2, width + 3)
    turn = x / width * 2 * np.pi
    for share, waves, phase, colour in (
        (0.075, 3, 0.4, (150, 152, 164)),
        (0.055, 5, 2.1, (104, 118, 128)),
        (0.035, 8, 4.0, (58, 80, 76)),
    ):
        wave = np.sin(waves * turn + phase) + 0.5 * np.sin(2.7 * waves * turn + 2 * phase)
        wave += 0.12 * np.sin(19 * waves * turn)
        top = horizon - height * share * (1.1 + wave / 1.5)
        outline = [
            (-2, horizon + 2),
            *zip(x.tolist(), top.tolist(), strict=True),
            (width + 2, horizon + 2),
        ]
        draw.polygon(outline, fill=colour)


def _jetty(draw: ImageDraw.ImageDraw, x: float, y: float, scale: float) -> None:
    """Draw a landing stage with a hut, so that there is something near."""
    dark = (40, 36, 34)
    planks = (92, 76, 62)

    def shape(colour: tuple[int, int, int], *points: tuple[float, float]) -> None:
        draw.polygon([(x + scale * right, y + scale * down) for right, down in points], fill=colour)

    for post in range(-320, -40, 62):
        shape(dark, (post, 8), (post + 7, 8), (post + 7, 46), (post, 46))
    shape(planks, (-330, 12), (20, 0), (20, 8), (-330, 28))
    shape((150, 62, 48), (40, -64), (130, -64), (130, 0), (40, 0))
    shape(dark, (28, -64), (85, -104), (142, -64))
    shape((228, 206, 160), (74, -44), (96, -44), (96, 0), (74, 0))
    shape(planks, (20, 0), (150, 0), (150, 8), (20, 8))


def main() -> None:
    """Write every mesh and the picture into the folder above."""
    for name, make in MESHES.items():
        solid = trimesh.util.concatenate(make())
        (FOLDER / name).write_bytes(trimesh.exchange.stl.export_stl(solid))
        print(f"{name}: {len(solid.faces)} triangles")
    bay_and_hills().save(FOLDER / "bay_and_hills.png", optimize=True)
    print("bay_and_hills.png")


if __name__ == "__main__":
    main()
