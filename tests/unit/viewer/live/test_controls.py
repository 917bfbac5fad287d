"""What the window draws itself."""

import numpy as np

from seamsight.viewer.live.controls import controls_picture
from seamsight.viewer.live.state import HEAD_AXES, LiveState
from seamsight.viewer.live.window_layout import Button, WindowLayout

BUTTONS = [Button("l", "lenses in", "L", True), Button("p", "save", "P")]


def test_a_knob_moves_with_its_value():
    layout = WindowLayout(1440, 900, 8)
    there, back = (
        controls_picture(layout, LiveState(turn=turn), BUTTONS) for turn in (40.0, -40.0)
    )
    assert there.shape == (layout.controls.height, layout.controls.width, 3)
    changed = np.nonzero((there != back).any(axis=-1))
    slider = layout.slider([axis.name for axis in HEAD_AXES].index("turn"))
    assert changed[1].min() + layout.controls.left >= slider.less.left
    assert (
        abs(changed[0].mean() + layout.controls.top - slider.track.top - slider.track.height / 2)
        < 3
    )
