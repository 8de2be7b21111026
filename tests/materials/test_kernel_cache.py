"""Compiled kernels on disk: never stale, never damaged, never another user's. Expected values come from what the toy sources say."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from halfgain.materials.kernels import cache as kernel_cache
from halfgain.materials.kernels import folder as kernel_folder
from halfgain.materials.kernels.cache import Versions, _sealed, opened, tell_once
from halfgain.materials.kernels.compiling import compiled
from halfgain.materials.kernels.folder import Refused, sweep
from halfgain.materials.kernels.kernel import Kernel
from halfgain.materials.kernels.numbas_cache import KernelCache
from halfgain.materials.kernels.sources import Edited, Sources, imports_of
from kernel_tree import PROGRAM, Tree

FRESH, KEPT = "0 0", "1 1"
AS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0


@pytest.fixture
def tree(tmp_path: Path) -> Tree:
    return Tree(tmp_path)


def test_a_constant_two_imports_away_compiles_anew_and_an_unrelated_file_does_not(tree: Tree) -> None:
    assert tree.run()[:2] == ("4.0 -2.0", FRESH)
    assert tree.run()[:2] == ("4.0 -2.0", KEPT)
    tree.edit("beside.py", "NOTE = 1", "NOTE = 2")
    assert tree.run().kept == KEPT
    tree.edit("far.py", "RATE = 2.0", "RATE = 3.0")
    assert tree.run()[:2] == ("6.0 -2.0", FRESH)
    tree.edit("far.py", "RATE = 3.0", "RATE = 2.0")
    assert tree.run()[:2] == ("4.0 -2.0", KEPT), "what was compiled from these sources before is still there"


def test_fields_of_a_named_tuple_belong_to_the_kernel(tree: Tree) -> None:
    # The class may stand in a file that the kernel's own does not import
    apart = PROGRAM.replace("toy import Two, lesser", "two import Two\nfrom halfgain.materials.toy import lesser")
    two = "from typing import NamedTuple\n\n\nclass Two(NamedTuple):\n    {}: float\n    {}: float\n"
    (tree.package / "two.py").write_text(two.format("left", "right"))
    assert tree.run(apart).values == "4.0 -2.0"
    (tree.package / "two.py").write_text(two.format("right", "left"))
    assert tree.run(apart)[:2] == ("4.0 -2.0", "1 0")


def doubled(x: float) -> float:
    return 2.0 * x


class Entered(Kernel):
    """`doubled` as a process finds it that has compiled nothing yet, with its kept versions at a place."""

    def __init__(self, place: Path) -> None:
        super().__init__(doubled, {"error_model": "numpy", "_nrt": False})
        self.kept = Versions(doubled, place, "source")


class CalledByNumba:
    """The same as numba's dispatcher calls it, for what cannot be entered without."""

    def __init__(self, place: Path) -> None:
        self.dispatcher = compiled(doubled, {"error_model": "numpy", "_nrt": False})
        self.dispatcher._cache = KernelCache(Versions(doubled, place, "source"))

    def __call__(self, x: Any) -> float:
        return float(self.dispatcher(x))

    @property
    def from_disk(self) -> int:
        return sum(self.dispatcher.stats.cache_hits.values())


@pytest.fixture(params=[Entered, CalledByNumba])
def fresh_kernel(request: pytest.FixtureRequest) -> Any:
    """Makes a kernel, given the place of its kept versions; either way."""
    return request.param


@pytest.fixture
def told(caplog: pytest.LogCaptureFixture) -> Callable[[], list[str]]:
    """Lines said since the last call, as in a new process."""

    def lines() -> list[str]:
        said = [record.getMessage() for record in caplog.records]
        caplog.clear()
        tell_once.cache_clear()
        return said

    lines()
    return lines


def harmed(harm: str, content: bytes) -> bytes:
    """A file's content after an accident."""
    middle = len(content) // 2
    return {
        "empty": b"",
        "truncated": content[:middle],
        "garbage": b"\x80garbage\xff" * 100,
        "one flipped bit": content[:middle] + bytes([content[middle] ^ 1]) + content[middle + 1 :],
        "another kernel's": _sealed(content[50:], "another"),
    }[harm]


