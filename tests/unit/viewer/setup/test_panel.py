"""Pixels behind a panel's holes, against rays through them and by hand."""

import numpy as np
import pytest

from seamsight.scene import ChoiceError, build
from seamsight.scene.frames import inverse, move
from seamsight.scene.layout import rig_from_pose
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.setup.desktop import Rectangle
from seamsight.viewer.setup.panel import panel_of, pixels_of

FINE = 300  # rays along each side of a hole
ROUND = {"shape": "circle", "at": [-60, 20], "diameter": 56, "name": "round"}
SQUARE = {"shape": "rect", "at": [50, -10], "size": [90, 60], "radius": 8}
HEADS = [{"name": "aside", "offset": [-90, 40, 30]}, {"name": "low", "offset": [10, 60, -120]}]
LENS = {
    "screen": "screen",
    "focal_length": 300,
    "distance": 40,
    "width": 190,
    "height": 130,
    "frame": {"width": 150, "depth": 1},  # so that no ray passes beside it
}


@pytest.fixture
def panel_rig(rig_of, screen_at):
    """Return a function that gives a plate with holes, tilted, 500 ahead, and a screen behind."""

    def make(holes=(ROUND, SQUARE), lens=None, behind=7.0, plate=None, **keys):
        table = {
            "name": "panel",
            "size": [300, 200],
            "thickness": 4,
            "centre": [20, 500, -150],
            "pitch": -14,
            "yaw": 3,
            "holes": list(holes),
        }
        screen = {"width": 200, "height": 140, "pixels": [500, 350], "shows": "card"}
        screen |= {"on": "panel", "centre": [0, behind, 0]} | keys
        return rig_of(
            plate=[table | (plate or {})],
            screen=[screen_at(**screen)] if "gone" not in keys else [],
            lens=[lens] if lens else [],
            head=HEADS,
        )

    return make


def seen_by_rays(assembly, hole, eye):
    """Return the pixels (left, top, right, bottom) of the screen that rays through a hole reach."""
    # rays through a fine grid over the front's rim, in the plate's own frame
    rig_from_plate = rig_from_pose(assembly.rig.plate[0])
    flat = move(inverse(rig_from_plate), hole.front)
    low, high = flat.min(axis=0), flat.max(axis=0)
    across, up = (np.linspace(low[axis], high[axis], FINE) for axis in (0, 2))
    grid = np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 2)
    points = move(rig_from_plate, np.insert(grid, 1, low[1], axis=1))
    ways = (points - eye) / np.linalg.norm(points - eye, axis=1, keepdims=True)
    ends = trace(assembly, np.broadcast_to(eye, ways.shape), ways)

    screen = assembly.screens[0]
    landed = ends.points[ends.parts == assembly.part_id(screen.name)]
    inside = move(inverse(screen.rig_from_screen), landed)[:, [0, 2]]
    places = (inside / screen.size * (1, -1) + 0.5) * screen.display.pixels
    return np.concatenate([np.floor(places.min(axis=0)), np.ceil(places.max(axis=0))])


def edges(rectangle):
    return [rectangle.x, rectangle.y, rectangle.right, rectangle.bottom]


@pytest.mark.parametrize(
    ("lens", "keys"),
    [
        (None, {}),
        (None, {"bezel": 6, "lip": 3, "behind": 9.0}),
        (None, {"behind": 30.0, "plate": {"thickness": 15}}),
        (LENS, {"behind": 60.0}),
    ],
)
def test_rectangles_are_those_of_rays(panel_rig, lens, keys):
    assembly = build(panel_rig(lens=lens, **keys))
    found = panel_of(assembly)
    assert [view.hole.name for view in found.views] == ["round", "hole 2"]
    compared = 0
    for view in found.views:
        for name, sight in view.sights.items():
            eyes = eyes_of(assembly.rig, assembly.rig.heads()[name])
            for eye in ("left", "right"):
                rectangle = pixels_of(view.screen, getattr(sight, eye))
                rays = seen_by_rays(assembly, view.hole, getattr(eyes, eye))
                np.testing.assert_allclose(edges(rectangle), rays, atol=1.0)
                compared += 1
    assert compared == 12


