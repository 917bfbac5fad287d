"""What keys and mouse make of the window's state: where the head is, what is shown, from where."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from seamsight.scene.rig import Head
from seamsight.viewer.live.state import HEAD_AXES, HeadAxis, LiveState, Orbit, state_at
from seamsight.viewer.live.window_layout import KEYS, Button, WindowLayout

HALF_TURN = 180.0  # degrees that a drag from top to bottom of the rig in 3D turns it


class Steering:
    """The window's state in its user's hands.

    Attributes
    ----------
    state : LiveState
    head_name : str
        The name of the rig's head from which the state came.
    orbit : Orbit
    heads : mapping from str to Head
        The rig's heads; to be set anew with another rig.
    """

    def __init__(self, state: LiveState, head_name: str, heads: Mapping[str, Head]) -> None:
        self.state = state
        self.head_name = head_name
        self.heads = heads
        self.orbit = Orbit()
        self._start = (state, head_name)
        self._grip: HeadAxis | Literal["orbit"] | None = None  # what the mouse holds
        self._mouse = (0, 0)

    def buttons(self) -> list[Button]:
        """Return the window's buttons as they stand now."""
        lenses = self.state.lenses
        named = self.heads.get(self.head_name)
        moved = "" if named is not None and self.state.is_at(named) else ", moved"
        return [
            Button("l", "lenses in" if lenses else "lenses out", "L", lenses),
            Button("o", "colour by eye", "O", self.state.overlap),
            Button("b", "head room", "B", self.state.room),
            Button("h", f"head: {self.head_name}{moved}", "H"),
            Button("r", "reset view", "R"),
            Button("p", "save picture", "P"),
        ]

    def key(self, key: str) -> None:
        """Do what a key asks for, as the window system names it, or a button of that name."""
        if key == "l":
            self.state = replace(self.state, lenses=not self.state.lenses)
        elif key == "o":
            self.state = replace(self.state, overlap=not self.state.overlap)
        elif key == "b":
            self.state = replace(self.state, room=not self.state.room)
        elif key == "h":
            self._go_to_next_head()
        elif key == "r":
            self.state, self.head_name = self._start
            self.orbit = Orbit()
        for axis in HEAD_AXES:
            if key in KEYS[axis.name]:
                self._step(axis, 1 if key == KEYS[axis.name][1] else -1)

    def press(self, x: int, y: int, layout: WindowLayout) -> str | None:
        """Take hold of what is at a place of the window, or return the name of the button there."""
        self._mouse = x, y
        for index, axis in enumerate(HEAD_AXES):
            slider = layout.slider(index)
            if slider.track.grown(layout.knob_room).holds(x, y):
                self._grip = axis
                # the knob of a head beyond the slider's end must not pull it back when touched
                if not slider.knob_at(axis, getattr(self.state, axis.name)).holds(x, y):
                    self.drag(x, y, layout)
            elif slider.less.holds(x, y):
                self._step(axis, -1)
            elif slider.more.holds(x, y):
                self._step(axis, 1)

        # Hold the rig in 3D, or tell of a button.
        if layout.stage.holds(x, y):
            self._grip = "orbit"
        buttons = self.buttons()
        places = zip(buttons, layout.buttons(buttons), strict=True)
        return next((button.name for button, box in places if box.holds(x, y)), None)

    def drag(self, x: int, y: int, layout: WindowLayout) -> None:
        """Move what the mouse holds to where that is now."""
        old_x, old_y = self._mouse
        self._mouse = x, y
        if self._grip == "orbit":
            degrees = HALF_TURN / layout.stage.height
            self.orbit = self.orbit.turned(degrees * (old_x - x), degrees * (y - old_y))
        elif self._grip:
            slider = layout.slider(HEAD_AXES.index(self._grip))
            self.state = self.state.moved(self._grip, slider.value_at(self._grip, x))

    def release(self) -> None:
        """Let go of what the mouse holds."""
        self._grip = None

    def scale_distance(self, factor: float) -> None:
        """Zoom in to the rig in 3D, or farther away."""
        self.orbit = self.orbit.scaled(factor)

    def _step(self, axis: HeadAxis, way: int) -> None:
        here = getattr(self.state, axis.name)
        self.state = self.state.moved(axis, axis.stepped(here, way))

    def _go_to_next_head(self) -> None:
        names = list(self.heads)
        number = names.index(self.head_name) + 1 if self.head_name in names else 0
        self.head_name = names[number % len(names)]
        there = state_at(self.heads[self.head_name], self.state.lenses)
        self.state = replace(there, overlap=self.state.overlap, room=self.state.room)
