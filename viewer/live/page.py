"""The live view as a page in a browser: what its tabs ask for, done in threads that they share.

Rays are cast in one thread, numbers measured in a second. A third tells browsers what they draw
themselves, and draws in 3D; VTK's calls all come from there.
`page_server` carries the messages, `page_messages` says what stands in them.
"""

import asyncio
import io
import time
from collections.abc import AsyncIterator, Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from PIL import Image

from seamsight.scene.errors import RigError
from seamsight.scene.files import Picture
from seamsight.scene.rig import DESIGN, Head, Rig
from seamsight.viewer.eye import Eyes
from seamsight.viewer.live.drawn_parts import lacking
from seamsight.viewer.live.drawn_rig import pilot_facts
from seamsight.viewer.live.head_room import Found, RoomFinder, room_words
from seamsight.viewer.live.live_rig import LiveRig
from seamsight.viewer.live.page_messages import MOST_CHANGES, Request, packed
from seamsight.viewer.live.preview import Preview, key_lines
from seamsight.viewer.live.rig_sliders import slider_facts
from seamsight.viewer.live.room_surface import Surface, surface_of
from seamsight.viewer.live.saving import picture_file
from seamsight.viewer.live.state import HEAD_AXES, ORBIT_LIMITS, LiveState, Orbit, state_at
from seamsight.viewer.pictures.captions import change_words

if TYPE_CHECKING:
    from seamsight.viewer.live.stage import Stage

WATCH_PAUSE = 0.4  # s between two checks whether the rig file was saved
MOST_ACROSS = 1024  # pixels of a screen's picture that the browser draws
STAGE_SIZE = (640, 480)  # pixels of the 3D view
EXPECTED = (OSError, ValueError, MemoryError)  # a pose, a rig or a file beside it

Answer = tuple[dict[str, Any], list[bytes]]  # facts, pictures


