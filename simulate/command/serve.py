"""`halfgain serve`: the live page, on this machine alone."""

from __future__ import annotations

import os
import signal
from types import FrameType
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import INTERRUPTED, BadInput
from .options import Seed, Threads, library_scenes
from .stdout import note, say

if TYPE_CHECKING:
    from ..live.server import House

DEFAULT_PORT, HIGHEST_PORT = 8470, 65_535
STOPPED = "halfgain: stopped serving\n"


def _port_in_range(value: int) -> int:
    if not 0 <= value <= HIGHEST_PORT:
        raise typer.BadParameter(f"{value} is not allowed; allowed 0 to {HIGHEST_PORT}")
    return value


Port = Annotated[int, typer.Option("--port", metavar="N", callback=_port_in_range, help="Port on 127.0.0.1; 0 takes a free one.")]
NoBrowser = Annotated[bool, typer.Option("--no-browser", help="Open no browser: only print the address.")]
FirstScene = Annotated[
    str | None,
    typer.Argument(
        metavar="[SCENE]", help="A scene file, or a name of the library; left out: a room of it.", autocompletion=library_scenes
    ),
]


def serve(
    scene: FirstScene = None, port: Port = DEFAULT_PORT, no_browser: NoBrowser = False, seed: Seed = 1, threads: Threads = None,
) -> None:  # fmt: skip
    """The live page: change finishes, fabric, seats, lumens by hand, and the room answers while you watch. Ctrl-C ends it.

    The address is printed on stdout, one line; its last part is a password: whoever has it may open and save scene files in the
    scene's folder (without a scene file: the current one). Nothing is sent to other machines.

    halfgain serve light-lounge

    halfgain serve my-room.toml --port 0 --no-browser
    """
    from ...scenes.library import DEFAULT_SCENE
    from ..live.opening import house_of_file
    from ..live.server import PortTaken, address_of, bound_socket, new_token, web_server

    house = house_of_file(DEFAULT_SCENE if scene is None else scene, seed=seed, threads=threads)
    try:
        listening = bound_socket(port)
    except PortTaken as fault:
        raise BadInput(str(fault)) from None
    token = new_token()
    address = address_of(listening, token)
    _end_at_once(house)
    house.warm_up()

    def ready() -> None:
        say(f"{address}\n")
        if not no_browser:
            import webbrowser

            if not webbrowser.open(address):
                note("halfgain: no browser could be opened: open the address yourself")

    web_server(house, listening, token, ready=ready).run(sockets=[listening])


def _end_at_once(house: House) -> None:
    """Ctrl-C ends the process whatever a kernel is doing; files are written whole or not at all, so nothing is lost."""

    def leave(number: int, frame: FrameType | None) -> None:
        try:
            house.reports.stop()
            os.write(2, STOPPED.encode())
        finally:
            os._exit(INTERRUPTED)

    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:  # not where the parent wants it ignored
        signal.signal(signal.SIGINT, leave)
