"""The room in 3-D drawn by a process of its own: beside all other work, and where drawing ends in a crash, that process alone ends.

Run by `drawn_beside`: python -m halfgain.simulate.page.drawing_process, what to draw on its standard input.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import BinaryIO

from ...scenes.model import Scene
from ..views.cell_light import CellLight
from ..views.graphics import IMPORTED, LIMIT_S, NoGraphics, refusal
from .room_picture import RoomPicture, draw_room, image_of


@contextmanager
def drawn_beside(scene: Scene, *, threads: int) -> Iterator[RoomDrawing]:
    """The drawing of a scene in a process of its own, which ends with the work whether its picture was asked for or not.

    threads  that may be used: with one, the process is started when its picture is asked for
    Source: `draw_room`.
    """
    drawing = RoomDrawing(scene, threads)
    try:
        yield drawing
    finally:
        drawing.stop()


class RoomDrawing:
    """The process, with files for what it hears and says, so that neither side waits for the other to read."""

    def __init__(self, scene: Scene, threads: int) -> None:
        self._scene, self._at_once = scene, threads > 1
        self._light: CellLight | None = None
        self._process: subprocess.Popen[bytes] | None = None
        self._fault: OSError | None = None
        self._files: list[BinaryIO] = []

    def lit(self, light: CellLight) -> None:
        """Give the drawing the light on the room's surfaces [lx]: now it can begin."""
        self._light = light
        if self._at_once:
            self._start()

    def _start(self) -> None:
        """Start the process; what the system has against that is told with the picture."""
        try:
            self._files = [tempfile.TemporaryFile() for _ in range(3)]  # noqa: SIM115
            asked, drawn, said = self._files
            pickle.dump((self._scene, self._light), asked)
            asked.seek(0)
            command = [sys.executable, "-m", "halfgain.simulate.page.drawing_process"]
            self._process = subprocess.Popen(command, stdin=asked, stdout=drawn, stderr=said)
        except OSError as fault:
            self._fault = fault

    def picture(self) -> RoomPicture:
        """Wait for the picture; a sentence in place of an image where this machine cannot draw. After `lit`.

        raises  what goes wrong in our own work there
        """
        if self._process is None and self._fault is None:
            self._start()
        if self._process is None:
            told = NoGraphics(f"3-D drawing does not work: no process could be started to try it ({self._fault})")
            return RoomPicture(None, str(told), 1.0)
        try:
            status = self._process.wait(LIMIT_S)
        except subprocess.TimeoutExpired:
            return RoomPicture(None, str(refusal(0, b"", b"", late=True)), 1.0)
        drawn, said = (self._read(file) for file in self._files[1:])
        if status != 0 or not drawn.startswith(IMPORTED):
            return RoomPicture(None, str(refusal(status, drawn, said)), 1.0)
        found = pickle.loads(drawn[len(IMPORTED) :])
        if isinstance(found, Exception):
            raise found
        return RoomPicture(*found)

    def stop(self) -> None:
        """End it, whether its picture was asked for or not."""
        if self._process is not None:
            self._process.kill()  # no effect on one that has ended
            self._process.wait()
        for file in self._files:
            file.close()

    @staticmethod
    def _read(file: BinaryIO) -> bytes:
        file.seek(0)
        return file.read()


def main() -> None:
    """Draw what standard input says; what went wrong before drawing goes back as it is, a fault of drawing ends the process."""
    answer = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what the drawing library prints is no answer
    scene, light = pickle.load(sys.stdin.buffer)
    import pyvista  # noqa: F401

    answer.write(IMPORTED)
    answer.flush()
    try:
        shown = draw_room(scene, light)
    except Exception as fault:
        pickle.dump(fault, answer)
        answer.close()
        return
    found = image_of(shown)
    pickle.dump((found.image, found.reason, found.exaggeration, found.light), answer)
    answer.close()


if __name__ == "__main__":
    main()
