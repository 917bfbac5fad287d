"""What the browser draws with its own graphics, held to the ray caster, part by part."""

import base64
import itertools
import math
from dataclasses import dataclass

import numpy as np
import pytest
from random_rigs import random_views

from seamsight.scene import Head, build, read_rig
from seamsight.viewer import eyes_of, head_named, see
from seamsight.viewer.casting.view import picture_of
from seamsight.viewer.live.drawn_rig import drawn_rig, without_loss
from seamsight.viewer.live.walk_in import import_map
from seamsight.viewer.numbers.lens_models import with_lens_model
from seamsight.viewer.pictures.framing import framed_on_screens
from seamsight.viewer.pictures.places import SEEN, seen_by_eyes, tinted
from seamsight.viewer.projection import Projection

WIDTH, HEIGHT = 640, 360
MOST_DIFFER = 0.003
SEED, RANDOM_RIGS = 2026, 50
MOST_APART = 12  # a board may run into a lens: of the line where it does, single pixels are missed
EYES = ("left", "right")
MODULES = ("drawing", "picture_textures", "wide_drawing", "watch", "rig_shapes")
PAGE = """<canvas id="canvas" width="640" height="360"></canvas>
<script type="importmap">{imports}</script>
<script type="module">
import {{ Drawing }} from "drawing";
import {{ WideDrawing }} from "wide_drawing";
import {{ drawable, eyesOf }} from "rig_shapes";
const canvas = document.getElementById("canvas");
const gl = canvas.getContext("webgl2", {{ stencil: true, antialias: false }});
const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
const pixels = () => {{
  const read = new Uint8Array(640 * 360 * 4);
  gl.readPixels(0, 0, 640, 360, gl.RGBA, gl.UNSIGNED_BYTE, read);
  let text = "";
  for (let at = 0; at < read.length; at += 2 ** 15) {{
    text += String.fromCharCode(...read.subarray(at, at + 2 ** 15));
  }}
  return btoa(text);
}};
let drawing, wide;
window.load = async (facts, binary) => {{
  drawing = new Drawing(gl, await drawable(facts, binary.map((part) => bytes(part).buffer)));
  wide = new WideDrawing(drawing);
}};
window.flat = (view, options) => {{
  drawing.draw(view, {{ ...options, area: [0, 0, 640, 360] }});
  return pixels();
}};
window.round = (eye, projection, options) => {{
  wide.draw(eye, projection, [0, 0, 640, 360], options);
  return pixels();
}};
window.eyes = eyesOf;
window.ready = true;
</script>"""
BANK = """
[[bank]]
name = "row"
count = 2
radius = 600
screen = { width = 480, height = 300, pixels = [320, 200], bezel = 12, shows = "world" }
lens = { focal_length = 450, magnification = 1.5, width = 517, height = 330 }
"""
# a second lens between the first and its screen; seen from where rays cross on their way
TWO_LENSES = """
[[screen]]
name = "behind"
width = 300
height = 200
pixels = [300, 200]
bezel = 10
shows = "world"
centre = [0, 900, 0]
[[lens]]
screen = "behind"
focal_length = 500
distance = 150
width = 420
height = 300
[[screen]]
name = "beside"
width = 200
height = 150
pixels = [200, 150]
bezel = 8
shows = "world"
centre = [60, 720, 160]
pitch = 20
[[lens]]
screen = "beside"
focal_length = 260
distance = 140
width = 300
height = 260
[[board]]
name = "wall"
size = [3000, 20, 3000]
centre = [0, 2600, 0]
[[board]]
name = "post"
size = [60, 60, 900]
centre = [-300, 1500, 0]
colour = "#804020"
"""


@pytest.fixture(scope="module")
def canvas(browser):
    """Return a function that loads an assembly into a page that can draw."""
    page = browser.new_page()
    wrong = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda message: wrong.append(message.text))
    page.set_content(PAGE.format(imports=import_map(MODULES)))
    page.wait_for_function("window.ready")

    def load(assembly):
        facts, binary = drawn_rig(assembly, 2048, without_loss)
        page.evaluate(
            "([facts, binary]) => load(facts, binary)",
            [facts, [base64.b64encode(part).decode() for part in binary]],
        )
        return page

    yield load
    page.close()
    # software drivers complain of being read
    assert [text for text in wrong if "GPU stall" not in text] == []


def pixels(text):
    return np.frombuffer(base64.b64decode(text), np.uint8).reshape(HEIGHT, WIDTH, 4)[::-1]


def ids(drawn):
    """Return part ids (h, w), -1 where there is none."""
    return drawn[..., 0].astype(int) + 256 * drawn[..., 1].astype(int) - 1


def drawn_flat(page, eye, projection, **options):
    across = math.tan(math.radians(projection.field / 2))
    axes = zip(("right", "forward", "up"), projection.axes.T.tolist(), strict=True)
    view = {"eye": eye.tolist(), "across": across, "upright": across * HEIGHT / WIDTH, **dict(axes)}
    return pixels(page.evaluate("([view, options]) => flat(view, options)", [view, options]))


