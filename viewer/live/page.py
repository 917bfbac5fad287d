"""The live preview as a page in a browser, for this machine only: nothing is fetched from elsewhere or open to others.

A page keeps a WebSocket open. It asks with one JSON message (`Request`) and gets one binary message: four bytes, the
length of a JSON object, that object, and the pictures whose `sizes` it names. The newest request of a kind is the one
that is answered. Rays are cast in one thread, numbers in a second, VTK's calls all come from a third; every tab shares
them, and the event loop only carries messages.
"""

import asyncio
import contextlib
import io
import json
import socket
import time
from collections.abc import AsyncIterator, Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from importlib import resources
from typing import Annotated, Any, Literal

import uvicorn
from PIL import Image
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError
from starlette.applications import Starlette
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request as HttpRequest
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketClose, WebSocketDisconnect

from seamsight.scene.errors import RigError
from seamsight.scene.files import Picture
from seamsight.scene.rig_file import read_rig
from seamsight.viewer.live.preview import HEAD_AXES, FileWatch, Look, Preview, key_lines, look_of

HERE = "127.0.0.1"
LARGEST_MESSAGE = 4096  # bytes; a request takes some 300
LOOKS_AT_FILE = 0.4  # s between two looks whether the rig file was saved
STAGE_SIZE = (640, 480)  # pixels of the 3D view
FILES = {
    "/": ("page.html", "text/html"),
    "/page.css": ("page.css", "text/css"),
    "/page.js": ("page.js", "text/javascript"),
}
WRONG = (OSError, ValueError, MemoryError)  # a pose, a rig or a file beside it; told on the page

Sheet = Callable[[Preview, Look], bytes]
Want = Literal["pair", "stage", "numbers", "save"]
WANTS: tuple[Want, ...] = ("pair", "stage", "numbers", "save")


def _with_head(look: Look) -> Look:
    """Refuse a look whose head is out of bounds: making the head checks them."""
    _ = look.head
    return look


class Orbit(BaseModel):
    """Where the 3D view is looked at from; see `Stage.orbit`."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
    azimuth: float = Field(-48.0, ge=-360, le=360)
    elevation: float = Field(12.0, ge=-89, le=89)
    distance: float = Field(1.0, ge=0.2, le=3)


class Request(BaseModel):
    """What a page asks for: what it wants, a number that comes back with the answer, and the state to show."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    want: Want
    number: int = Field(ge=0, le=2**53)
    look: Annotated[Look, AfterValidator(_with_head)]
    moving: bool = False
    orbit: Orbit = Orbit()


