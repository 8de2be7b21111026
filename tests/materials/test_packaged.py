"""Machine code that comes with the package: entered where it fits, passed over where it does not, with the same values either way.

It is made here as it is for a wheel, by `.build/compile_ahead.py`. Expected values come from what the toy sources say.
"""

from __future__ import annotations

import json
import os
import platform
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import llvmlite.binding as llvm
import numpy as np
import pytest
from halfgain.materials.kernels import packaged
from halfgain.materials.kernels.cache import Versions, tell_once
from halfgain.materials.kernels.door import with_door
from halfgain.materials.kernels.jit import kernel
from halfgain.materials.kernels.kernel import Kernel
from halfgain.materials.kernels.machine import DOOR, HowToCall, packed
from halfgain.materials.kernels.packaged import FEATURES, PackagedVersions, fits_here, packaged_versions_of
from halfgain.materials.kernels.symbols import undefined
from kernel_tree import PROGRAM, Tree
from numba import typeof

BUILD = Path(__file__).resolve().parents[2] / ".build"
MADE_HERE = (sys.platform, platform.machine()) == ("linux", "x86_64")
RECORD = f"""
import sys
from pathlib import Path

sys.path.insert(0, {str(BUILD)!r})
from compile_ahead import record_into, write_imports

record_into(Path({{folder!r}}))
{PROGRAM}
write_imports(Path({{folder!r}}))
"""
ENTERED = f"""
{PROGRAM}
print([kernel.from_package for kernel in (scaled, lesser)], "numba" in sys.modules, file=sys.stderr)
"""
OPTIONS = {"error_model": "numpy", "_nrt": False}

needs_level = pytest.mark.skipif(not (MADE_HERE and fits_here()), reason="machine code is made under Linux on such processors")


@pytest.fixture
def shipped(tmp_path: Path) -> Tree:
    """A project whose package has machine code, with an empty cache."""
    tree = Tree(tmp_path)
    made = tree.package / "kernels" / "machine_code"
    made.mkdir()
    tree.run(RECORD.format(folder=str(made)))
    assert sorted(path.name.partition("-")[0] for path in made.iterdir()) == ["imports", "toy.lesser", "toy.scaled"]
    return tree


@needs_level
def test_a_first_run_enters_what_came_with_the_package_and_compiles_nothing(shipped: Tree) -> None:
    first = shipped.run(ENTERED, bare=True, before="import sys")
    assert first == ("4.0 -2.0", "0 0", "[1, 1] False\n")
    assert list((shipped.cache / "kernels").iterdir()) == []
    parsed = (
        "from halfgain.materials.kernels import cache, sources\nsources.imports_of = None"  # what texts import came with it too
    )
    assert shipped.run(ENTERED, bare=True, before=f"import sys\n{parsed}") == first
    for path in sorted((shipped.package / "kernels" / "machine_code").iterdir()):
        os.chmod(path, 0o666)  # as an installer may leave it: trusted as the modules beside it are
    nowhere = str(shipped.root / "halfgain" / "__init__.py")  # a file, so no cache can be made below it
    assert shipped.run(ENTERED, bare=True, before="import sys", HALFGAIN_CACHE=nowhere, TMPDIR=nowhere).said.endswith(
        "[1, 1] False\n"
    )
    shipped.edit("far.py", "RATE = 2.0", "RATE = 3.0")
    assert shipped.run(ENTERED, bare=True, before="import sys") == ("6.0 -2.0", "0 0", "[0, 0] True\n")


def doubled(x: float) -> float:
    return 2.0 * x


class Shipped(Kernel):
    """`doubled` as a process finds it that has compiled nothing yet, with nothing but a package's machine code at a place."""

    def __init__(self, place: Path) -> None:
        super().__init__(doubled, OPTIONS)
        self.packaged, self.kept = PackagedVersions(doubled, place, "source"), None