def test_damaged_files_are_dropped_and_compiled_again_with_one_line(
    fresh_kernel: Any, tmp_path: Path, told: Callable[[], list[str]]
) -> None:
    assert (fresh_kernel(tmp_path)(1.0), fresh_kernel(tmp_path)(np.float32(1.0)), told()) == (2.0, 2.0, [])
    files = sorted(tmp_path.glob("*.kernel"))
    assert len(files) == 2
    for harm in ("empty", "truncated", "garbage", "one flipped bit", "another kernel's"):
        for file in files:
            file.write_bytes(harmed(harm, file.read_bytes()))
        kernel = fresh_kernel(tmp_path)
        assert (kernel(1.0), kernel(np.float32(1.0))) == (2.0, 2.0), harm
        assert told() == [f"halfgain: damaged files in the kernel cache {tmp_path} are dropped and compiled again"], harm
        kernel = fresh_kernel(tmp_path)
        assert (kernel(1.0), kernel(np.float32(1.0)), kernel.from_disk, told()) == (2.0, 2.0, 2, []), harm
    files[0].unlink()
    kernel = fresh_kernel(tmp_path)
    assert (kernel(1.0), kernel(np.float32(1.0)), told()) == (2.0, 2.0, []), "a missing file is no damage"
    files[0].unlink()
    files[0].mkdir()
    kernel = fresh_kernel(tmp_path)
    assert (kernel(1.0), kernel(np.float32(1.0))) == (2.0, 2.0), "a folder in its place cannot be mended, but costs only time"


def test_a_damaged_cache_does_not_stop_a_command(tree: Tree) -> None:
    tree.run()
    for file in (tree.cache / "kernels").iterdir():
        file.write_bytes(b"")
    said = f"halfgain: damaged files in the kernel cache {tree.cache / 'kernels'} are dropped and compiled again\n"
    assert tree.run() == ("4.0 -2.0", FRESH, said)


def test_every_flipped_bit_of_a_file_is_noticed() -> None:
    sealed = _sealed(b"some content", "name")
    assert opened(sealed, "name") == b"some content"
    for place in range(len(sealed)):
        for bit in range(8):
            wrong = bytearray(sealed)
            wrong[place] ^= 1 << bit
            with pytest.raises(ValueError, match="damaged"):
                opened(bytes(wrong), "name")