class LivePage:
    """A rig file, made ready to be looked at, and the threads that do the work for every tab.

    Parameters
    ----------
    watch : FileWatch
        On the rig file, which is read again whenever it is saved.
    preview : Preview
        Of the file's rig.
    start : Look
        What a page shows first.
    sheet : function from a Preview and a Look to bytes
        What "save" gives, a PNG file.
    """

    def __init__(self, watch: FileWatch, preview: Preview, start: Look, sheet: Sheet) -> None:
        self._watch, self._file = watch, watch.file
        self._preview, self._start, self._sheet = preview, start, sheet
        self._problems: list[str] = []
        self._stage: tuple[Preview, Any, Any] | None = None
        self._casting, self._measuring, self._drawing = (ThreadPoolExecutor(1) for _ in range(3))
        self._work = {
            "pair": (self._casting, self._pair),
            "stage": (self._drawing, self._stage_picture),
            "numbers": (self._measuring, self._numbers),
            "save": (self._casting, self._saved),
        }
        self._version, self._changed = 0, asyncio.Condition()
        self._casting.submit(
            preview.pictures, start
        )  # paints the screens while the browser still loads the page

    async def answer(self, request: Request) -> bytes:
        """Return the answer to a request, packed; what is wrong with it or with its look stands in it as `problem`."""
        thread, work = self._work[request.want]
        return await asyncio.get_running_loop().run_in_executor(thread, _answered, work, request)

    def introduction(self) -> bytes:
        """Return what a page must know of the rig: its name, its heads, how far the head may go, what is wrong."""
        rig = self._preview.rig
        heads = [
            {"name": name, "look": asdict(look_of(head))} for name, head in rig.heads().items()
        ]
        return packed(
            {
                "kind": "rig",
                "name": rig.name,
                "heads": heads,
                "reaches": [asdict(reach) for reach in HEAD_AXES],
                "start": asdict(self._start),
                "orbit": Orbit().model_dump(),
                "lenses": any(screen.lens for screen in self._preview.assembly(Look()).screens),
                "problems": self._problems,
            }
        )

    async def introductions(self) -> AsyncIterator[bytes]:
        """Yield the introduction, and a new one each time the rig file was saved and read again."""
        while True:
            version = self._version
            yield self.introduction()
            async with self._changed:
                while self._version == version:
                    await self._changed.wait()

    async def watch(self) -> None:
        """Read the rig file again whenever it was saved and has lain still for a moment."""
        while True:
            await asyncio.sleep(LOOKS_AT_FILE)
            if self._watch.is_saved():
                await asyncio.get_running_loop().run_in_executor(self._measuring, self._read)
                async with self._changed:
                    self._version += 1
                    self._changed.notify_all()

    def close(self) -> None:
        """Let the threads end."""
        self._drawing.submit(self._close_stage)
        for thread in (self._casting, self._measuring, self._drawing):
            thread.shutdown(wait=False)

    def _read(self) -> None:
        try:
            self._preview, self._problems = Preview(read_rig(self._file)), []
        except RigError as error:
            self._problems = error.lines()
        except WRONG as error:
            self._problems = [f"{self._file}: {error}"]

    def _pair(self, request: Request) -> tuple[dict[str, Any], list[bytes]]:
        pictures = self._preview.pictures(request.look, moving=request.moving)
        return {"moving": request.moving}, [
            _encoded(picture, exact=not request.moving) for picture in pictures
        ]

    def _numbers(self, request: Request) -> tuple[dict[str, Any], list[bytes]]:
        return {"lines": key_lines(self._preview.numbers(request.look))}, []

    def _saved(self, request: Request) -> tuple[dict[str, Any], list[bytes]]:
        return {"name": f"{self._file.stem}_eyes.png"}, [self._sheet(self._preview, request.look)]

    def _stage_picture(self, request: Request) -> tuple[dict[str, Any], list[bytes]]:
        from seamsight.viewer.live.stage import (  # VTK's import would hold up the first picture
            Stage,
            off_screen,
            snapshot,
        )

        preview = self._preview
        if self._stage is None or self._stage[0] is not preview:
            plotter = self._stage[1] if self._stage else off_screen(*STAGE_SIZE)
            self._stage = preview, plotter, Stage(plotter, preview.assembly(Look()))
        _, plotter, stage = self._stage
        stage.show(preview.eyes(request.look), lenses=request.look.lenses)
        stage.orbit(**request.orbit.model_dump())
        return {}, [_encoded(snapshot(plotter), exact=False)]

    def _close_stage(self) -> None:
        if self._stage:
            self._stage[1].close()


def listen(port: int) -> socket.socket:
    """Return a socket that listens on this machine only; port 0 takes a free one.

    Raises
    ------
    OSError
        When the port is in use, or not to be had.
    """
    return socket.create_server((HERE, port))


def server_of(studio: LivePage, port: int) -> uvicorn.Server:
    """Return a server of the page, to be run on a socket that listens at a port."""
    settings = uvicorn.Config(
        _Guard(_app(studio), port),
        lifespan="on",
        ws="websockets-sansio",
        ws_max_size=LARGEST_MESSAGE,
        ws_per_message_deflate=False,  # pictures are compressed
        log_config=None,
        log_level="error",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=1,
    )
    return uvicorn.Server(settings)


def packed(facts: dict[str, Any], pictures: list[bytes] | None = None) -> bytes:
    """Return a message as the page reads it: length of the facts, the facts as JSON, the pictures."""
    pictures = pictures or []
    text = json.dumps(facts | {"sizes": [len(picture) for picture in pictures]}).encode()
    return b"".join([len(text).to_bytes(4, "big"), text, *pictures])


def _answered(
    work: Callable[[Request], tuple[dict[str, Any], list[bytes]]], request: Request
) -> bytes:
    start = time.perf_counter()
    try:
        facts, pictures = work(request)
    except WRONG as error:
        facts, pictures = {"problem": str(error) or "There is not enough memory."}, []
    except (
        Exception
    ) as error:  # what goes wrong in one view, in a graphics driver above all, leaves the others be
        facts, pictures = {"problem": f"{type(error).__name__}: {error}"}, []
    took = round(1000 * (time.perf_counter() - start), 1)
    return packed({"kind": request.want, "number": request.number, "took": took} | facts, pictures)