def near_edges(parts):
    """Return where (h, w) a part's edge is within 1.5 pixels: beside the eight neighbours."""
    padded = np.pad(parts, 1, "edge")
    around = [
        padded[down : down + HEIGHT, right : right + WIDTH]
        for down in range(3)
        for right in range(3)
    ]
    return np.any([neighbour != parts for neighbour in around], axis=0)


@dataclass(frozen=True)
class Difference:
    """How far a drawn picture is from what rays see."""

    share: float  # of pixels that show another part
    apart: int  # pixels of these that are at no part's edge
    colour: float = 0.0  # codes of 255, in the mean of the pixels that show the same part

    def is_small(self, most_apart=0):
        return self.share <= MOST_DIFFER and self.apart <= most_apart and self.colour <= 2


def difference(page, eye, projection, view):
    """Hold part ids and colours of a flat picture to the caster's."""
    differ = ids(drawn_flat(page, eye, projection, ids=True)) != view.parts
    same = ~differ & (view.parts >= 0)
    off = np.abs(drawn_flat(page, eye, projection)[..., :3].astype(int) - picture_of(view))
    colour = off[same].mean() if same.any() else 0.0
    return Difference(differ.mean(), apart(differ, view.parts), colour)


def apart(differ, parts):
    return int((differ & ~near_edges(parts)).sum())


def assert_alike(page, assembly, eye, projection):
    found = difference(page, eye, projection, see(assembly, eye, projection))
    assert found.is_small(), found


@pytest.mark.parametrize(
    ("text", "place"),
    [
        (BANK, (0, 0, 0)),
        (BANK, (150, -80, 40)),
        (BANK, (-260, 200, 0)),
        (TWO_LENSES, (0, 0, 0)),  # rays cross behind the lens, and in front of the wall
        (TWO_LENSES, (30, 500, 60)),  # nearer than the focal length: they spread
        (TWO_LENSES, (200, 300, 300)),
        (TWO_LENSES, (100, 1300, 100)),  # from behind
    ],
)
def test_every_part_is_drawn_where_rays_meet_it(canvas, write_rig, text, place):
    assembly = build(read_rig(write_rig(text)))
    eye = np.array(place, np.float64)
    turn = 180.0 if place[1] > 1000 else 0.0
    assert_alike(
        canvas(assembly), assembly, eye, Projection("rectilinear", WIDTH, HEIGHT, 90.0, turn)
    )


def test_random_rigs_are_drawn_as_rays_see_them(canvas, tmp_path):
    wrong = []
    for drawn in random_views(SEED, RANDOM_RIGS, tmp_path, WIDTH, HEIGHT):
        found = difference(canvas(drawn.assembly), drawn.eye, drawn.projection, drawn.view)
        if not found.is_small(MOST_APART):
            wrong.append(f"{found}, from {drawn.eye} in {drawn.projection}:\n{drawn.text}")
    assert wrong == []


def test_samples_are_drawn_as_rays_see_them(canvas, sample):
    """Both eyes at five heads, with ideal lenses and, where there are any, without."""
    rig = with_lens_model(read_rig(sample), "ideal")
    assembly = build(rig)
    page = canvas(assembly)
    names = [part.name for part in assembly.parts]
    kinds = (True, False) if assembly.has_lenses else (True,)
    built = {lenses: build(rig, lenses=lenses) for lenses in kinds}
    for head, lenses, eye in itertools.product(five_heads(rig), kinds, EYES):
        projection = Projection("rectilinear", WIDTH, HEIGHT, 90.0, head.turn, head.nod, head.tilt)
        place = eyes_of(rig, head).point(eye)
        view = see(built[lenses], place, projection)
        if lenses and eye == "left":
            found = difference(page, place, projection, view)
        else:  # the page numbers the parts as of the rig with its lenses
            numbers = np.array([names.index(part.name) for part in built[lenses].parts] + [-1])
            parts = numbers[view.parts]
            differ = ids(drawn_flat(page, place, projection, ids=True, lenses=lenses)) != parts
            found = Difference(differ.mean(), apart(differ, parts))
        assert found.is_small(), (head, lenses, eye, found)


def test_a_draft_misses_single_pixels_at_most(canvas, sample_rigs):
    rig = read_rig(sample_rigs / "two_seats.toml")
    assembly = build(rig)
    page = canvas(assembly)
    for head in five_heads(rig):
        projection = Projection("rectilinear", WIDTH, HEIGHT, 90.0, head.turn, head.nod, head.tilt)
        place = eyes_of(rig, head).right
        view = see(assembly, place, projection)
        differ = ids(drawn_flat(page, place, projection, ids=True, draft=True)) != view.parts
        assert Difference(differ.mean(), apart(differ, view.parts)).is_small(MOST_APART)


