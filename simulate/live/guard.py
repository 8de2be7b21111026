"""Who may speak to the server: this machine's browser, with the token of the address, from the page itself and from no other."""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]

NAMES = ("127.0.0.1", "localhost")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; font-src 'none'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)


class Guard:
    """An ASGI application before another: what does not belong here gets 403 and no word of what is inside.

    port   of the server;  token  of its address, the first part of every path
    Host against names that were bent to this machine, Origin against pages of others, token against other users of it.
    Source: RFC 6454 (origins), RFC 6455 section 10.2 (sockets check Origin), RFC 9110 section 7.2 (Host).
    """

    def __init__(self, app: Any, *, port: int, token: str) -> None:
        self.app, self.token = app, token
        self.hosts = {f"{name}:{port}" for name in NAMES}
        self.origins = {f"http://{host}" for host in self.hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        if not self.welcome(scope):
            await _refuse(scope, receive, send)
            return
        inside = {**scope, "path": "/" + _rest(scope["path"]), "raw_path": None, "root_path": ""}
        await self.app(inside, receive, _with_headers(send))

    def welcome(self, scope: Scope) -> bool:
        """Whether a request may pass."""
        headers = [(name.lower(), value.decode("latin-1")) for name, value in scope["headers"]]
        host = [value for name, value in headers if name == b"host"]
        origin = [value for name, value in headers if name == b"origin"]
        first = scope["path"].lstrip("/").split("/", 1)[0]
        if len(host) != 1 or host[0].lower() not in self.hosts or not hmac.compare_digest(first.encode(), self.token.encode()):
            return False
        if any(value not in self.origins for value in origin) or len(origin) > 1:
            return False
        if scope["type"] == "websocket":
            return len(origin) == 1  # a browser always says where a socket comes from
        return scope["method"] in ("GET", "HEAD")


def _rest(path: str) -> str:
    parts = path.lstrip("/").split("/", 1)
    return parts[1] if len(parts) > 1 else ""


async def _refuse(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    body = b"This address is not complete, or not meant for this page: take the whole line that halfgain serve printed.\n"
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode()), *HEADERS]
    await send({"type": "http.response.start", "status": 403, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})


def _with_headers(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", []), *HEADERS]
        await send(message)

    return sending
