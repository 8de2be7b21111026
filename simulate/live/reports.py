"""Reports on demand: one child process at a time, ended with the server."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress


class Busy(RuntimeError):
    """A report is being made already."""


class ReportFailed(RuntimeError):
    """The child ended without a page; str() is its last line."""


class Reports:
    """Makes reports; `stop` may be called from any thread, also from a signal's handler."""

    def __init__(self, command: tuple[str, ...] = (sys.executable, "-m", f"{__package__}.report_child")) -> None:
        self._command = command
        self._lock = threading.Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._owner = 0

    def make(
        self, text: str, name: str, folder: str, *, seed: int, threads: int, told: Callable[[str], None], owner: int = 0
    ) -> bytes:
        """The page of a scene's text, UTF-8; told hears each stage, owner is the number of who asks. Blocks until it is there.

        raises  Busy, ReportFailed
        """
        if not self._lock.acquire(blocking=False):
            raise Busy("a report is being made already; it takes about a minute")
        try:
            asked = json.dumps({"text": text, "name": name, "folder": folder, "seed": seed, "threads": threads}).encode()
            pipe = subprocess.PIPE
            self._owner = owner
            self._child = child = subprocess.Popen(self._command, stdin=pipe, stdout=pipe, stderr=pipe)
            lines: list[str] = []
            ear = threading.Thread(target=_listen, args=(child, lines, told), daemon=True)
            ear.start()
            with suppress(BrokenPipeError, ValueError):
                child.stdin.write(asked)  # type: ignore[union-attr]
                child.stdin.close()  # type: ignore[union-attr]
            page = child.stdout.read()  # type: ignore[union-attr]
            ear.join()
            if child.wait() != 0 or not page:
                raise ReportFailed(lines[-1] if lines and child.returncode > 0 else "the report was stopped")
            return page
        finally:
            self._child = None
            self._lock.release()

    def stop(self, owner: int | None = None) -> None:
        """End the report that is being made, if any; with an owner, only one of theirs."""
        child = self._child
        if child is not None and owner in (None, self._owner):
            with suppress(OSError):
                child.kill()


def _listen(child: subprocess.Popen[bytes], lines: list[str], told: Callable[[str], None]) -> None:
    for line in child.stderr or ():
        words = line.decode("utf-8", "replace").strip()
        if words:
            lines.append(words)
            told(words)