def five_heads(rig):
    """Return a rig's heads, and some near the design eye point to make up five."""
    heads = list(rig.heads().values())
    random = np.random.default_rng(SEED)
    while len(heads) < 5:
        offset = tuple(random.uniform(-80, 80, 3).tolist())
        turn, nod, tilt = random.uniform(-20, 20, 3).tolist()
        heads.append(Head(name=f"near {len(heads)}", offset=offset, turn=turn, nod=nod, tilt=tilt))
    return heads[:5]


def test_a_wide_picture_is_put_together_from_flat_ones(canvas, sample_rigs):
    rig = read_rig(sample_rigs / "five_upright_screens.toml")
    assembly = build(rig)
    eyes = eyes_of(rig, head_named(rig, "design"))
    projection = framed_on_screens(assembly, eyes, WIDTH, HEIGHT, 1)
    kept = {key: getattr(projection, key) for key in ("azimuth", "elevation", "field")}
    drawn = canvas(assembly).evaluate(
        "([eye, projection, options]) => round(eye, projection, options)",
        [eyes.left.tolist(), kept, {"fineness": 4, "ids": True}],
    )
    view = see(assembly, eyes.left, projection)
    differ = ids(pixels(drawn)) != view.parts
    assert differ.mean() <= MOST_DIFFER
    assert not (differ & ~near_edges(view.parts)).any()


@pytest.mark.parametrize(
    ("name", "head"), [("five_upright_screens", "design"), ("harbour_floatplane", "leaning left")]
)
def test_images_are_tinted_by_who_sees_them(canvas, sample_rigs, name, head):
    rig = read_rig(sample_rigs / f"{name}.toml")
    assembly = build(rig)
    eyes = eyes_of(rig, head_named(rig, head))
    projection = framed_on_screens(
        assembly, eyes_of(rig, head_named(rig, "design")), WIDTH, HEIGHT, 1
    )
    kept = {key: getattr(projection, key) for key in ("azimuth", "elevation", "field")}
    codes = seen_by_eyes(assembly, eyes)
    page = canvas(assembly)
    for eye, other in (("left", "right"), ("right", "left")):
        tints = {"both": SEEN["both eyes"], "own": SEEN[f"{eye} eye only"]}
        options = {
            "fineness": 3,
            "other": eyes.point(other).tolist(),
            "tints": {key: [code / 255 for code in colour] for key, colour in tints.items()},
        }
        drawn = pixels(
            page.evaluate(
                "([eye, projection, options]) => round(eye, projection, options)",
                [eyes.point(eye).tolist(), kept, options],
            )
        )
        view = see(assembly, eyes.point(eye), projection, with_points=True)
        off = np.abs(drawn[..., :3].astype(int) - tinted(view, eye, codes)).max(axis=2)
        # a pixel whose tint is the other one is off by some 40 at least
        assert (off > 20).mean() <= 2 * MOST_DIFFER
        assert off[off <= 20].mean() <= 2


def test_a_picture_may_have_its_middle_aside_as_for_an_eye_of_a_headset(canvas, write_rig):
    page = canvas(build(read_rig(write_rig(BANK))))
    eye = np.zeros(3)
    whole = ids(drawn_flat(page, eye, Projection("rectilinear", WIDTH, HEIGHT, 90.0), ids=True))
    view = {"eye": [0, 0, 0], "right": [1, 0, 0], "forward": [0, 1, 0], "up": [0, 0, 1]}
    quarter = view | {"across": 0.5, "upright": 0.28125, "shift": [0.5, 0.28125]}
    drawn = page.evaluate("([view, options]) => flat(view, options)", [quarter, {"ids": True}])
    upper_right = whole[: HEIGHT // 2, WIDTH // 2 :]
    # of each two by two pixels, one ray passes near that of the whole picture
    assert (ids(pixels(drawn))[1::2, ::2] != upper_right).mean() <= MOST_DIFFER * 4


def test_eyes_are_where_the_program_has_them(canvas, sample_rigs):
    rig = read_rig(sample_rigs / "harbour_floatplane.toml")
    head = head_named(rig, "leaning left").model_copy(update={"nod": 12.0, "tilt": -7.0})
    x, y, z = head.offset
    state = {"x": x, "y": y, "z": z, "turn": head.turn, "nod": head.nod, "tilt": head.tilt}
    pilot = {
        "eyePoint": list(rig.pilot.eye_point),
        "pupilDistance": rig.pilot.pupil_distance,
        "neck": rig.pilot.neck,
    }
    page = canvas(build(rig))
    found = page.evaluate("([pilot, state]) => eyes(pilot, state)", [pilot, state])
    eyes = eyes_of(rig, head)
    for name in ("left", "right", "mid"):
        np.testing.assert_allclose(found[name], eyes.point(name), atol=1e-9)
    for name, axis in zip(("right", "forward", "up"), eyes.axes.T, strict=True):
        np.testing.assert_allclose(found["axes"][name], axis, atol=1e-12)