def test_a_full_disk_compiles_without_a_cache_and_says_so_in_one_line(
    fresh_kernel: Any, tmp_path: Path, told: Callable[[], list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(kernel_folder.os, "replace", full)
    kernel = fresh_kernel(tmp_path)
    assert (kernel(1.0), kernel(np.float32(1.0))) == (2.0, 2.0)
    assert told() == [f"halfgain: kernels are compiled without a cache: {tmp_path}: No space left on device"]
    assert not list(tmp_path.iterdir()), "nothing half-written is left"


@pytest.mark.skipif(not AS_ROOT or sys.platform != "linux", reason="mounting a small disk is root's")
def test_a_truly_full_disk(fresh_kernel: Any, tmp_path: Path, told: Callable[[], list[str]]) -> None:
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4k", "none", str(tmp_path)], capture_output=True).returncode:
        pytest.skip("no disk can be mounted here")
    try:
        (tmp_path / "full").write_bytes(b"1" * 4096)
        assert fresh_kernel(tmp_path)(1.0) == 2.0
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)
    assert told() == [f"halfgain: kernels are compiled without a cache: {tmp_path}: No space left on device"]


def test_what_an_interrupted_write_left_is_never_read(fresh_kernel: Any, tmp_path: Path) -> None:
    fresh_kernel(tmp_path)(1.0)
    for file in tmp_path.iterdir():
        file.rename(file.with_name(f".{file.name}.part"))
    kernel = fresh_kernel(tmp_path)
    assert (kernel(1.0), kernel.from_disk) == (2.0, 0)


def test_many_processes_fill_one_cache_at_once(tree: Tree) -> None:
    environment = {**os.environ, "PYTHONPATH": str(tree.root), "HALFGAIN_CACHE": str(tree.cache)}
    started = [
        subprocess.Popen(
            [sys.executable, "-B", "-c", PROGRAM], env=environment, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        for _ in range(3)
    ]
    from_disk = 0
    for process in started:
        said, wrong = process.communicate()
        assert (said.splitlines()[0], wrong, process.returncode) == ("4.0 -2.0", "", 0)
        from_disk += sum(int(count) for count in said.splitlines()[1].split())
    assert from_disk == 2 * (len(started) - 1), "each of the two kernels is compiled by one process, and the others wait for it"
    assert tree.run() == ("4.0 -2.0", KEPT, "")
    assert {path.suffix for path in (tree.cache / "kernels").iterdir()} == {".kernel", ""}, "no lock is left"


def test_a_process_that_stopped_while_compiling_is_waited_for_only_so_long(
    fresh_kernel: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fresh_kernel(tmp_path)(1.0)
    (kept,) = tmp_path.glob(f"*{kernel_cache.ENDING}")
    kept.unlink()
    lock = tmp_path / f".{kept.name}.part"
    stopped = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "import fcntl, sys\nfile = open(sys.argv[1], 'w')\nfcntl.lockf(file, 2)\nprint(flush=True)\ninput()",
            str(lock),
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert stopped.stdin is not None
    assert stopped.stdout is not None
    stopped.stdout.readline()
    monkeypatch.setattr(kernel_cache, "LONGEST_WAIT_S", 0.1)
    assert fresh_kernel(tmp_path)(1.0) == 2.0
    assert kept.exists()
    kept.unlink()
    monkeypatch.setattr(kernel_cache, "LONGEST_WAIT_S", 30.0)
    stopped.kill()
    stopped.wait()
    assert fresh_kernel(tmp_path)(1.0) == 2.0, "a lock ends with its process"
    assert [path.name for path in tmp_path.glob(f"*{kernel_cache.ENDING}")] == [kept.name]


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="folders have owners and modes elsewhere")
def test_a_folder_that_others_may_write_is_refused(tree: Tree, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HALFGAIN_CACHE", str(tree.cache))
    place = kernel_folder.kernel_folder()
    for mode in (0o777, 0o702, 0o770):
        place.chmod(mode)
        with pytest.raises(Refused, match=f"others may write {place}"):
            kernel_folder.kernel_folder()
    told = tree.run()
    assert told[:2] == ("4.0 -2.0", FRESH)
    assert (
        told.said
        == f"halfgain: kernels are compiled without a cache: others may write {place} (it must be your own, mode 0700)\n"
    )
    assert not list(place.iterdir())
    place.rmdir()
    (tree.cache / "elsewhere").mkdir()
    place.symlink_to(tree.cache / "elsewhere")
    with pytest.raises(Refused, match="is no folder"):
        kernel_folder.kernel_folder()


@pytest.mark.skipif(not AS_ROOT, reason="only root can give a file away")
def test_what_another_user_owns_is_not_read(fresh_kernel: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fresh_kernel(tmp_path)(1.0)
    for file in tmp_path.iterdir():
        os.chown(file, 65534, 65534)  # in a folder of one's own, moved there by someone
    kernel = fresh_kernel(tmp_path)
    assert (kernel(1.0), kernel.from_disk) == (2.0, 0)
    monkeypatch.setenv("HALFGAIN_CACHE", str(tmp_path))
    os.chown(kernel_folder.kernel_folder(), 65534, 65534)
    with pytest.raises(Refused, match="others may write"):
        kernel_folder.kernel_folder()


@pytest.mark.skipif(not AS_ROOT, reason="only root can become another user")
def test_the_second_place_is_closed_to_others_and_a_foreign_one_is_not_taken(tmp_path: Path) -> None:
    program = (
        "import os, sys, tempfile\n"
        "from halfgain.materials.kernels.folder import Refused, kernel_folder\n"
        "os.umask(0); os.setgid(65534); os.setuid(65534); tempfile.tempdir = sys.argv[1]\n"
        "try: place = kernel_folder(); print(place, oct(place.stat().st_mode & 0o777))\n"
        "except Refused as fault: print('refused', fault)\n"
    )
    shared, home = tmp_path / "shared", tmp_path / "home"
    home.mkdir()
    shared.mkdir()
    for folder in (*tmp_path.parents, tmp_path):
        if folder.stat().st_uid == os.geteuid() and not folder.stat().st_mode & 0o001:
            folder.chmod(folder.stat().st_mode | 0o001)  # pytest's own folders, so that the other user gets there
    shared.chmod(0o1777)
    environment = {name: value for name, value in os.environ.items() if name not in ("HALFGAIN_CACHE", "XDG_CACHE_HOME")}

    def told() -> str:
        return subprocess.run(
            [sys.executable, "-c", program, str(shared)],
            env={**environment, "HOME": str(home)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout

    place = shared / "halfgain-kernels-65534"
    assert told() == f"{place} 0o700\n"
    place.rmdir()
    place.mkdir()
    place.chmod(0o777)
    assert told().startswith("refused")


def test_the_place_is_named_by_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Source: XDG Base Directory Specification 0.8: relative paths are ignored, and a path that is empty counts as not set
    monkeypatch.setenv("HALFGAIN_CACHE", str(tmp_path / "own"))
    assert kernel_folder.kernel_folder() == tmp_path / "own" / "kernels"
    monkeypatch.setenv("HALFGAIN_CACHE", "")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    assert kernel_folder.kernel_folder() == tmp_path / "xdg" / "halfgain" / "kernels"
    monkeypatch.setenv("XDG_CACHE_HOME", "not/absolute")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr(sys, "platform", "linux")
    assert kernel_folder.kernel_folder() == tmp_path / "home" / ".cache" / "halfgain" / "kernels"
    monkeypatch.setenv("HALFGAIN_CACHE", str(tmp_path / "file"))
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setattr(kernel_folder.tempfile, "gettempdir", lambda: str(tmp_path / "file"))
    with pytest.raises(Refused, match="file"):
        kernel_folder.kernel_folder()


def test_old_kernels_go_and_those_in_use_stay(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "kernels"
    numbas, busy = tmp_path / "0123456789abcdef0123", tmp_path / ("f" * 20)
    for folder in (place, numbas / "light", busy / "light", tmp_path / "notes"):
        folder.mkdir(parents=True)
    days = {
        "now.kernel": 0,
        "week.kernel": 7,
        "month.kernel": 30,
        "season.kernel": 90,
        ".cut.part": 2,
        ".new.part": 0,
        "imports": 90,
    }
    files = {place / name: age for name, age in days.items()}
    files |= {numbas / "light" / "a.nbi": 2, busy / "light" / "a.nbi": 0, tmp_path / "notes" / "b.nbi": 90}
    for path, age in files.items():
        path.write_bytes(b"1" * 1000)
        then = time.time() - age * 86400 - 60
        os.utime(path, (then, then))

    def left() -> set[str]:
        return {path.name for path in place.iterdir()}

    sweep(place, ".kernel")
    assert left() == {"now.kernel", "week.kernel", "month.kernel", ".new.part", "imports"}
    assert {path.name for path in tmp_path.iterdir()} == {"kernels", busy.name, "notes"}
    monkeypatch.setattr(kernel_folder, "MOST_BYTES", 3500)
    sweep(place, ".kernel")
    assert left() == {"now.kernel", "week.kernel", ".new.part", "imports"}, "the longest unused goes first"
    monkeypatch.setattr(kernel_folder, "MOST_BYTES", 0)
    sweep(place, ".kernel")
    assert left() == {"now.kernel", ".new.part", "imports"}, "used within a day"
    kernel_folder.read_own(place / "imports")
    assert time.time() - (place / "imports").stat().st_mtime < 60, "reading an old file marks it as used"


def test_imports_are_read_from_the_text() -> None:
    text = b"""
import a.b, c
from . import d
from ..e.f import (g,
    h as i)
if TYPE_CHECKING:
    from .types import J
else:
    from .k import l
def late():
    from .m import n
"""
    assert imports_of(text) == sorted(
        [(0, "a.b", ()), (0, "c", ()), (1, "", ("d",)), (2, "e.f", ("g", "h")), (1, "k", ("l",)), (1, "m", ("n",))]
    )


def test_a_file_edited_while_the_process_runs_is_not_trusted(tmp_path: Path) -> None:
    (tmp_path / "part").mkdir()
    (tmp_path / "part" / "a.py").write_text("from . import b\n")
    (tmp_path / "part" / "b.py").write_text("X = 1\n")
    (tmp_path / "part" / "__init__.py").write_text("")
    with pytest.raises(Edited):
        Sources(tmp_path, "top").hash_of("top.part.a")
    for path in (tmp_path / "part").iterdir():
        os.utime(path, (0, 0))
    first = Sources(tmp_path, "top").hash_of("top.part.a")
    (tmp_path / "part" / "b.py").write_text("X = 2\n")
    os.utime(tmp_path / "part" / "b.py", (0, 0))
    assert Sources(tmp_path, "top").hash_of("top.part.a") != first, "of the same size and time"
    with pytest.raises(OSError, match=r"top\.part\.none"):
        Sources(tmp_path, "top").hash_of("top.part.none")


def test_no_kernel_reads_of_the_project_what_its_hash_does_not_cover() -> None:
    # Expected: every global that a kernel's code names and that another module of the project made is made by a module under its hash
    import importlib

    root = Path(kernel_cache.__file__).resolve().parents[2]
    checked, remembered = 0, Sources(root, "halfgain").remembered  # each text is parsed once
    for top in ("materials", "scenes", "simulate"):
        for path in sorted((root / top).rglob("*.py")):
            if b"import kernel" not in path.read_bytes() or path.name == "first_run.py":
                continue
            name = ".".join(("halfgain", *path.relative_to(root).with_suffix("").parts))
            module = importlib.import_module(name)
            sources = Sources(root, "halfgain")
            sources.remembered = remembered
            sources.hash_of(name)
            for kernel in vars(module).values():
                function = getattr(kernel, "py_func", kernel)
                if getattr(function, "__module__", None) != name or not hasattr(function, "__code__"):
                    continue
                for used in function.__code__.co_names:
                    owner = getattr(getattr(module, used, None), "__module__", "") or ""
                    if owner.startswith("halfgain."):
                        checked += 1
                        assert owner in sources._texts, f"{name}.{function.__name__} uses {owner}.{used}"
    assert checked > 200