@pytest.fixture
def square_on(panel_rig):
    """Return a function that gives the view through a square hole straight ahead, 500 away."""

    def make(**keys):
        hole = {"shape": "rect", "at": [0, 0], "size": [60, 60]}
        plate = {"centre": [0, 500, 0], "pitch": 0, "yaw": 0, "thickness": 4}
        keys = {"pixels": [1000, 700]} | keys
        [view] = panel_of(build(panel_rig([hole], plate=plate, **keys))).views
        return view

    return make


def test_square_on_by_hand(square_on):
    # front 498, back 502, screen 507: from the left eye, 31.5 to the left, the rims' left edges
    # show at -31.5 + 1.5 x 507 / 498 and / 502, the right ones at -31.5 + 61.5 x the same; the
    # wall at the left edge begins at the front, that at the right one ends at the back
    view = square_on()
    left = -31.5 + 1.5 * 507 / 498, -31.5 + 61.5 * 507 / 502
    assert view.stand_off == pytest.approx(5)
    rectangle = pixels_of(view.screen, view.sights["design"].left)
    assert [rectangle.x, rectangle.right] == [
        np.floor(500 + 5 * left[0]),
        np.ceil(500 + 5 * left[1]),
    ]
    # both eyes mirror each other, and either sees to the outer of both
    assert view.window.x == 1000 - view.window.right == 500 - np.ceil(5 * left[1])
    assert view.filled == pytest.approx(1)
    assert view.past("design") == 0
    assert view.past("aside") > 0
    assert view.everywhere.x <= view.window.x


def test_what_distance_and_thickness_hide_by_hand(square_on):
    # of the 60 mm straight behind: from the left eye the back's rim shows from
    # -31.5 + 1.5 x 507 / 502 on, the front's from -31.5 + 1.5 x 507 / 498 on; both go beyond it
    # on the other side, above and below
    hidden = square_on().hidden["left"]
    back, front = (-31.5 + 1.5 * 507 / at + 30 for at in (502, 498))
    assert hidden["stand_off"] == pytest.approx(back / 60, abs=1e-6)
    assert hidden["thickness"] == pytest.approx((front - back) / 60, abs=1e-6)


def test_a_screen_that_does_not_fill_its_hole(square_on):
    # 40 of about 61 mm across
    assert square_on(width=40, pixels=[200, 700]).filled == pytest.approx(40 / 61, abs=0.01)


def test_holes_without_a_screen(panel_rig):
    beside = {"shape": "circle", "at": [-135, 85], "diameter": 12, "name": "switch"}
    found = panel_of(build(panel_rig([ROUND, beside])))
    assert [view.hole.name for view in found.views] == ["round"]
    assert [hole.name for hole in found.others] == ["switch"]
    with pytest.raises(ChoiceError, match="no hole of this rig has a screen behind it"):
        panel_of(build(panel_rig([beside])))
    with pytest.raises(ChoiceError, match="no plate of this rig has a hole"):
        panel_of(build(panel_rig([])))


def test_windows_on_the_desktop(panel_rig):
    output = {"name": "1", "link": "HDMI 2.0", "screens": ["screen"], "desktop": [1920, 100]}
    rig = panel_rig().model_copy(update={"output": (_output(output),)})
    view = panel_of(build(rig)).views[0]
    window = view.window
    assert view.on_desktop == Rectangle(
        window.x + 1920, window.y + 100, window.width, window.height
    )
    # fed with half its pixels, everything there is half as large
    half = output | {"pixels": [250, 175]}
    rig = panel_rig().model_copy(update={"output": (_output(half),)})
    place = panel_of(build(rig)).views[0].on_desktop
    assert place.x == pytest.approx(1920 + window.x / 2, abs=0.5)
    assert place.bottom == pytest.approx(100 + window.bottom / 2, abs=0.5)


def _output(table):
    from seamsight.scene.outputs import Output

    return Output.model_validate(table)
