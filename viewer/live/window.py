"""The desktop window: the rig in 3D, what both eyes see, and controls that move the head.

One loop takes what keys and mouse ask for and shows what there is to show. One thread beside it casts the pictures,
always for the newest state, so that nothing queues up: fast ones while the head moves, full ones at rest. A second one
computes the numbers, a little later.
"""

import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import replace

from seamsight.scene.errors import RigError, SeamsightError
from seamsight.scene.files import Picture
from seamsight.scene.rig_file import read_rig
from seamsight.viewer.live.controls import (
    HIGH,
    KEYS,
    WIDE,
    Box,
    Button,
    Texts,
    controls_picture,
    laid_out,
    sheet_picture,
)
from seamsight.viewer.live.preview import FileWatch, Preview, key_lines
from seamsight.viewer.live.saving import save_picture
from seamsight.viewer.live.stage import STAGE_KEY, Panel, Stage, on_screen
from seamsight.viewer.live.state import HEAD_AXES, HeadAxis, LiveState, Orbit, state_at

REST = 0.12  # s without a move until the full picture
MEASURE = 0.3  # s without a move until the numbers are computed
STAGE_SHARE = 0.06  # of the time may go into drawing the rig while the head moves; the eyes' pictures come first
WATCH_PAUSE = 0.5  # s between two checks whether the rig file was saved
IDLE = 0.004  # s of sleep when there is nothing to do
SHEET, SCENE, LEFT, RIGHT, CONTROLS = PARTS = range(5)  # the window's renderers, from the back


