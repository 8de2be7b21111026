"""A page in the place of a browser: speaks the socket's own language to a server in a process of its own."""

from __future__ import annotations

import json
import os
import signal
import struct
import subprocess
import sys
import time
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import numpy as np
from websockets.sync.client import ClientConnection, connect


class Served:
    """`halfgain serve` in a process, its address read from stdout."""

    def __init__(self, *arguments: str, coarse: bool = False) -> None:
        """coarse: rooms are lit by few rays on large cells, for tests that do not look at how well."""
        program = "tests.live.coarse_serve" if coarse else "halfgain"
        command = [sys.executable, "-m", program, "serve", *arguments, "--port", "0", "--no-browser"]
        cwd = Path(__file__).parents[2] if coarse else None
        pipe = subprocess.PIPE
        heed = {"preexec_fn": lambda: signal.signal(signal.SIGINT, signal.SIG_DFL)}  # a shell's background job ignores Ctrl-C
        self.process = subprocess.Popen(command, stdout=pipe, stderr=pipe, text=True, cwd=cwd, env=os.environ.copy(), **heed)
        self.line = self.process.stdout.readline()  # type: ignore[union-attr]
        if not self.line:
            raise RuntimeError(self.process.communicate()[1])
        self.address = self.line.strip()
        parts = urlsplit(self.address)
        self.origin, self.host, self.token = f"{parts.scheme}://{parts.netloc}", parts.netloc, parts.path.strip("/")

    def __enter__(self) -> Served:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.end()

    def page(self, **options: Any) -> ClientConnection:
        """A connected socket."""
        options.setdefault("origin", self.origin)
        return connect(f"ws://{self.host}/{self.token}/live", max_size=1 << 26, **options)

    def end(self) -> int:
        """Ctrl-C; returns the exit status."""
        self.process.send_signal(signal.SIGINT)
        status = self.process.wait(10)
        self.process.stdout.close()  # type: ignore[union-attr]
        self.process.stderr.close()  # type: ignore[union-attr]
        return status


def decoded(data: str | bytes) -> dict[str, Any]:
    """A message with its arrays under their names."""
    if isinstance(data, str):
        return dict(json.loads(data))
    (length,) = struct.unpack_from("<I", data)
    head = json.loads(data[4 : 4 + length])
    start = 4 + length
    for each in head.pop("arrays"):
        count = int(np.prod(each["shape"]))
        head[each["name"]] = np.frombuffer(data, "<" + each["type"].lstrip("<|"), count, start + each["at"]).reshape(
            each["shape"]
        )
    return dict(head)


def heard(page: ClientConnection, *kinds: str, seconds: float = 120.0, **want: Any) -> dict[str, Any]:
    """The next message of one of these kinds that has these values; a refusal or fault that is not asked for is an error."""
    end = time.monotonic() + seconds
    while True:
        message = decoded(page.recv(timeout=max(0.1, end - time.monotonic())))
        if message["kind"] in ("fault", "bad", "refused") and message["kind"] not in kinds:
            raise AssertionError(message)
        if message["kind"] in kinds and all(message.get(key) == value for key, value in want.items()):
            return message


def tell(page: ClientConnection, do: str, **rest: Any) -> None:
    """Send one message."""
    page.send(json.dumps({"do": do, **rest}))
