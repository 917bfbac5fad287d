"""The desktop window: the rig in 3D, what both eyes see, and controls that move the head.

One loop takes what keys and mouse ask for and draws what has changed. One thread beside it casts
the pictures, always for the newest state, so that nothing queues up: fast ones while the head
moves, full ones at rest. A second one computes the numbers, a little later.
"""

import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass

from seamsight.scene.errors import RigError, SeamsightError
from seamsight.scene.files import Picture
from seamsight.scene.rig_file import read_rig
from seamsight.viewer.live.controls import Texts, controls_picture, ground_picture
from seamsight.viewer.live.head_room import Found, RoomFinder, room_words
from seamsight.viewer.live.plotting import Panel, on_screen
from seamsight.viewer.live.preview import FileWatch, Preview, key_lines
from seamsight.viewer.live.saving import save_picture
from seamsight.viewer.live.stage import ROOM_LEGEND, STAGE_LEGEND, Stage
from seamsight.viewer.live.state import LiveState
from seamsight.viewer.live.steering import Steering
from seamsight.viewer.live.window_layout import NATURAL_HEIGHT, NATURAL_WIDTH, Box, laid_out

REST = 0.12  # s without a move until the full picture
MEASURE = 0.3  # s without a move until the numbers are computed
# of the time may go into drawing the rig while the head moves; the eyes' pictures come first
STAGE_SHARE = 0.06
WATCH_PAUSE = 0.5  # s between two checks whether the rig file was saved
IDLE = 0.004  # s of sleep when there is nothing to do
NEARER = 1 / 1.1  # times the distance to the rig in 3D, a notch of the wheel
GROUND, STAGE, LEFT, RIGHT, CONTROLS = PANES = range(5)  # the plotter's renderers, from the back


@dataclass(frozen=True)
class Casting:
    """Both eyes' pictures of a state, on their way."""

    state: LiveState
    moving: bool
    pictures: Future[tuple[Picture, Picture]]


@dataclass(frozen=True)
class Measuring:
    """The numbers of a state, on their way."""

    state: LiveState
    lines: Future[list[str]]