class Window:
    """A window on a rig; `run` shows it until it is closed.

    Parameters
    ----------
    preview : Preview
    watch : FileWatch
        On the rig file, which is read again whenever it is saved.
    state : LiveState
        Where the head is at first, and whether the lenses are in.
    head : str
        The name of that head.
    size : (int, int) or None
        Pixels of the window; None: as the screen allows.

    Raises
    ------
    OSError
        When no window can be opened.
    FileError
        When a picture file of the rig cannot be read.
    """

    def __init__(
        self,
        preview: Preview,
        watch: FileWatch,
        state: LiveState,
        head: str,
        size: tuple[int, int] | None,
    ) -> None:
        self._watch = watch
        self._preview, self._state, self._head = preview, state, head
        self._start = (state, head)
        self._caster = ThreadPoolExecutor(1, thread_name_prefix="seamsight pictures")
        self._measurer = ThreadPoolExecutor(1, thread_name_prefix="seamsight numbers")
        self._casting: tuple[LiveState, bool, Future[tuple[Picture, Picture]]] | None = None
        self._measuring: tuple[LiveState, Future[list[str]]] | None = None
        self._drawn: LiveState | None = None
        self._is_full = False
        self._measured: LiveState | None = None
        self._cast(moving=False)  # at once: it goes on while the window opens
        self._orbit = Orbit()
        self._plotter = on_screen(size, (WIDE, HIGH), f"{preview.rig.name} – Seamsight", len(PARTS))
        self._panels = {part: Panel(self._plotter, part) for part in (SHEET, LEFT, RIGHT, CONTROLS)}
        self._grip: int | str | None = None  # the slider or "orbit" that the mouse holds
        self._mouse = (0, 0)
        self._closed = False
        self._message, self._alert = "", False
        self._problems: list[str] = []
        self._lines: list[str] = []
        self._moved_at = self._stage_due = self._file_at = 0.0
        self._stale = set(PARTS)
        self._stage: Stage | None = None  # comes after the first pictures
        self._staged: Preview | None = None
        self._arrange()
        self._listen()

    def run(self) -> None:
        """Show the window until its user closes it."""
        try:
            while not self._closed:
                self._plotter.iren.process_events()
                self._guarded(self._advance)
        finally:
            for worker in (self._caster, self._measurer):
                worker.shutdown(wait=False, cancel_futures=True)
            self._plotter.close()

    # what keys and mouse ask for

    def _listen(self) -> None:
        interactor = self._plotter.iren.interactor
        for event, answer in {
            "KeyPressEvent": lambda: self._key(interactor.GetKeySym().lower()),
            "LeftButtonPressEvent": self._press,
            "MouseMoveEvent": self._drag,
            "LeftButtonReleaseEvent": self._release,
            "MouseWheelForwardEvent": lambda: self._come_nearer(1 / 1.1),
            "MouseWheelBackwardEvent": lambda: self._come_nearer(1.1),
            "ExitEvent": self._quit,
        }.items():
            interactor.AddObserver(event, lambda *_, answer=answer: self._guarded(answer))
        self._plotter.render_window.AddObserver(
            "WindowResizeEvent", lambda *_: self._guarded(self._arrange)
        )

    def _guarded(self, work: Callable[[], None]) -> None:
        """Do some work; what goes wrong in it is told in the window, and does not end it."""
        try:
            work()
        except Exception as error:
            told = isinstance(error, SeamsightError | OSError)
            self._say(str(error) if told else f"{type(error).__name__}: {error}", alert=True)

    def _key(self, key: str) -> None:
        actions = self._actions()
        if key in actions:
            actions[key]()
        for axis in HEAD_AXES:
            if key in KEYS[axis.key]:
                self._step(axis, 1 if key == KEYS[axis.key][1] else -1)

    def _actions(self) -> dict[str, Callable[[], None]]:
        return {
            "l": lambda: self._go(replace(self._state, lenses=not self._state.lenses)),
            "o": lambda: self._go(replace(self._state, overlap=not self._state.overlap)),
            "h": self._next_head,
            "r": self._reset,
            "p": self._save_picture,
            "q": self._quit,
        }

    def _buttons(self) -> list[Button]:
        return [
            Button(
                "l", "lenses in" if self._state.lenses else "lenses out", "L", self._state.lenses
            ),
            Button("o", "who sees what", "O", self._state.overlap),
            Button("h", f"head: {self._head}{'' if self._is_at_head() else ', moved'}", "H"),
            Button("r", "start again", "R"),
            Button("p", "save a picture", "P"),
        ]

    def _is_at_head(self) -> bool:
        head = self._preview.rig.heads().get(self._head)
        return head is not None and self._state.is_at(head)

    def _step(self, axis: HeadAxis, way: int) -> None:
        # a head of the rig may be farther out than the sliders go
        here = getattr(self._state, axis.key)
        value = min(max(axis.high, here), max(min(axis.low, here), here + way * axis.step))
        self._go(self._state.moved(axis, value))

    def _press(self) -> None:
        x, y = self._mouse = self._pointer()
        layout = self._layout
        for index, axis in enumerate(HEAD_AXES):
            slider = layout.slider(index)
            if slider.track.grown(layout.letter).holds(x, y):
                self._grip = index
                self._drag()
            for way, box in ((-1, slider.less), (1, slider.more)):
                if box.holds(x, y):
                    self._step(axis, way)
        buttons = self._buttons()
        for button, box in zip(buttons, layout.buttons(buttons), strict=True):
            if box.holds(x, y):
                self._actions()[button.name]()
        if layout.stage.holds(x, y):
            self._grip = "orbit"

    def _drag(self) -> None:
        if self._grip is None:
            return
        (old_x, old_y), (x, y) = self._mouse, self._pointer()
        self._mouse = x, y
        if isinstance(self._grip, int):
            axis = HEAD_AXES[self._grip]
            value = self._layout.slider(self._grip).value_at(axis, x)
            self._go(self._state.moved(axis, value))
        else:
            turn = 180 / self._layout.stage.height
            self._orbit = self._orbit.turned(turn * (old_x - x), turn * (y - old_y))
            self._stale.add(SCENE)

    def _release(self) -> None:
        self._grip = None

    def _come_nearer(self, factor: float) -> None:
        self._orbit = self._orbit.scaled(factor)
        self._stale.add(SCENE)

    def _pointer(self) -> tuple[int, int]:
        x, y = self._plotter.iren.interactor.GetEventPosition()
        return x, self._layout.height - 1 - y

    def _go(self, state: LiveState) -> None:
        """Ask for another state."""
        if state != self._state:
            self._state = state
            self._moved_at = time.monotonic()
            self._stale.add(CONTROLS)
            if not self._alert:
                self._say("")

    def _next_head(self) -> None:
        heads = list(self._preview.rig.heads().values())
        names = [head.name for head in heads]
        head = heads[(names.index(self._head) + 1) % len(heads) if self._head in names else 0]
        self._head = head.name
        self._go(replace(state_at(head, self._state.lenses), overlap=self._state.overlap))
        self._stale.add(CONTROLS)

    def _reset(self) -> None:
        state, self._head = self._start
        self._orbit = Orbit()
        self._go(state)
        self._stale |= {CONTROLS, SCENE}

    def _save_picture(self) -> None:
        self._say(f"saved {save_picture(self._preview, self._state)}")

    def _quit(self) -> None:
        self._closed = True

    # what is shown

    def _advance(self) -> None:
        """Do the next thing that is to be done, or rest."""
        now = time.monotonic()
        if now - self._file_at > WATCH_PAUSE:
            self._file_at = now
            self._reload_if_saved()
        self._take_numbers()
        self._take_pictures()
        rested = now - self._moved_at
        if self._casting is None and self._drawn != self._state:
            self._cast(moving=True)
        elif self._casting is None and not self._is_full and rested > REST:
            self._cast(moving=False)
        elif (
            self._measured != self._state
            and self._measuring is None
            and self._is_full
            and rested > MEASURE
        ):
            self._measure()
        if self._drawn and self._staged is not self._preview:
            self._staged = self._preview
            self._set_stage()
        if not self._stale or (
            self._casting and self._stale == {CONTROLS}
        ):  # which are soon drawn with the pictures
            time.sleep(IDLE) if self._casting is None else wait(
                [self._casting[2]], timeout=4 * IDLE
            )
        else:
            self._draw()

    def _cast(self, *, moving: bool) -> None:
        preview, state = self._preview, self._state
        self._casting = (
            state,
            moving,
            self._caster.submit(lambda: preview.pictures(state, moving=moving)),
        )

    def _take_pictures(self) -> None:
        """Show the pictures that were cast, if they are ready."""
        if self._casting is None or not self._casting[2].done():
            return
        (state, moving, future), self._casting = self._casting, None
        if (
            self._drawn is None
            or state.overlap != self._drawn.overlap
            or self._measured == self._drawn != state
        ):
            self._stale.add(SHEET)  # its texts hold no longer
        self._drawn, self._is_full = (
            state,
            not moving,
        )  # first, so that what fails is not tried for ever
        self._stale.add(CONTROLS)
        if not moving or time.monotonic() > self._stage_due:
            self._stale.add(SCENE)
        for part, picture in zip((LEFT, RIGHT), future.result(), strict=True):
            self._panels[part].show(picture)
            self._stale.add(part)
        if self._alert:
            self._say("")

    def _draw(self) -> None:
        """Draw again those parts of the window that have changed; what the others show stays."""
        begun, stale, self._stale = time.monotonic(), self._stale, set()
        if SHEET in stale:
            self._panels[SHEET].show(sheet_picture(self._layout, self._texts()))
            stale = set(PARTS)  # it lies behind all others
        if CONTROLS in stale:
            self._panels[CONTROLS].show(
                controls_picture(self._layout, self._state, self._buttons())
            )
        if SCENE in stale and self._stage:
            self._stage.show(self._preview.eyes(self._state), lenses=self._state.lenses)
            self._stage.place_camera(self._orbit)
        for part, renderer in enumerate(self._plotter.renderers):
            renderer.SetDraw(part in stale)
        self._plotter.render()
        if SCENE in stale:
            self._stage_due = time.monotonic() + (time.monotonic() - begun) / STAGE_SHARE

    def _texts(self) -> Texts:
        heading = "measuring …"
        if self._measured == self._state:
            heading = "from here" if self._lines else "no numbers from here"
        if self._problems:
            heading = f"{self._preview.rig.file.name} as saved cannot be used; this is still the rig before:"
        return Texts(
            title=self._preview.rig.name,
            stage_key=STAGE_KEY,
            overlap=self._state.overlap,
            heading=heading,
            lines=self._problems or self._lines,
            fresh=self._measured == self._state or bool(self._problems),
            broken=bool(self._problems),
            message=self._message,
            alert=self._alert,
        )

    def _say(self, message: str, *, alert: bool = False) -> None:
        if (message, alert) != (self._message, self._alert):
            self._message, self._alert = message, alert
            self._stale.add(SHEET)

    def _arrange(self) -> None:
        """Lay everything out in the window's present size."""
        width, height = self._plotter.render_window.GetSize()
        self._layout = layout = laid_out(width, height, self._preview.rig)
        boxes = (Box(0, 0, width, height), layout.stage, *layout.eyes, layout.controls)
        for renderer, box in zip(self._plotter.renderers, boxes, strict=True):
            left, right = (min(1.0, max(0.0, x / width)) for x in (box.left, box.left + box.width))
            low, high = (
                min(1.0, max(0.0, 1 - y / height)) for y in (box.top + box.height, box.top)
            )
            renderer.SetViewport(left, low, right, high)
        self._stale = set(PARTS)

    def _set_stage(self) -> None:
        self._plotter.subplot(0, SCENE)
        self._stage = Stage(self._plotter, self._preview.assembly(LiveState()))
        self._stale.add(SCENE)

    # the numbers, and the file

    def _measure(self) -> None:
        preview, state = self._preview, self._state
        self._measuring = state, self._measurer.submit(lambda: key_lines(preview.numbers(state)))

    def _take_numbers(self) -> None:
        if self._measuring is None or not self._measuring[1].done():
            return
        (state, future), self._measuring = self._measuring, None
        if state == self._state:
            self._measured = state
            self._stale.add(SHEET)
            self._lines = []
            self._lines = future.result()

    def _reload_if_saved(self) -> None:
        if not self._watch.is_saved():
            return
        self._stale.add(SHEET)
        try:
            preview = Preview(read_rig(self._preview.rig.file))
        except RigError as error:
            self._problems = RigError(self._preview.rig.file.name, error.problems).lines()
            return
        self._preview, self._problems = preview, []
        self._drawn = self._measured = self._casting = self._measuring = None
        self._arrange()
        self._say("the rig file was saved: this is the new rig")
