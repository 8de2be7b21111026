"""The folder of the compiled kernels: where it is, whose it is, files that are written whole, and what goes when it grows old.

A compiled kernel is code, so nothing is read that another user could have written: the folder and each file must belong to the
user (or to root, who can do anything) and be writable by nobody else.
"""

from __future__ import annotations

import os
import shutil
import stat
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

DAY_S = 86400.0
OLDEST_S = 60 * DAY_S  # since the last use
MOST_BYTES = 256 * 2**20
_LOOK_S = 0.02  # between two looks at a lock


class Refused(Exception):
    """There is no folder to trust; str() is one clear line."""


def kernel_folder() -> Path:
    """The folder, made where it was not there. HALFGAIN_CACHE or XDG_CACHE_HOME name its parent.

    Where that cannot be written, it lies among the system's temporary files, under the user's number.
    raises  Refused
    """
    wanted = _wanted()
    try:
        return _made(wanted)
    except OSError as fault:
        reason = f"{wanted}: {fault.strerror or fault}"
    user = os.getuid() if hasattr(os, "getuid") else "user"
    second = Path(tempfile.gettempdir()) / f"halfgain-kernels-{user}"
    try:
        return _made(second)
    except OSError as fault:
        raise Refused(f"{reason}; {second}: {fault.strerror or fault}") from fault


def _wanted() -> Path:
    named = os.environ.get("HALFGAIN_CACHE")
    if named:
        return Path(named).absolute() / "kernels"
    return Path(_caches()) / "halfgain" / "kernels"


def _caches() -> str:
    """The user's folder for what can be made again. Source: XDG Base Directory Specification 0.8; the systems' own rules."""
    named = os.environ.get("XDG_CACHE_HOME", "")
    if os.path.isabs(named):
        return named
    home = os.path.expanduser("~")
    if sys.platform == "win32":
        return os.environ.get("LOCALAPPDATA") or os.path.join(home, "AppData", "Local")
    return os.path.join(home, *(("Library", "Caches") if sys.platform == "darwin" else (".cache",)))


def _made(folder: Path) -> Path:
    """The folder, open to the user alone where it is made here.

    raises  OSError where it cannot be made or written;  Refused where another could write it
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    with suppress(FileExistsError):
        folder.mkdir(mode=0o700)
    facts = os.lstat(folder)
    if not stat.S_ISDIR(facts.st_mode):
        raise Refused(f"{folder} is no folder")
    if not _own(facts):
        raise Refused(f"others may write {folder} (it must be your own, mode 0700)")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise PermissionError(13, "Permission denied", os.fspath(folder))
    return folder


def _own(facts: os.stat_result) -> bool:
    """Whether nobody but this user and root can have written a file or folder."""
    if not hasattr(os, "geteuid"):
        return True  # the user's own folders are closed to others there
    return facts.st_uid in (os.geteuid(), 0) and not facts.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def read_own(path: Path) -> bytes:
    """A file's content.

    raises  FileNotFoundError; PermissionError where another could have written it; OSError
    """
    flags = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY", "O_CLOEXEC"))
    with open(os.open(path, flags), "rb") as file:
        facts = os.fstat(file.fileno())
        if not stat.S_ISREG(facts.st_mode) or not _own(facts):
            raise PermissionError(13, "another user could have written it", os.fspath(path))
        content = file.read()
    if time.time() - facts.st_mtime > DAY_S:
        with suppress(OSError):
            os.utime(path)  # it is in use: see `sweep`
    return content


def store(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, readable by the user alone.

    raises  OSError
    """
    number, written = tempfile.mkstemp(prefix=".", suffix=".part", dir=path.parent)
    try:
        with open(number, "wb") as file:
            file.write(content)
        os.replace(written, path)
    except BaseException:
        drop(Path(written))
        raise


def drop(path: Path) -> None:
    """Remove a file; nothing happens where that cannot be."""
    with suppress(OSError):
        path.unlink()


def take_turn(path: Path, longest_s: float) -> int | None:
    """Number of a file that this process alone has locked, waiting for others; `end_turn` unlocks it. Freed when the process ends.

    returns  None where there are no such locks, or another process has had it for so long that it may have stopped
    Source: POSIX record locks, which a process started meanwhile does not inherit (fcntl(2)).
    """
    try:
        import fcntl

        number = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o600)
    except (ImportError, OSError):
        return None
    deadline = time.monotonic() + longest_s
    while True:
        try:
            fcntl.lockf(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return number
        except BlockingIOError:
            if time.monotonic() < deadline:
                time.sleep(_LOOK_S)
                continue
        except OSError:  # a file system without locks
            pass
        os.close(number)
        return None


def end_turn(path: Path, number: int) -> None:
    """Unlock and remove a file of `take_turn`. Whoever still waits for the removed one finds what this process has stored."""
    drop(path)
    os.close(number)


def sweep(folder: Path, ending: str) -> None:
    """Remove what was not used for long, then the longest unused until all is small enough; never what was used within a day.

    ending  of the files' names; what interrupted writes left goes after a day, and so do folders of earlier releases
    """
    now = time.time()
    found = []
    for path in folder.iterdir():
        with suppress(OSError):
            facts = path.stat()
            if path.suffix in (ending, ".part"):
                found.append((now - facts.st_mtime, facts.st_size, path))
    found.sort(key=lambda each: each[0])
    total = 0
    for age, size, path in found:
        total += size
        if age > DAY_S and (age > OLDEST_S or total > MOST_BYTES or path.suffix == ".part"):
            drop(path)
    for old in folder.parent.iterdir():  # named by a hash of all sources, filled by numba
        if len(old.name) == 20 and not set(old.name) - set("0123456789abcdef") and _is_numbas(old, now):
            shutil.rmtree(old, ignore_errors=True)


def _is_numbas(folder: Path, now: float) -> bool:
    """Whether a folder holds numba's files only, none of them written within a day."""
    files = [path for path in folder.rglob("*") if not path.is_dir()]
    try:
        return bool(files) and all(path.suffix in (".nbi", ".nbc") and now - path.stat().st_mtime > DAY_S for path in files)
    except OSError:
        return False
