"""Hidden folders in which outputs are made before they get their names, and what killed runs left of them."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import socket
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

PREFIX = ".halfgain-"
_NAME = re.compile(rf"{re.escape(PREFIX)}([0-9a-f]{{12}})-([0-9]+)-([0-9]+)-\w+")
_OLD_S = 7 * 86400.0  # writing takes seconds; what another machine or an earlier boot left is dead after a week


@contextmanager
def work_folder(place: Path) -> Iterator[Path]:
    """A hidden folder in `place`, gone at the end; what killed runs left in `place` is taken away on the way.

    Its name holds machine, process and the process's start, so that any later run can tell whether its owner still lives.
    raises  OSError where `place` takes no folder
    """
    work = Path(tempfile.mkdtemp(prefix=f"{PREFIX}{_machine()}-{os.getpid()}-{_start(os.getpid())}-", dir=place))
    try:
        clean(place, now_s=work.stat().st_mtime)  # by the clock of that disk, which may be another machine's
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)


def clean(place: Path, *, now_s: float) -> None:
    """Remove work folders of this user whose process is dead, or that are a week old; nothing else, and no fault if that fails.

    now_s  the time by the clock that dates files in `place` [s since 1970]
    Names of older releases tell no owner and may hold the only copy of a file: they stay.
    """
    try:
        found = [(entry.path, match) for entry in os.scandir(place) if (match := _NAME.fullmatch(entry.name))]
    except OSError:
        return
    for path, match in found:
        try:
            there = os.lstat(path)
        except OSError:
            continue
        if not stat.S_ISDIR(there.st_mode) or (hasattr(os, "getuid") and there.st_uid != os.getuid()):
            continue
        here = match[1] == _machine()
        if (here and not _lives(int(match[2]), int(match[3]))) or now_s - there.st_mtime > _OLD_S:
            shutil.rmtree(path, ignore_errors=True)


@cache
def _machine() -> str:
    """Twelve letters for where a process number means something: host, boot, and its space of process numbers."""
    parts = [socket.gethostname()]
    for read in (lambda: Path("/proc/sys/kernel/random/boot_id").read_text("ascii"), lambda: os.readlink("/proc/self/ns/pid")):
        try:
            parts.append(read())
        except OSError:  # not Linux
            parts.append("")
    return hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:12]


def _start(process: int) -> int:
    """When a process started [ticks since boot]; 0 where the system does not tell, or there is no such process.

    Source: proc(5), /proc/PID/stat, field 22; the name in field 2 may hold blanks and brackets.
    """
    try:
        return int(Path(f"/proc/{process}/stat").read_bytes().rpartition(b")")[2].split()[19])
    except (OSError, ValueError, IndexError):
        return 0


def _lives(process: int, start: int) -> bool:
    """Whether a process of this machine that had this start is still there; in doubt it is."""
    if start:
        return _start(process) == start
    if os.name == "nt":  # there os.kill would end the process it asks for
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
