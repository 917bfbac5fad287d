"""What keys and mouse make of the window's state."""

import pytest

from seamsight.scene import Head
from seamsight.scene.units import FARTHEST, MOST_DEGREES
from seamsight.viewer.live.state import HEAD_AXES, LiveState, Orbit, state_at
from seamsight.viewer.live.steering import Steering
from seamsight.viewer.live.window_layout import WindowLayout

HEADS = {
    "design": Head(name="design"),
    "far out": Head(name="far out", offset=(500, 0, 0)),
}
LAYOUT = WindowLayout(1440, 900, 8)


@pytest.fixture
def steering():
    return Steering(LiveState(), "design", HEADS)


def middle_of(box):
    return box.left + box.width // 2, box.top + box.height // 2


def test_keys_move_the_head_switch_and_begin_again(steering):
    for key in ("right", "right", "s", "l", "o", "b"):
        steering.key(key)
    shown = LiveState(x=10.0, nod=-1.0, lenses=False, overlap=True, room=True)
    assert steering.state == shown
    steering.key("r")
    assert steering.state == LiveState()


def test_the_next_head_keeps_what_is_shown(steering):
    steering.key("l")
    steering.key("h")
    assert steering.head_name == "far out" and steering.state == LiveState(x=500.0, lenses=False)
    steering.key("h")
    assert steering.head_name == "design"


def test_keys_move_a_head_beyond_the_end_of_its_slider_out_and_back(steering):
    steering.key("h")
    steering.key("right")
    assert steering.state.x == 505.0
    steering.key("left")
    assert steering.state.x == 500.0
    for _ in range(65):
        steering.key("w")
    assert steering.state.nod == 65.0 > HEAD_AXES[4].high


def test_keys_move_no_head_out_of_the_rig_file_s_limits(steering):
    far = Head(name="far", offset=(FARTHEST, 0, 0), turn=MOST_DEGREES)
    steering.state = state_at(far)
    for key in ("right", "d"):
        steering.key(key)
    assert steering.state.head.offset == far.offset and steering.state.turn == far.turn


def test_a_slider_s_end_pulls_no_farther_head_back_until_it_is_dragged(steering):
    steering.key("h")
    slider = LAYOUT.slider(0)
    knob = slider.knob_at(HEAD_AXES[0], steering.state.x)
    x, y = middle_of(knob)
    assert abs(x - slider.track.right) <= 1
    assert steering.press(x, y, LAYOUT) is None
    assert steering.state.x == 500.0
    steering.drag(x - 40, y, LAYOUT)
    assert 0 < steering.state.x < HEAD_AXES[0].high


def test_a_slider_follows_the_mouse_until_it_lets_go(steering):
    axis = HEAD_AXES[0]
    slider = LAYOUT.slider(0)
    x, y = middle_of(slider.track)
    assert steering.press(x, y, LAYOUT) is None
    assert abs(steering.state.x) <= 2
    steering.drag(slider.track.right, y, LAYOUT)
    assert steering.state.x == axis.high
    steering.release()
    steering.drag(x, y, LAYOUT)
    assert steering.state.x == axis.high
    steering.press(*middle_of(slider.less), LAYOUT)
    assert steering.state.x == axis.high - axis.step


def test_a_key_beside_a_slider_is_not_taken_for_its_end(steering):
    slider = LAYOUT.slider(0)
    y = middle_of(slider.more)[1]
    steering.press(slider.more.left, y, LAYOUT)
    assert steering.state.x == HEAD_AXES[0].step


def test_dragging_the_rig_turns_it_and_not_the_head(steering):
    x, y = middle_of(LAYOUT.stage)
    steering.press(x, y, LAYOUT)
    steering.drag(x - LAYOUT.stage.height // 2, y, LAYOUT)
    assert steering.orbit.azimuth == pytest.approx(Orbit().azimuth + 90, abs=1)
    assert steering.orbit.elevation == Orbit().elevation
    assert steering.state == LiveState()


def test_a_button_gives_its_name_and_tells_that_the_head_was_moved(steering):
    buttons = steering.buttons()
    for button, box in zip(buttons, LAYOUT.buttons(buttons), strict=True):
        assert steering.press(*middle_of(box), LAYOUT) == button.name
    assert "head: design" in [button.text for button in buttons]
    steering.key("right")
    assert "head: design, moved" in [button.text for button in steering.buttons()]
