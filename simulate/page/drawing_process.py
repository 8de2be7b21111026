"""The room in 3-D drawn by a process of its own: beside all other work, and where drawing ends in a crash, that process alone ends.

Run by `drawn_beside`: python -m halfgain.simulate.page.drawing_process, what to draw on its standard input.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import BinaryIO

from ...scenes.model import Scene
from ..views.graphics import IMPORTED, LIMIT_S, NoGraphics, refusal
from .room_picture import RoomPicture, draw_room, image_of


@contextmanager
def drawn_beside(scene: Scene, *, seed: int, threads: int) -> Iterator[Callable[[], RoomPicture]]:
    """Starts the process that draws a scene; gives a function that waits for its picture.

    threads  that may be used: with one, the process is started when its picture is asked for
    The picture holds a sentence in place of an image where this machine cannot draw. What goes wrong in our own work there is
    raised when the picture is asked for. Source: `draw_room`.
    """
    drawing = _Drawing(scene, seed, max(1, threads // 2))
    try:
        if threads > 1:
            drawing.start()
        yield drawing.picture
    finally:
        drawing.stop()


class _Drawing:
    """The process, with files for what it hears and says, so that neither side waits for the other to read."""

    def __init__(self, scene: Scene, seed: int, threads: int) -> None:
        self._task = (scene, seed, threads)
        self._process: subprocess.Popen[bytes] | None = None
        self._fault: OSError | None = None
        self._files: list[BinaryIO] = []

    def start(self) -> None:
        """Start it; what the system has against that is told with the picture."""
        try:
            self._files = [tempfile.TemporaryFile() for _ in range(3)]  # noqa: SIM115
            asked, drawn, said = self._files
            pickle.dump(self._task, asked)
            asked.seek(0)
            command = [sys.executable, "-m", "halfgain.simulate.page.drawing_process"]
            self._process = subprocess.Popen(command, stdin=asked, stdout=drawn, stderr=said)
        except OSError as fault:
            self._fault = fault

    def picture(self) -> RoomPicture:
        """Wait for the picture."""
        if self._process is None and self._fault is None:
            self.start()
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
    scene, seed, threads = pickle.load(sys.stdin.buffer)
    import pyvista  # noqa: F401

    answer.write(IMPORTED)
    answer.flush()
    try:
        shown = draw_room(scene, seed=seed, threads=threads)
    except Exception as fault:
        pickle.dump(fault, answer)
        answer.close()
        return
    found = image_of(shown)
    pickle.dump((found.image, found.reason, found.exaggeration, found.light), answer)
    answer.close()


if __name__ == "__main__":
    main()
