"""Keeps the page for this machine: refuses foreign requests, lets browsers fetch from here only."""

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from starlette.websockets import WebSocketClose

HERE = "127.0.0.1"


class PageGuard:
    """Refuses what does not come from the page itself, and adds the page's headers to all answers.

    A page of another site can make a browser send requests here, under that site's name where its
    name server answers with this machine's address (DNS rebinding): so Host, and the Origin of a
    WebSocket, must be ours.

    Parameters
    ----------
    app : ASGIApp
        What answers the requests that pass.
    port : int
        Where it is served.
    """

    def __init__(self, app: ASGIApp, port: int) -> None:
        self._app = app
        # browsers leave the usual port out
        self._hosts = {name if port == 80 else f"{name}:{port}" for name in (HERE, "localhost")}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it with 403."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif self._is_ours(scope):
            host = Headers(scope=scope)["host"]
            await self._app(scope, receive, _with_headers(send, host))
        elif scope["type"] == "websocket":
            await WebSocketClose()(scope, receive, send)
        else:
            refused = PlainTextResponse("This page is only for this computer.", 403)
            await refused(scope, receive, send)

    def _is_ours(self, scope: Scope) -> bool:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        origin = headers.get("origin")
        # browsers name the origin of each WebSocket, but not of a page that is opened
        may_lack_origin = scope["type"] == "http"
        return host in self._hosts and (
            origin == f"http://{host}" or (origin is None and may_lack_origin)
        )


def _with_headers(send: Send, host: str) -> Send:
    """Return a function that sends with the headers every answer carries."""
    policy = (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        f"connect-src 'self' ws://{host}; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )
    added = {
        "content-security-policy": policy,
        "x-content-type-options": "nosniff",
        "referrer-policy": "no-referrer",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "cache-control": "no-store",
    }

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in added.items():
                headers.setdefault(name, value)  # a sheet has a policy of its own
        await send(message)

    return sending
