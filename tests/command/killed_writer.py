"""A program: writes with SIGKILL at the n-th system call, for every n, and says what is left each time; run by the test beside it.

Usage: killed_writer.py FOLDER. For every case one JSON line for every n, then one for the run that nothing killed.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from halfgain.scenes.library import copy_scene
from halfgain.simulate.output.writing import write_file, write_folder

CALLS = (
    "open",
    "close",
    "write",
    "fsync",
    "mkdir",
    "rmdir",
    "rename",
    "replace",
    "link",
    "unlink",
    "remove",
    "scandir",
    "stat",
    "lstat",
)
PNG = b"\x89PNG\r\n\x1a\n"
OLD = {"a.png": PNG + b"old a", "b.png": PNG + b"old b", "c.png": PNG + b"old c"}
NEW = {"a.png": PNG + b"new a", "b.png": PNG + b"new b", "d.png": PNG + b"new d"}


def write_results(place: Path) -> None:
    write_folder(place / "out", NEW, digests="measure.sha256")


def write_one(place: Path) -> None:
    write_file(place / "out" / "a.png", NEW["a.png"])


def write_copy(place: Path) -> None:
    copy_scene("black-box", place / "mine.toml")


def write_beside(place: Path) -> None:
    write_file(place / "beside.png", NEW["a.png"])


def old_results(place: Path) -> None:
    write_folder(place / "out", OLD, digests="measure.sha256")
    (place / "out" / "notes.txt").write_bytes(b"mine")


def only_others(place: Path) -> None:
    (place / "out").mkdir()
    (place / "out" / "notes.txt").write_bytes(b"mine")


def nothing(place: Path) -> None:
    """Nothing stands there before."""


CASES: dict[str, tuple[Callable[[Path], None], Callable[[Path], None]]] = {
    "folder over old results": (old_results, write_results),
    "folder that holds other things": (only_others, write_results),
    "new folder": (nothing, write_results),
    "file over an old one": (old_results, write_one),
    "new file": (only_others, write_one),
    "new folder for a file": (nothing, write_one),
    "copy of a scene": (nothing, write_copy),
}


def kill_at(call: int) -> None:
    """From now on this process dies instead of making its `call`-th system call."""
    made = 0

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def function(*arguments: Any, **more: Any) -> Any:
            nonlocal made
            made += 1
            if made == call:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*arguments, **more)

        return function

    for name in CALLS:
        setattr(os, name, counted(getattr(os, name)))


def in_child(work: Callable[[], None]) -> bool:
    """Whether work() was killed, in a process of its own."""
    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(0)
    return os.waitpid(child, 0)[1] != 0


def tree(place: Path) -> dict[str, str]:
    return {str(path.relative_to(place)): path.read_bytes().decode("latin-1") for path in place.rglob("*") if path.is_file()}


def main() -> None:
    os.fsync = lambda handle: None  # a killed process loses nothing that the system has taken; a disk would only be slow here
    for case in CASES:
        of_case(case, Path(sys.argv[1]) / case)


def of_case(case: str, folder: Path) -> None:
    before, write = CASES[case]
    for call in range(1, 1000):
        place = folder / str(call)
        place.mkdir(parents=True)
        before(place)

        def killed_at(call: int = call, place: Path = place) -> None:
            kill_at(call)
            write(place)

        killed = in_child(killed_at)
        left = tree(place)
        (write if "mine.toml" not in left else write_beside)(place)
        after, hidden = tree(place), [str(path.relative_to(place)) for path in place.rglob(".halfgain-*")]
        print(json.dumps({"case": case, "call": call, "killed": killed, "left": left, "after": after, "hidden": hidden}))
        shutil.rmtree(place)
        if not killed:
            return


if __name__ == "__main__":
    main()