class LivePage:
    """A rig file, made ready to be looked at, and the threads that do the work for every tab.

    Parameters
    ----------
    rig : LiveRig
        Which is read again whenever its file is saved.
    start : LiveState
        What a tab shows first.
    sheet_of : function
        From a rig and a head to the HTML of its sheet.
    """

    def __init__(
        self, rig: LiveRig, start: LiveState, sheet_of: Callable[[Rig, Head], str]
    ) -> None:
        self._rig = rig
        self._sheet_of = sheet_of
        self._problems: list[str] = []
        self._start = start
        self._plotter: Any = None
        self._stage: tuple[Preview, Stage] | None = None

        # Share the work between threads.
        self._casting, self._measuring, self._drawing = (ThreadPoolExecutor(1) for _ in range(3))
        self._finder = RoomFinder()
        self._work = {
            "pair": (self._casting, self._pair),
            "sharp": (self._casting, self._sharp_pair),
            "stage": (self._drawing, self._stage_picture),
            "numbers": (self._measuring, self._numbers),
            "save": (self._casting, self._picture_to_save),
            "write": (self._measuring, self._write),
            "save_as": (self._measuring, self._save_as),
            "shapes": (self._drawing, self._shapes),
            "room": (self._drawing, self._room),
        }
        self._version = 0
        self._quick_waiting = 0  # requests for what moves, or being answered
        self._changed = asyncio.Condition()

        # Paint the screens while the browser still loads the page.
        self._casting.submit(lambda: rig.preview(rig.start).pictures(start))

    async def answer(self, request: Request) -> bytes:
        """Return the answer to a request, packed; what is wrong stands in it as `problem`."""
        thread, work = self._work[request.want]
        is_quick = request.want == "pair" or (request.want == "shapes" and request.moving)
        if is_quick:
            thread = self._casting  # where large pictures give way to it
        self._quick_waiting += is_quick
        before = self._rig.reading
        loop = asyncio.get_running_loop()
        try:
            answer = await loop.run_in_executor(thread, _answered, work, request)
        finally:
            self._quick_waiting -= is_quick
        if request.want == "write" and self._rig.reading is not before:
            await self._announce()  # to other tabs
        return answer

    async def sheet(self) -> str:
        """Return the sheet of the rig as its file was read last, as HTML.

        Raises
        ------
        ValueError, OSError or MemoryError
            When it cannot be made, as where the design eye point is inside a part.
        """
        return await asyncio.get_running_loop().run_in_executor(self._casting, self._sheet)

    def _sheet(self) -> str:
        rig = self._rig.preview(self._rig.start).rig
        return self._sheet_of(rig, rig.heads()[DESIGN])

    def introduction(self) -> bytes:
        """Return what a tab must know: the rig, its heads and what is wrong, limits, the start."""
        return packed(self._facts())

    def _facts(self) -> dict[str, Any]:
        reading = self._rig.reading
        preview = self._rig.preview({})
        heads = [
            {"name": name, "state": asdict(state_at(head))}
            for name, head in preview.rig.heads().items()
        ]
        return {
            "kind": "rig",
            "name": preview.rig.name,
            "file": self._rig.file.name,
            "version": reading.version,
            "heads": heads,
            "head_axes": [asdict(axis) for axis in HEAD_AXES],
            "start": asdict(self._start),
            "orbit": asdict(Orbit()),
            "orbit_limits": ORBIT_LIMITS,
            "lenses": preview.assembly(LiveState()).has_lenses,
            "numbers": [slider_facts(number) for number in reading.numbers.values()],
            "changes": self._rig.start,
            "most_changes": MOST_CHANGES,
            "fixed": change_words(preview.rig),
            "problems": self._problems,
        }

    async def introductions(self) -> AsyncIterator[bytes]:
        """Yield the introduction, and a new one each time the rig file was read again."""
        while True:
            version = self._version
            yield self.introduction()
            async with self._changed:
                while self._version == version:
                    await self._changed.wait()

    async def watch(self) -> None:
        """Read the rig file again whenever it was saved and has lain still for a moment."""
        while True:
            await asyncio.sleep(WATCH_PAUSE)
            if self._rig.is_saved():
                await asyncio.get_running_loop().run_in_executor(self._measuring, self._read)
                await self._announce()

    async def _announce(self) -> None:
        async with self._changed:
            self._version += 1
            self._changed.notify_all()

    def close(self) -> None:
        """Let the threads end."""
        self._finder.close()
        self._drawing.submit(self._close_plotter)
        for thread in (self._casting, self._measuring, self._drawing):
            thread.shutdown(wait=False)

    def _read(self) -> None:
        try:
            self._rig.read()
            self._problems = []
        except RigError as error:
            self._problems = error.lines()
        except EXPECTED as error:
            self._problems = [f"{self._rig.file}: {error}"]

    def _pair(self, request: Request) -> Answer:
        if request.moving:
            self._finder.pause()
        preview = self._rig.preview(request.changes)
        pictures = preview.pictures(request.state, moving=request.moving, width=request.width)
        exact = not request.moving
        return {"moving": request.moving}, [_encoded(picture, exact=exact) for picture in pictures]

    def _sharp_pair(self, request: Request) -> Answer:
        """Draw a pair at rest in many pixels; give up as soon as somebody waits for a quick one."""
        preview = self._rig.preview(request.changes)
        pictures: list[bytes] = []
        for picture in preview.each_picture(request.state, width=request.width):
            pictures.append(_encoded(picture, exact=True))
            if self._quick_waiting:
                return {"late": True}, []
        return {"late": False}, pictures

    def _numbers(self, request: Request) -> Answer:
        return {"lines": key_lines(self._rig.preview(request.changes).numbers(request.state))}, []

    def _shapes(self, request: Request) -> Answer:
        if request.moving:
            self._finder.pause()
        reading = self._rig.reading
        preview = self._rig.preview(request.changes)
        assembly = preview.assembly(LiveState())
        shapes, binary = lacking(assembly, request.has, MOST_ACROSS, _drawn, draft=request.moving)
        frame = preview.projection
        return {
            "version": reading.version,
            "moving": request.moving,
            "shapes": shapes,
            "pilot": pilot_facts(preview.rig.pilot),
            "projection": {
                "azimuth": frame.azimuth,
                "elevation": frame.elevation,
                "field": frame.field,
            },
        }, binary

    def _write(self, request: Request) -> Answer:
        self._rig.write(request.changes, request.version)
        self._problems = []
        return {"name": self._rig.file.name, "rig": self._facts()}, []

    def _save_as(self, request: Request) -> Answer:
        path = self._rig.save_as(request.name, request.changes)
        return {"name": path.name, "file": self._rig.file.name}, []

    def _picture_to_save(self, request: Request) -> Answer:
        name = f"{self._rig.file.stem}_eyes.png"
        return {"name": name}, [picture_file(self._rig.preview(request.changes), request.state)]

    def _stage_picture(self, request: Request) -> Answer:
        # VTK's import would hold up the first picture
        from seamsight.viewer.live.plotting import off_screen, snapshot
        from seamsight.viewer.live.stage import Stage

        # Set the stage anew when the rig is another.
        preview = self._rig.preview(request.changes)
        if self._plotter is None:
            self._plotter = off_screen(*STAGE_SIZE)
        if self._stage is None or self._stage[0] is not preview:
            self._stage = preview, Stage(self._plotter, preview.assembly(LiveState()))

        stage = self._stage[1]
        stage.show(preview.eyes(request.state), lenses=request.state.lenses)
        facts = self._show_room(stage, preview, request.state)
        stage.place_camera(request.orbit)
        return facts, [_encoded(snapshot(self._plotter), exact=False)]

    def _show_room(self, stage: "Stage", preview: Preview, state: LiveState) -> dict[str, Any]:
        """Show the head room as far as it is found, or none; return what a tab must know of it."""
        if not state.room:
            stage.show_room(None)
            return {}
        found = self._finder.found(preview, state)
        stage.show_room(found.room)
        return _room_facts(found, preview.eyes(state))

    def _room(self, request: Request) -> Answer:
        """Return the head room as far as it is found, its surface unless the page has it."""
        preview = self._rig.preview(request.changes)
        found = self._finder.found(preview, request.state)
        surface = surface_of(found.room) if found.room else Surface("", [b"", b""])
        facts = _room_facts(found, preview.eyes(request.state)) | {"surface": surface.name}
        return facts, [] if surface.name == request.surface else surface.binary

    def _close_plotter(self) -> None:
        if self._plotter:
            self._plotter.close()


