"""Kernels compiled as parts and wholes: numba's own way of compiling is the outside reference, to the bit."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from halfgain.materials.kernels import compiling
from halfgain.materials.kernels.jit import kernel
from halfgain.materials.library import load_library
from kernel_tree import alone, forked
from numba import njit
from numba.core.errors import TypingError

PROGRAM = """
import numpy as np
from pathlib import Path
from halfgain.materials.kernels.compiling import compiled
from halfgain.materials.kernels.cache import Versions
from halfgain.materials.kernels.numbas_cache import KernelCache

options = {"nogil": True, "error_model": "numpy", "_nrt": False}

def inner(x, k):
    if x < 0.0:
        raise ValueError("below zero")
    return np.sqrt(x) * k

inner = compiled(inner, options)

def outer(values, out):
    for i in range(len(values)):
        out[i] = inner(values[i], 1) + inner(values[i], 2)

outer = compiled(outer, options)
outer._cache = KernelCache(Versions(outer.py_func, Path(FOLDER), "source"))
out = np.zeros(3)
outer(np.array([1.0, 4.0, 9.0]), out)
assert out.tolist() == [3.0, 6.0, 9.0], out
try:
    outer(np.array([-1.0]), out)
except ValueError as fault:
    print(fault, len(inner.overloads), len(inner.part.overloads), sum(outer.stats.cache_hits.values()))
"""

GAINS = """
import pickle
import sys
import numpy as np
from halfgain.materials.lobes.brdf import fabric_gains, fill_gains

rng = np.random.default_rng(5)
wi, wo = (d / np.linalg.norm(d, axis=1)[:, None] for d in np.abs(rng.normal(size=(2, 200, 3))))
with open(FILE, "rb") as file:
    fabrics = pickle.load(file)
for name, arrays in fabrics.items():
    print(name, fabric_gains(arrays, wi, wo).tobytes().hex())
print(type(fill_gains.dispatcher).__name__ if "numba" in sys.modules else "no numba")
"""


def test_a_kernel_gives_the_same_bits_as_compiled_by_numba_alone(tmp_path: Path) -> None:
    # Expected: every bit of the gains of fabrics of all families, from a process in which numba compiles its own way and optimises nothing
    apart = {**os.environ, "HALFGAIN_CACHE": str(tmp_path)}  # for numba's; ours are those that all tests use
    file = tmp_path / "fabrics"  # solved here, so that no solver is compiled as well
    file.write_bytes(pickle.dumps({name: fabric.arrays() for name, fabric in load_library().fabrics.items()}))
    no_door = "from halfgain.materials.kernels import numbas; numbas.compiled_with_door = lambda *_: None"
    gains = GAINS.replace("FILE", repr(str(file)))
    numbas_own = "from halfgain.materials.kernels import compiling; compiling._NEEDED += ('none',)"
    ran = [
        forked(gains, dict(os.environ), tmp_path),
        alone(gains, dict(os.environ)),  # what the one before has kept at the latest
        forked(f"{no_door}\n{gains}", {**apart, "HALFGAIN_CACHE": str(tmp_path / "whole")}, tmp_path),
        alone(f"{no_door}\n{numbas_own}\n{gains}", {**apart, "NUMBA_OPT": "0"}),
    ]
    assert [status for status, _, _ in ran] == [0] * 4, ran
    told = [out.splitlines() for _, out, _ in ran]
    assert [lines[-1] for lines in told[1:]] == ["no numba", "Whole", "CPUDispatcher"]
    assert told[0][:-1] == told[1][:-1] == told[2][:-1] == told[3][:-1]
    assert len(told[0]) > 15


def test_what_a_part_raises_reaches_python_and_a_second_process_finds_the_whole(tmp_path: Path) -> None:
    # Expected: the error's own words, from fresh code and from the disk; no whole of the inner kernel, one part for both numbers
    program = PROGRAM.replace("FOLDER", repr(str(tmp_path)))
    told = [forked(program, dict(os.environ), tmp_path) for _ in range(2)]
    assert told == [(0, "below zero 0 1 0\n", ""), (0, "below zero 0 0 1\n", "")]


def test_an_unknown_numba_compiles_its_own_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiling, "_NEEDED", (*compiling._NEEDED, "no_such_name"))
    double = compiling.compiled(lambda x: 2 * x, {"error_model": "numpy"})
    assert not isinstance(double, compiling.Whole)


BREAKS = [
    "compiling._WholeCompiler.compile_extra = None",
    "compiling._PartCompiler.__init__ = lambda self, one: None",
    "compiling._WholeLibrary._optimize_final_module = lambda self, one: None",
    "compiling._PartLibrary.finalize = lambda self: self.no_such_name",
    "compiling.pipeline._Lower.storevar = lambda self, one: None",
    "compiling.pipeline._Remembering.resolve_function_type = lambda self, one: None",
    "compiling.pipeline._Interpreter.post_process = lambda self, one: None",
    "compiling.pipeline._blocks_alone = lambda self, one: None",
]
BROKEN = """
import os, sys
from halfgain.materials.kernels import compiling
from halfgain.materials.kernels.compiling import compiled
from numba import njit

