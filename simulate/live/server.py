"""The server of the live page: Starlette behind the guard, on the loopback address alone."""

from __future__ import annotations

import asyncio
import contextlib
import secrets
import socket
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from ...materials.text.error import Error
from ...scenes.load import scene_from_text
from ...scenes.model import Scene
from ...scenes.read import parse
from .charts import CHARTS, chart_png, zones
from .desk import Desk
from .folder import SceneFolder
from .guard import Guard
from .page_socket import PageSocket
from .reports import Reports
from .wire import MOST_BYTES, Ask, Message
from .work import Solver

ADDRESS = "127.0.0.1"
MOST_PAGES = 100
SWITCH_S = 0.0005  # the solver's thread gives way to the sockets' so often; Python's usual 5 ms would be added to every answer
STATIC = Path(__file__).resolve().parent / "static"
FILES = {"": ("index.html", "text/html"), "page.js": ("page.js", "text/javascript"), "page.css": ("page.css", "text/css"),
         "licences.txt": ("licences.txt", "text/plain")}  # fmt: skip


class PortTaken(Error):
    """A port that cannot be had; str() is one line."""


class House:
    """What all pages share.

    first    the scene a page begins with: text, name and SHA-256 of the file as it stands ("": not a file of the folder)
    folder   where scenes are opened and saved
    """

    def __init__(self, first: Mapping[str, str], folder: SceneFolder, *, seed: int, threads: int, version: str) -> None:
        self.first, self.folder, self.version = dict(first), folder, version
        self.desk, self.reports = Desk(), Reports()
        self.solver = Solver(folder, seed=seed, threads=threads)
        self.solver.pressed = lambda: len(self.desk) > 1
        self.pages = 0

    def warm_up(self) -> None:
        """Answer the first scene once for nobody, so that the first page need not wait for kernels and paths."""
        ask = Ask(0, "a", self.first["text"], self.first["name"], wants=frozenset({"numbers", "folds", "view"}))
        self.desk.ask(("nobody",), lambda: self.solver.answers(ask), lambda message: None, lambda fault: Message("fault", {}))

    def check_text(self, text: str, name: str) -> Scene:
        """A text as a good scene that names no file outside the folder. raises SceneErrors, FolderFault"""
        self.folder.check(parse(text, name))
        return scene_from_text(text, name, self.folder.place)

    def close(self) -> None:
        """End the solver and whatever report is being made."""
        self.reports.stop()
        self.desk.close()


def bound_socket(port: int) -> socket.socket:
    """A listening socket on the loopback address; port 0: a free one. raises PortTaken"""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((ADDRESS, port))
        listening.listen(128)
    except (OSError, OverflowError) as fault:  # the second of a number that no port can have
        listening.close()
        why = (getattr(fault, "strerror", None) or str(fault)).lower()
        raise PortTaken(f"port {port} on {ADDRESS} cannot be had: {why}; allowed a free one, or --port 0") from None
    return listening


def new_token() -> str:
    """A word that nobody guesses, for an address. Source: 144 random bits of the operating system."""
    return secrets.token_urlsafe(18)


def address_of(listening: socket.socket, token: str) -> str:
    """The page's address."""
    return f"http://{ADDRESS}:{listening.getsockname()[1]}/{token}/"


def application(house: House, *, port: int, token: str) -> Guard:
    """The ASGI application."""
    from starlette.applications import Starlette
    from starlette.background import BackgroundTask
    from starlette.responses import Response
    from starlette.routing import Route, WebSocketRoute

    async def page_file(request: Any) -> Any:
        name, kind = FILES[request.path_params.get("name", "")]
        try:
            data = (STATIC / name).read_bytes()
        except OSError:
            return Response("the installation is incomplete: the page's files are missing\n", 500, media_type="text/plain")
        return Response(data, media_type=kind)

    async def named_file(request: Any) -> Any:
        if request.path_params["name"] not in FILES:
            return Response("no such file\n", 404, media_type="text/plain")
        return await page_file(request)

    async def chart(request: Any) -> Any:
        name = request.path_params["name"].removesuffix(".png")
        try:
            aspect = float(request.query_params.get("aspect", "1.778"))
        except ValueError:
            aspect = float("nan")
        if name not in CHARTS or not 0.0 < aspect < 100.0:
            return Response("no such chart\n", 404, media_type="text/plain")
        data = await asyncio.to_thread(chart_png, name, aspect)
        then = BackgroundTask(zones, name, aspect)  # so that the light of it is there when it is chosen
        return Response(data, media_type="image/png", background=then)

    async def talk(page: Any) -> None:
        if house.pages >= MOST_PAGES:
            await page.close(1013)
            return
        await page.accept()
        house.pages += 1
        try:
            await PageSocket(house, page).run()
        finally:
            house.pages -= 1

    routes = [
        Route("/", page_file), Route("/chart/{name}", chart), Route("/{name}", named_file), WebSocketRoute("/live", talk),
    ]  # fmt: skip
    return Guard(Starlette(routes=routes), port=port, token=token)


def web_server(house: House, listening: socket.socket, token: str, *, ready: Callable[[], None]) -> Any:
    """The server: run(sockets=[listening]) serves until `should_exit` is set; ready is called once connections are taken.

    Signals are left to the caller.
    """
    import uvicorn

    sys.setswitchinterval(SWITCH_S)

    class Server(uvicorn.Server):
        @contextlib.contextmanager
        def capture_signals(self) -> Iterator[None]:
            yield  # no waiting for open sockets: the caller ends the process at once

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            ready()

    config = uvicorn.Config(
        application(house, port=listening.getsockname()[1], token=token), log_config=None, access_log=False, lifespan="off",
        ws_max_size=MOST_BYTES, ws_ping_interval=20.0, ws_ping_timeout=60.0, ws_per_message_deflate=False, timeout_keep_alive=5,
        server_header=False, h11_max_incomplete_event_size=16_384, proxy_headers=False,
    )  # fmt: skip
    return Server(config)
