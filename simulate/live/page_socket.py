"""One page's socket: its questions to the desk and the folder, the desk's answers to it, newest first and never piling up."""

from __future__ import annotations

import asyncio
import itertools
from collections import OrderedDict
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import numpy as np

from ...materials.text.error import Error
from ...scenes.errors import SceneErrors
from ...scenes.library import scene_path
from ...scenes.read import decode
from .controls import libraries, told
from .folder import FolderFault
from .new_room import new_room
from .precise import precise_picture
from .reports import Busy, ReportFailed
from .wire import BadQuestion, Message, ask_of, question, text_in

if TYPE_CHECKING:
    from starlette.websockets import WebSocket

    from .server import House

_numbers = itertools.count(1)
MOST_PIXELS = 1920  # across and down
_MOST_WAITING = 64  # answers of different kinds that may wait for a slow page


class PageSocket:
    """One page that is connected; lives in the server's event loop."""

    def __init__(self, house: House, socket: WebSocket) -> None:
        self.house, self.socket, self.owner = house, socket, next(_numbers)
        self.loop = asyncio.get_running_loop()
        self._waiting: OrderedDict[tuple[str, str], Message] = OrderedDict()
        self._news = asyncio.Event()
        self._side: set[asyncio.Task[None]] = set()

    async def run(self) -> None:
        """Greets the page, then answers until it goes."""
        first = self.house.first
        self.put(
            Message(
                "hello",
                {"libraries": libraries(), "first": first, "folder": self.house.folder.place.name, "version": self.house.version},
            )
        )
        sender = asyncio.create_task(self._send())
        try:
            while True:
                await self._hear(await self.socket.receive_text())
        except Exception as fault:
            if not _is_goodbye(fault):
                raise
        finally:
            self.house.desk.forget(self.owner)
            self.house.reports.stop(self.owner)
            for task in (sender, *self._side):
                task.cancel()

    def put(self, message: Message) -> None:
        """Lay an answer ready; one of the same kind and slot that still waits is forgotten. In the loop's thread.

        What holds the shape of the room is laid beside it, since later answers lean on it.
        """
        key = (message.kind + ("+" if "place" in message.arrays else ""), str(message.head.get("slot", "")))
        self._waiting.pop(key, None)
        if len(self._waiting) < _MOST_WAITING:
            self._waiting[key] = message
        self._news.set()

    def put_from_elsewhere(self, message: Message) -> None:
        """The same from another thread."""
        with suppress(RuntimeError):  # the loop has ended
            self.loop.call_soon_threadsafe(self.put, message)

    async def _send(self) -> None:
        while True:
            await self._news.wait()
            self._news.clear()
            while self._waiting:
                _, message = self._waiting.popitem(last=False)
                data = message.encoded()
                with suppress(Exception):  # the page has gone: the receiving side ends this
                    await (self.socket.send_text(data) if isinstance(data, str) else self.socket.send_bytes(data))

    async def _hear(self, data: str) -> None:
        try:
            table = question(data)
            answer = getattr(self, f"_do_{table['do'].replace('-', '_')}", None)
            if answer is None:
                raise BadQuestion(f"no question {table['do']!r}")
            await answer(table)
        except BadQuestion as fault:
            self.put(Message("bad", {"text": f"question not understood: {fault}"[:300]}))

    async def _do_ask(self, table: dict[str, Any]) -> None:
        ask = ask_of(table)
        solver = self.house.solver
        self.house.desk.ask(
            (self.owner, ask.slot), lambda: solver.answers(ask), self.put_from_elsewhere, lambda fault: _fault(table, fault)
        )

    async def _do_precise(self, table: dict[str, Any]) -> None:
        ask, solver = ask_of(table), self.house.solver
        size = _pixels(table.get("width")), _pixels(table.get("height"))
        self.house.desk.ask(
            (self.owner, "precise"),
            lambda: precise_picture(solver, ask, size),
            self.put_from_elsewhere,
            lambda fault: _fault(table, fault),
        )

    async def _do_stop_precise(self, table: dict[str, Any]) -> None:
        self.house.desk.ask(
            (self.owner, "precise"), lambda: iter(()), self.put_from_elsewhere, lambda fault: _fault(table, fault)
        )

    async def _do_files(self, table: dict[str, Any]) -> None:
        try:
            self.put(Message("files", {"names": self.house.folder.names()}))
        except OSError as fault:
            self.put(_failed("files", fault))

    async def _do_open(self, table: dict[str, Any]) -> None:
        name = text_in(table, "name")
        try:
            if table.get("library") is True:
                text, seen = decode(scene_path(name).read_bytes(), name), ""
            else:
                text, seen = await asyncio.to_thread(self.house.folder.read, name)
        except (Error, OSError) as fault:
            self.put(_failed("open", fault))
            return
        called = f"{name}.toml" if table.get("library") is True else name
        self.put(Message("opened", {"text": text, "name": called, "seen": seen}))

    async def _do_new(self, table: dict[str, Any]) -> None:
        form = table.get("form")
        if not isinstance(form, dict):
            raise BadQuestion("form")
        try:
            self.put(Message("opened", {"text": new_room(form), "name": "new-room.toml", "seen": ""}))
        except Error as fault:
            self.put(_failed("new", fault))

    async def _do_save(self, table: dict[str, Any]) -> None:
        text = table.get("text")
        if not isinstance(text, str):
            raise BadQuestion("text")
        name, seen = text_in(table, "name"), text_in(table, "seen")
        try:
            await asyncio.to_thread(self.house.check_text, text, name)
            digest = await asyncio.to_thread(self.house.folder.save, name, text, seen)
        except SceneErrors as fault:
            errors = [told(each) for each in fault.errors[:20]]
            self.put(Message("failed", {"of": "save", "text": str(fault).splitlines()[0], "errors": errors, "exists": False}))
            return
        except (Error, OSError) as fault:
            self.put(_failed("save", fault))
            return
        self.put(Message("saved", {"name": name, "seen": digest}))

    async def _do_report(self, table: dict[str, Any]) -> None:
        text, name = table.get("text"), text_in(table, "name", "scene.toml")
        if not isinstance(text, str):
            raise BadQuestion("text")
        task = asyncio.create_task(self._report(text, name))
        self._side.add(task)
        task.add_done_callback(self._side.discard)

    async def _report(self, text: str, name: str) -> None:
        house = self.house

        def stage(words: str) -> None:
            self.put_from_elsewhere(Message("report-stage", {"text": words[:200]}))

        def make() -> bytes:
            house.check_text(text, name)
            solver, place = house.solver, str(house.folder.place)
            return house.reports.make(text, name, place, seed=solver.seed, threads=solver.threads, told=stage, owner=self.owner)

        try:
            page = await asyncio.to_thread(make)
        except (Error, Busy, ReportFailed, OSError) as fault:
            self.put(_failed("report", fault))
            return
        self.put(
            Message("report", {"name": f"{name.removesuffix('.toml')}-report.html"}, {"html": np.frombuffer(page, np.uint8)})
        )

    async def _do_stop_report(self, table: dict[str, Any]) -> None:
        self.house.reports.stop(self.owner)


def _pixels(value: Any) -> int:
    """A width or a height of a picture. raises BadQuestion"""
    if not isinstance(value, int) or isinstance(value, bool) or not 16 <= value <= MOST_PIXELS:
        raise BadQuestion("size")
    return value


def _failed(of: str, fault: Exception) -> Message:
    text = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
    return Message(
        "failed", {"of": of, "text": text.splitlines()[0][:500], "exists": isinstance(fault, FolderFault) and fault.exists}
    )


def _fault(table: dict[str, Any], fault: Exception) -> Message:
    said = f"a fault of the program: {type(fault).__name__}: {fault}".splitlines()[0][:300]
    return Message("fault", {"number": table.get("number", 0), "slot": table.get("slot", "a"), "text": said})


def _is_goodbye(fault: Exception) -> bool:
    """Whether a page went away, in one of the ways the server's library tells it."""
    return type(fault).__name__ in (
        "WebSocketDisconnect",
        "ClientDisconnected",
        "ConnectionClosedOK",
        "ConnectionClosedError",
    ) or isinstance(fault, KeyError | RuntimeError)