njit(lambda x: x)(1.0)  # what numba sets up when it first compiles serves all
options = {'nogil': True, 'error_model': 'numpy', '_nrt': False, 'forceinline': False}
for broken in sys.argv[1:]:
    child = os.fork()
    if not child:
        exec(broken)
        inner = compiled(lambda x: x + 1.0, options)
        outer, other = compiled(lambda x: 2.0 * inner(x), options), compiled(lambda x: 3.0 * inner(x), options)
        print(outer(1.0), other(1.0), inner(1.0), flush=True)
        os._exit(0)
    assert os.waitpid(child, 0)[1] == 0, broken
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="numba is imported once, and each process that is broken begins with it")
def test_whatever_fails_in_the_machinery_is_compiled_numbas_way() -> None:
    # As in a release of numba whose inner names are the same but want other arguments. Expected: the value, and one line
    ran = subprocess.run([sys.executable, "-c", BROKEN, *BREAKS], capture_output=True, text=True)
    assert (ran.stdout, ran.returncode) == ("4.0 6.0 2.0\n" * len(BREAKS), 0), ran.stderr
    said = ran.stderr.splitlines()
    assert len(said) == len(BREAKS), ran.stderr
    for line in said:
        assert line.startswith("halfgain: kernels are compiled numba's own way, which takes longer (")


@kernel
def _increased(x):
    return x + 1.0


@kernel
def _never_increased(x):
    return _increased(x) if 1 > 2 else x


@kernel
def _increased_and_doubled(x):
    return 2.0 * _increased(x)


@kernel
def _both(x):
    return _never_increased(x) + _increased_and_doubled(x)


def test_a_part_that_its_first_caller_no_longer_calls_is_linked_for_the_next() -> None:
    # A linker leaves out what nothing needs yet. Expected: the sum, from code with a door, so nothing in it is missing
    assert _both(1.0) == 5.0
    assert None not in _both._codes.values()


def test_a_function_that_numba_compiles_its_own_way_may_call_kernels_that_call_kernels() -> None:
    # Two kernels that call one and the same third. Expected: the sum; with anything left unlinked the process would end
    @njit
    def by_numba(x):
        return _both(x) + _increased_and_doubled(x)

    assert by_numba(1.0) == 9.0


def test_a_kernel_that_cannot_be_compiled_is_its_own_fault() -> None:
    wrong = kernel(lambda x: x.no_such_name)
    with pytest.raises(TypingError, match="no_such_name"):
        wrong(1.0)
    assert not compiling.Whole.numbas_way


def test_a_kernel_that_makes_an_array_must_say_so() -> None:
    @kernel
    def sums(n):
        return np.zeros(n).sum()

    @kernel
    def hidden(a):
        return (a + 2.0)[0]

    @kernel
    def outer(n):
        return sums(n) + 1.0

    for wrong, argument, name in ((sums, 3, "sums"), (hidden, np.ones(3), "hidden"), (outer, 3, "sums")):
        with pytest.raises(TypeError, match=rf"^kernel \S*{name} makes an array: mark it @kernel\(allocates=True\)$"):
            wrong(argument)
    assert kernel(allocates=True)(hidden.py_func)(np.ones(3)) == 3.0