@pytest.fixture
def content() -> bytes:
    """Machine code of `doubled` for a number."""
    return with_door(doubled, OPTIONS, (typeof(1.0),))


def test_what_is_damaged_or_cannot_be_linked_is_passed_over_and_left_as_it_is(
    tmp_path: Path, content: bytes, caplog: pytest.LogCaptureFixture
) -> None:
    tell_once.cache_clear()
    name = PackagedVersions(doubled, tmp_path, "source").name(["float64"])
    Versions(doubled, tmp_path, "source").keep(name, content)
    file = tmp_path / name
    whole = file.read_bytes()

    def run(data: bytes) -> tuple[int, list[str]]:
        file.write_bytes(data)
        made = Shipped(tmp_path)
        assert made(1.5) == 3.0
        assert file.read_bytes() == data
        said = [record.getMessage() for record in caplog.records]
        caplog.clear()
        tell_once.cache_clear()
        return made.from_package, said

    assert run(whole) == (1, [])
    damaged = [f"halfgain: damaged machine code in {tmp_path} is passed over; pip install --force-reinstall mends it"]
    for harmed in (b"", whole[:-9], whole[:60] + bytes([whole[60] ^ 1]) + whole[61:], b"garbage" * 100):
        assert run(harmed) == (0, damaged)
    Versions(doubled, tmp_path, "source").keep(name, packed(HowToCall("d", ["no_such_function"]), content.partition(b"\n")[2]))
    assert run(file.read_bytes()) == (0, []), "a C library that lacks something"
    file.unlink()
    assert (Shipped(tmp_path)(1.5), [record.getMessage() for record in caplog.records]) == (3.0, []), (
        "a missing file is no damage"
    )


@pytest.fixture
def afresh(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], bool]]:
    """Whether a package's machine code would be looked for in a new process."""
    monkeypatch.setattr(packaged, "PACKAGED", tmp_path)

    def asked() -> bool:
        fits_here.cache_clear()
        return packaged_versions_of(doubled) is not None

    monkeypatch.setattr(packaged, "packaged_source", lambda module: "source")
    yield asked
    fits_here.cache_clear()


@needs_level
def test_other_systems_processors_and_options_pass_it_over(
    afresh: Callable[[], bool], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert afresh()
    has = llvm.get_host_cpu_features()
    for feature in sorted(FEATURES):
        with monkeypatch.context() as patch:
            patch.setattr(llvm, "get_host_cpu_features", lambda feature=feature: {**has, feature: False})
            assert not afresh(), feature
    for owner, name, value in (
        (sys, "platform", "darwin"),
        (sys, "byteorder", "big"),
        (sys, "maxsize", 2**31 - 1),
        (platform, "machine", lambda: "aarch64"),
        (packaged, "arrays_as_known", lambda: False),
        (packaged, "PACKAGED", tmp_path / "none"),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(owner, name, value)
            assert not afresh(), name
    with monkeypatch.context() as patch:
        patch.setenv("NUMBA_BOUNDSCHECK", "1")
        assert not afresh(), "numba's own options"
    assert afresh()


def tail(x: float) -> float:
    return np.exp(-x) + np.sin(x) * np.cos(x)


def test_what_machine_code_calls_is_told_whole_and_its_bytes_do_not_hang_on_what_was_compiled_before() -> None:
    # Expected: exp is called in every C library; sine and cosine of one angle are one call or two, as the compiler likes
    first = with_door(tail, OPTIONS, (typeof(1.0),))
    line, _, code = first.partition(b"\n")
    names = undefined(code)
    assert names is not None
    assert {"exp"} < set(names) <= {"exp", "sin", "cos", "sincos"}, "what is inside, as the door, is none of them"
    assert DOOR.encode() in code
    assert HowToCall("d", names) == HowToCall(**json.loads(line))
    kernel(doubled)(1.0)
    assert with_door(tail, OPTIONS, (typeof(1.0),)) == first
    assert undefined(b"MZ" + code[2:]) is None
    assert undefined(b"") is None
