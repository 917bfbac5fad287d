"""Serves the page to this machine's browsers: its files, and the WebSocket on which each tab asks.

The newest request of a kind is the one that is answered. The event loop only carries messages; the
work is done in the threads of `LivePage`.
"""

import asyncio
import contextlib
import logging
import socket
from collections.abc import AsyncIterator, Callable
from importlib import resources
from typing import get_args

import uvicorn
from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.requests import Request as HttpRequest
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from seamsight.viewer.handout.page import POLICY
from seamsight.viewer.live.page import EXPECTED, LivePage
from seamsight.viewer.live.page_guard import HERE, PageGuard
from seamsight.viewer.live.page_messages import LARGEST_REQUEST, Request, Want, refusal

STYLES = ("base", "page")
SCRIPTS = (
    "page",
    "page_parts",
    "page_values",
    "page_curve",
    "page_drawing",
    "page_eyes",
    "page_pace",
    "page_shapes",
    "page_stage",
    "page_stage_hands",
    "stage_drawing",
    "stage_meshes",
    "stage_shaders",
    "stage_smooth",
    "stage_view",
    "drawing",
    "picture_textures",
    "watch",
    "wide_drawing",
    "rig_shapes",
)
FILES = {
    "/": ("page.html", "text/html"),
    **{f"/{name}.css": (f"{name}.css", "text/css") for name in STYLES},
    **{f"/{name}.js": (f"{name}.js", "text/javascript") for name in SCRIPTS},
}
SHEET_POLICY = f"{POLICY}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def listen(port: int) -> socket.socket:
    """Return a socket that listens on this machine only; port 0 takes a free one.

    Raises
    ------
    OSError
        When the port is in use, or not to be had.
    """
    return socket.create_server((HERE, port))


def address_of(port: int) -> str:
    """Return where a browser finds what is served at a port."""
    return f"http://{HERE}:{port}/"


def server_of(page: LivePage, port: int) -> uvicorn.Server:
    """Return a server of the page, to be run on a socket that listens at a port."""
    logging.getLogger("uvicorn.error").addFilter(_is_no_tabs_fault)
    settings = uvicorn.Config(
        PageGuard(_app(page), port),
        lifespan="on",
        ws="websockets-sansio",
        ws_max_size=LARGEST_REQUEST,
        ws_per_message_deflate=False,  # pictures are compressed
        log_config=None,
        log_level="error",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=1,
    )
    return uvicorn.Server(settings)


def _is_no_tabs_fault(record: logging.LogRecord) -> bool:
    """Return whether an error is worth a traceback; text that is no UTF-8 ends its own line."""
    return record.exc_info is None or not isinstance(record.exc_info[1], UnicodeDecodeError)


def _app(page: LivePage) -> Starlette:
    @contextlib.asynccontextmanager
    async def running(_: Starlette) -> AsyncIterator[None]:
        watching = asyncio.create_task(page.watch())
        yield
        watching.cancel()
        page.close()

    async def live(tab: WebSocket) -> None:
        await _talk(tab, page)

    async def sheet(_: HttpRequest) -> Response:
        try:
            text = await page.sheet()
        except EXPECTED as error:
            return PlainTextResponse(str(error), 500)
        return HTMLResponse(text, headers={"content-security-policy": SHEET_POLICY})

    files = [Route(path, _file(*named)) for path, named in FILES.items()]
    lines = [Route("/sheet.html", sheet), WebSocketRoute("/live", live)]
    return Starlette(routes=[*files, *lines], lifespan=running)


def _file(name: str, kind: str) -> Callable[[HttpRequest], Response]:
    content = (resources.files("seamsight.viewer.live") / name).read_bytes()
    return lambda _: Response(content, media_type=kind)


async def _talk(tab: WebSocket, page: LivePage) -> None:
    """Answer one tab until it goes away."""
    await tab.accept()
    newest: dict[Want, asyncio.Queue[Request]] = {want: asyncio.Queue(1) for want in get_args(Want)}
    # the tab's going away ends this with a WebSocketDisconnect, which takes the other tasks along
    try:
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(_introduce(tab, page))
            for queue in newest.values():
                tasks.create_task(_answer_newest(tab, page, queue))
            tasks.create_task(_take_requests(tab, newest))
    except* WebSocketDisconnect:
        pass


async def _take_requests(tab: WebSocket, newest: dict[Want, asyncio.Queue[Request]]) -> None:
    """Take what a tab asks; a request that waits gives way to a newer one of its kind."""
    while True:
        message = await tab.receive()
        if message["type"] == "websocket.disconnect":
            raise WebSocketDisconnect(message["code"])
        try:
            request = Request.model_validate_json(message.get("text") or b"")
        except ValidationError as error:
            await tab.send_bytes(refusal(error))
            continue
        queue = newest[request.want]
        if queue.full():
            queue.get_nowait()
        queue.put_nowait(request)


async def _answer_newest(tab: WebSocket, page: LivePage, queue: asyncio.Queue[Request]) -> None:
    while True:
        await tab.send_bytes(await page.answer(await queue.get()))


async def _introduce(tab: WebSocket, page: LivePage) -> None:
    async for introduction in page.introductions():
        await tab.send_bytes(introduction)