def _encoded(picture: Picture, *, exact: bool) -> bytes:
    stream = io.BytesIO()
    if exact:
        Image.fromarray(picture).save(stream, "PNG", compress_level=1)
    else:
        Image.fromarray(picture).save(stream, "JPEG", quality=85)
    return stream.getvalue()


# ---- what the browser meets -------------------------------------------------------------------------


def _app(studio: LivePage) -> Starlette:
    @contextlib.asynccontextmanager
    async def running(_: Starlette) -> AsyncIterator[None]:
        watching = asyncio.create_task(studio.watch())
        yield
        watching.cancel()
        studio.close()

    async def live(page: WebSocket) -> None:
        await _talk(page, studio)

    files = [Route(path, _file(*named)) for path, named in FILES.items()]
    return Starlette(routes=[*files, WebSocketRoute("/live", live)], lifespan=running)


def _file(name: str, kind: str) -> Callable[[HttpRequest], Response]:
    content = (resources.files("seamsight.viewer.live") / name).read_bytes()
    return lambda _: Response(content, media_type=kind)


async def _talk(page: WebSocket, studio: LivePage) -> None:
    """Answer one page until it goes away."""
    await page.accept()
    newest: dict[Want, asyncio.Queue[Request]] = {want: asyncio.Queue(1) for want in WANTS}
    # the page's going away ends this with a WebSocketDisconnect, which takes the other tasks along
    try:
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(_introduce(page, studio))
            for queue in newest.values():
                tasks.create_task(_answer_newest(page, studio, queue))
            tasks.create_task(_take_requests(page, newest))
    except* WebSocketDisconnect:
        pass


async def _take_requests(page: WebSocket, newest: dict[Want, asyncio.Queue[Request]]) -> None:
    """Take what a page asks; a request that waits gives way to a newer one of its kind."""
    while True:
        message = await page.receive()
        if message["type"] == "websocket.disconnect":
            raise WebSocketDisconnect(message["code"])
        try:
            request = Request.model_validate_json(message.get("text") or b"")
        except ValidationError as error:
            await page.send_bytes(packed({"kind": "refused", "problem": _told(error)}))
            continue
        queue = newest[request.want]
        if queue.full():
            queue.get_nowait()
        queue.put_nowait(request)


async def _answer_newest(page: WebSocket, studio: LivePage, queue: asyncio.Queue[Request]) -> None:
    while True:
        await page.send_bytes(await studio.answer(await queue.get()))


async def _introduce(page: WebSocket, studio: LivePage) -> None:
    async for introduction in studio.introductions():
        await page.send_bytes(introduction)


def _told(error: ValidationError) -> str:
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    return f"The request was not understood: {'.'.join(map(str, first['loc']))} {first['msg']}"


class _Guard:
    """Refuses what does not come from this page itself, and tells browsers to fetch nothing from elsewhere.

    A page of another site can make a browser send requests here, under that site's name where its name server answers
    with this machine's address (DNS rebinding): so Host, and the Origin of a WebSocket, must be ours.
    """

    def __init__(self, app: ASGIApp, port: int) -> None:
        self._app = app
        # browsers leave the usual port out
        self._hosts = {name if port == 80 else f"{name}:{port}" for name in (HERE, "localhost")}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it with 403."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        host, origin = headers.get("host", ""), headers.get("origin")
        from_us = {f"http://{host}"} | ({None} if scope["type"] == "http" else set())
        if host in self._hosts and origin in from_us:
            await self._app(scope, receive, _with_headers(send, host))
        elif scope["type"] == "websocket":
            await WebSocketClose()(scope, receive, send)
        else:
            await PlainTextResponse("This page is for this machine only.", 403)(
                scope, receive, send
            )


def _with_headers(send: Send, host: str) -> Send:
    """Return a function that sends with the headers every answer carries."""
    policy = (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        f"connect-src 'self' ws://{host}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            MutableHeaders(scope=message).update(
                {
                    "content-security-policy": policy,
                    "x-content-type-options": "nosniff",
                    "referrer-policy": "no-referrer",
                    "cross-origin-opener-policy": "same-origin",
                    "cross-origin-resource-policy": "same-origin",
                    "cache-control": "no-store",
                }
            )
        await send(message)

    return sending
