"""Where the window's parts stand, and what its sliders say."""

import itertools

import pytest

from seamsight.scene.lettering import font
from seamsight.scene.rig import DESIGN
from seamsight.viewer.live.state import HEAD_AXES, LiveState
from seamsight.viewer.live.steering import Steering
from seamsight.viewer.live.window_layout import (
    KEYS,
    NATURAL_HEIGHT,
    NATURAL_WIDTH,
    Button,
    WindowLayout,
)

BUTTONS = [
    Button("l", "lenses in", "L", True),
    Button("h", f"head: {'a long name ' * 9}", "H"),
    Button("p", "save", "P"),
]


def overlap(box, other):
    apart = (
        box.left + box.width <= other.left
        or other.left + other.width <= box.left
        or box.top + box.height <= other.top
        or other.top + other.height <= box.top
    )
    return not apart


@pytest.mark.parametrize(
    "size",
    [(1440, 900), (1366, 768), (900, 600), (640, 400), (2560, 1440), (1920, 600), (900, 1600)],
)
@pytest.mark.parametrize("rows", [4, 11])
def test_nothing_lies_upon_another_or_outside(size, rows):
    layout = WindowLayout(size[0], size[1], rows)
    boxes = [layout.stage, *layout.eyes, layout.controls, layout.numbers, layout.foot]
    assert not any(overlap(*pair) for pair in itertools.combinations(boxes, 2))
    sliders = [layout.slider(index) for index in range(len(HEAD_AXES))]
    small = [
        box for slider in sliders for box in (slider.less, slider.track, slider.more)
    ] + layout.buttons(BUTTONS)
    assert not any(overlap(*pair) for pair in itertools.combinations(small, 2))
    assert all(box.left >= 0 and box.left + box.width <= size[0] for box in boxes)
    assert all(box.top >= 0 and box.top + box.height <= size[1] for box in boxes)
    inside = layout.controls
    assert all(
        inside.left <= box.left and box.left + box.width <= inside.left + inside.width
        for box in small
    )
    assert all(
        inside.top <= box.top and box.top + box.height <= inside.top + inside.height
        for box in small
    )


def test_the_eyes_pictures_keep_their_shape():
    for box in WindowLayout(1920, 1080, 8).eyes:
        assert box.width / box.height == pytest.approx(640 / 360, abs=0.01)
    for box in WindowLayout(NATURAL_WIDTH, NATURAL_HEIGHT, 8).eyes:
        assert (box.width, box.height) == (640, 360)


def test_a_window_of_900_by_600_is_readable_and_its_sliders_can_be_dragged():
    layout = WindowLayout(900, 600, 11)
    assert layout.letter >= 11  # pixels; 9 were too small to read (by eye)
    for index in range(len(HEAD_AXES)):
        assert layout.slider(index).track.width >= 3 * layout.letter
    assert layout.stage.height >= 150 and layout.eyes[0].width >= 400
    buttons = Steering(LiveState(lenses=False), DESIGN, {}).buttons()
    widest = [font(layout.letter).getlength(f"{one.text}  {one.key}") for one in buttons]
    boxes = layout.buttons(buttons)
    assert all(box.width >= width for box, width in zip(boxes, widest, strict=True))


def test_a_slider_gives_back_the_value_whose_place_it_is_at():
    layout = WindowLayout(1440, 900, 8)
    for index, axis in enumerate(HEAD_AXES):
        slider = layout.slider(index)
        step = (axis.high - axis.low) / slider.track.width
        for value in (axis.low, 0.0, 17.0, axis.high):
            assert slider.value_at(axis, slider.place_of(axis, value)) == pytest.approx(
                value, abs=max(0.5, step)
            )
        assert slider.value_at(axis, -1e6) == axis.low
        assert slider.value_at(axis, 1e6) == axis.high


def test_each_way_has_a_key_of_its_own():
    keys = [key for axis in HEAD_AXES for key in KEYS[axis.name]]
    assert len(set(keys)) == 2 * len(HEAD_AXES)
    assert not set(keys) & set("lohrpq")