def _room_facts(found: Found, eyes: Eyes) -> dict[str, Any]:
    return {"room": room_words(found, eyes.mid), "refining": not found.ended}


def _answered(work: Callable[[Request], Answer], request: Request) -> bytes:
    """Return a request's answer, packed, with how long it took, ms."""
    start = time.perf_counter()
    pictures: list[bytes] = []
    try:
        facts, pictures = work(request)
    except RigError as error:
        facts = {"problem": "The rig would be wrong.", "lines": error.lines()}
    except EXPECTED as error:
        facts = {"problem": str(error) or "There is not enough memory."}
    # what goes wrong in one view, in a graphics driver above all, leaves the others be
    except Exception as error:
        facts = {"problem": f"{type(error).__name__}: {error}"}

    took = round(1000 * (time.perf_counter() - start), 1)
    return packed({"kind": request.want, "number": request.number, "took": took} | facts, pictures)


def _drawn(picture: Picture) -> bytes:
    return _encoded(picture, exact=False)


def _encoded(picture: Picture, *, exact: bool) -> bytes:
    stream = io.BytesIO()
    if exact:
        Image.fromarray(picture).save(stream, "PNG", compress_level=1)
    else:
        Image.fromarray(picture).save(stream, "JPEG", quality=85)
    return stream.getvalue()