class Window:
    """A window on a rig; `run` shows it until it is closed.

    Parameters
    ----------
    preview : Preview
    watch : FileWatch
        On the rig file, which is read again whenever it is saved.
    state : LiveState
        Where the head is at first, and whether the lenses are in.
    head_name : str
        Of the head that is there.
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
        head_name: str,
        size: tuple[int, int] | None,
    ) -> None:
        self._watch = watch
        self._preview = preview
        self._steering = Steering(state, head_name, preview.rig.heads())
        self._closed = False
        self._message = ""
        self._alert = False
        self._problems: list[str] = []  # of the rig file as saved

        # Cast the first pictures at once: it goes on while the window opens.
        self._caster = ThreadPoolExecutor(1, thread_name_prefix="seamsight pictures")
        self._measurer = ThreadPoolExecutor(1, thread_name_prefix="seamsight numbers")
        self._finder = RoomFinder()
        self._room = Found(None, ended=True)
        self._casting: Casting | None = None
        self._measuring: Measuring | None = None
        self._cast(moving=False)

        # Remember what is there: pictures, numbers, the rig in 3D, and when what was done.
        self._drawn: LiveState | None = None
        self._is_full = False
        self._measured: LiveState | None = None
        self._lines: list[str] = []
        self._stage: Stage | None = None  # comes after the first pictures
        self._staged: Preview | None = None
        self._moved_at = 0.0
        self._checked_at = 0.0
        self._stage_due = 0.0
        self._stale = set(PANES)

        # Open the window.
        usual = (NATURAL_WIDTH, NATURAL_HEIGHT)
        self._plotter = on_screen(size, usual, f"{preview.rig.name} – Seamsight", len(PANES))
        plain = (GROUND, LEFT, RIGHT, CONTROLS)
        self._panels = {pane: Panel(self._plotter, pane) for pane in plain}
        self._arrange()
        self._listen()

    def run(self) -> None:
        """Show the window until its user closes it."""
        try:
            while not self._closed:
                self._plotter.iren.process_events()
                self._guarded(self._advance)
        finally:
            self._finder.close()
            for worker in (self._caster, self._measurer):
                worker.shutdown(wait=False, cancel_futures=True)
            self._plotter.close()

    # ---- what keys and mouse ask for ----

    def _listen(self) -> None:
        interactor = self._plotter.iren.interactor
        steering = self._steering
        answers: dict[str, Callable[[], None]] = {
            "KeyPressEvent": lambda: self._do_key(interactor.GetKeySym().lower()),
            "LeftButtonPressEvent": self._press,
            "MouseMoveEvent": lambda: steering.drag(*self._pointer(), self._layout),
            "LeftButtonReleaseEvent": steering.release,
            "MouseWheelForwardEvent": lambda: steering.scale_distance(NEARER),
            "MouseWheelBackwardEvent": lambda: steering.scale_distance(1 / NEARER),
            "ExitEvent": self._quit,
        }
        for event, answer in answers.items():
            interactor.AddObserver(event, lambda *_, answer=answer: self._steered(answer))
        self._plotter.render_window.AddObserver(
            "WindowResizeEvent", lambda *_: self._guarded(self._arrange)
        )

    def _steered(self, answer: Callable[[], None]) -> None:
        """Answer a key or the mouse, and note what is to be drawn again."""
        steering = self._steering
        before = steering.state
        head_name = steering.head_name
        orbit = steering.orbit
        self._guarded(answer)
        if steering.state != before:
            self._moved_at = time.monotonic()
            self._finder.pause()
            if not self._alert:
                self._say("")
        if (steering.state, steering.head_name) != (before, head_name):
            self._stale.add(CONTROLS)
        if steering.state.room != before.room:
            self._stale |= {GROUND, STAGE}
        if steering.orbit != orbit:
            self._stale.add(STAGE)

    def _guarded(self, work: Callable[[], None]) -> None:
        """Do some work; what goes wrong in it is told in the window, and does not end it."""
        try:
            work()
        except Exception as error:
            expected = isinstance(error, SeamsightError | OSError)
            self._say(str(error) if expected else f"{type(error).__name__}: {error}", alert=True)

    def _press(self) -> None:
        button = self._steering.press(*self._pointer(), self._layout)
        if button:
            self._do_key(button)

    def _do_key(self, key: str) -> None:
        if key == "p":
            self._say(f"Saved as {save_picture(self._preview, self._steering.state)}")
        elif key == "q":
            self._quit()
        else:
            self._steering.key(key)

    def _pointer(self) -> tuple[int, int]:
        x, y = self._plotter.iren.interactor.GetEventPosition()
        return x, self._layout.height - 1 - y

    def _quit(self) -> None:
        self._closed = True

    # ---- what is drawn ----

    def _advance(self) -> None:
        """Do the next thing that is to be done, or rest."""
        self._reload_if_saved()
        self._take_numbers()
        self._take_pictures()
        self._take_room()
        self._start_work()
        if self._drawn and self._staged is not self._preview:
            self._staged = self._preview
            self._set_stage()

        # The controls alone can wait: they are soon drawn with the pictures.
        if self._stale - ({CONTROLS} if self._casting else set()):
            self._draw()
        elif self._casting:
            wait([self._casting.pictures], timeout=4 * IDLE)
        else:
            time.sleep(IDLE)

    def _start_work(self) -> None:
        """Have pictures cast or numbers computed, where they are of another state or not full."""
        state = self._steering.state
        rested = time.monotonic() - self._moved_at
        may_measure = self._measuring is None and self._is_full and rested > MEASURE
        if self._casting is None and self._drawn != state:
            self._cast(moving=True)
        elif self._casting is None and not self._is_full and rested > REST:
            self._cast(moving=False)
        elif may_measure and self._measured != state:
            self._measure()

    def _cast(self, *, moving: bool) -> None:
        state = self._steering.state
        pictures = self._caster.submit(self._preview.pictures, state, moving=moving)
        self._casting = Casting(state, moving, pictures)

    def _take_pictures(self) -> None:
        """Show the pictures that were cast, if they are ready."""
        casting = self._casting
        if casting is None or not casting.pictures.done():
            return
        self._casting = None

        # Note what they make stale, the ground where its texts hold no longer.
        before = self._drawn
        state = casting.state
        other_colours = before is None or before.overlap != state.overlap
        if other_colours or self._measured == before != state:
            self._stale.add(GROUND)
        if not casting.moving or time.monotonic() > self._stage_due:
            self._stale.add(STAGE)
        self._stale.add(CONTROLS)

        # Note them as drawn first, so that what fails is not tried for ever.
        self._drawn = state
        self._is_full = not casting.moving
        for pane, picture in zip((LEFT, RIGHT), casting.pictures.result(), strict=True):
            self._panels[pane].show(picture)
            self._stale.add(pane)
        if self._alert:
            self._say("")

    def _take_room(self) -> None:
        """Show the head room as far as it is found, if it is asked for."""
        state = self._steering.state
        room = Found(None, ended=True)
        if state.room:
            room = self._finder.found(self._preview, state)
        if room != self._room:
            self._room = room
            self._stale |= {GROUND, STAGE}

    def _draw(self) -> None:
        """Draw again those panes that have changed; what the others show stays."""
        begun = time.monotonic()
        stale = self._stale
        self._stale = set()
        steering = self._steering
        if GROUND in stale:
            self._panels[GROUND].show(ground_picture(self._layout, self._texts()))
            stale = set(PANES)  # it lies behind all others
        if CONTROLS in stale:
            controls = controls_picture(self._layout, steering.state, steering.buttons())
            self._panels[CONTROLS].show(controls)
        if STAGE in stale and self._stage:
            lenses = steering.state.lenses
            self._stage.show(self._preview.eyes(steering.state), lenses=lenses)
            self._stage.show_room(self._room.room)
            self._stage.place_camera(steering.orbit)

        for pane, renderer in enumerate(self._plotter.renderers):
            renderer.SetDraw(pane in stale)
        self._plotter.render()
        if STAGE in stale:
            now = time.monotonic()
            self._stage_due = now + (now - begun) / STAGE_SHARE

    def _texts(self) -> Texts:
        state = self._steering.state
        is_measured = self._measured == state
        heading = "Measuring …"
        if is_measured:
            heading = f"{'Numbers' if self._lines else 'No numbers'} at this head position"
        if self._problems:
            heading = "The saved rig file has errors. Still showing the last valid version:"
        return Texts(
            title=self._preview.rig.name,
            stage_legend=STAGE_LEGEND | (ROOM_LEGEND if state.room else {}),
            overlap=state.overlap,
            heading=heading,
            lines=self._problems or [*self._room_lines(), *self._lines],
            fresh=is_measured or bool(self._problems),
            broken=bool(self._problems),
            message=self._message,
            alert=self._alert,
        )

    def _room_lines(self) -> list[str]:
        state = self._steering.state
        return [room_words(self._room, self._preview.eyes(state).mid)] if state.room else []

    def _say(self, message: str, *, alert: bool = False) -> None:
        if (message, alert) != (self._message, self._alert):
            self._message = message
            self._alert = alert
            self._stale.add(GROUND)

    def _arrange(self) -> None:
        """Lay everything out in the window's present size."""
        width, height = self._plotter.render_window.GetSize()
        self._layout = layout = laid_out(width, height, self._preview.rig)
        boxes = (Box(0, 0, width, height), layout.stage, *layout.eyes, layout.controls)
        for renderer, box in zip(self._plotter.renderers, boxes, strict=True):
            left, right = (min(1.0, max(0.0, x / width)) for x in (box.left, box.right))
            low, high = (min(1.0, max(0.0, 1 - y / height)) for y in (box.bottom, box.top))
            renderer.SetViewport(left, low, right, high)
        self._stale = set(PANES)

    def _set_stage(self) -> None:
        self._plotter.subplot(0, STAGE)
        self._stage = Stage(self._plotter, self._preview.assembly(LiveState()))
        self._stale.add(STAGE)

    # ---- the numbers, and the file ----

    def _measure(self) -> None:
        preview = self._preview
        state = self._steering.state
        lines = self._measurer.submit(lambda: key_lines(preview.numbers(state)))
        self._measuring = Measuring(state, lines)

    def _take_numbers(self) -> None:
        measuring = self._measuring
        if measuring is None or not measuring.lines.done():
            return
        self._measuring = None
        if measuring.state == self._steering.state:
            self._measured = measuring.state
            self._stale.add(GROUND)
            self._lines = []  # stays where there are none
            self._lines = measuring.lines.result()

    def _reload_if_saved(self) -> None:
        """Read the rig file again if it was saved, and keep the rig as it is if that cannot be."""
        now = time.monotonic()
        if now - self._checked_at < WATCH_PAUSE:
            return
        self._checked_at = now
        if not self._watch.is_saved():
            return

        self._stale.add(GROUND)
        rig = self._preview.rig
        try:
            preview = Preview(read_rig(rig.file, rig.changes))
        except RigError as error:
            self._problems = RigError(rig.file.name, error.problems).lines()
            return

        # Begin anew with the rig.
        self._problems = []
        self._preview = preview
        self._steering.heads = preview.rig.heads()
        self._drawn = None
        self._measured = None
        self._casting = None
        self._measuring = None
        self._arrange()
        self._say("Rig file reloaded.")
