"""Machine code entered without numba: kinds of arguments are judged as numba judges them, and the bits are those that numba gives.

Expected values come from numba itself, the outside reference, unless a test says otherwise.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from halfgain.materials.kernels import kernel as kernel_module
from halfgain.materials.kernels import machine
from halfgain.materials.kernels.arguments import Unknown, cell_format, is_known, laid_out, lasting, words
from halfgain.materials.kernels.cache import ENDING, Versions
from halfgain.materials.kernels.jit import kernel
from halfgain.materials.kernels.kernel import Kernel
from halfgain.materials.kernels.machine import HowToCall, MachineCode, packed
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.output.measure.document import document, to_json
from kernel_tree import Tree
from numba import typeof

KINDS = "?bhilqBHILQfd"


class Pair(NamedTuple):
    left: Any
    right: Any


class Twin(NamedTuple):
    left: Any
    right: Any


def any_array(rng: np.random.Generator) -> np.ndarray:
    """An array of any element type, up to three axes, in C's order, in Fortran's or in none, empty now and then, frozen or not."""
    axes = int(rng.integers(0, 4))
    whole = (rng.normal(size=tuple(2 * rng.integers(0, 4, axes))) * 50.0).astype(rng.choice(list(KINDS)))
    way = rng.integers(0, 5)
    if axes and way == 1:
        whole = np.asfortranarray(whole)
    elif axes and way == 2:
        whole = whole[..., ::2]
    elif axes and way == 3:
        whole = whole[::-1]
    elif axes and way == 4:
        whole = np.broadcast_to(whole[:1], whole.shape)
    whole = whole.view()
    if whole.flags.writeable and rng.random() < 0.5:
        whole.flags.writeable = False
    return whole


def any_value(rng: np.random.Generator, depth: int = 0) -> Any:
    """A value of any kind that kernels are handed, and of a few that they are not."""
    which = int(rng.integers(0, 6 if depth > 2 else 9))
    if which < 2:
        return any_array(rng)
    if which == 2:
        return int(rng.choice([0, 1, -1, 2**31, -(2**31) - 1, 2**63 - 1, -(2**63) + 1]))
    if which == 3:
        return float(rng.normal())
    if which == 4:
        return bool(rng.integers(0, 2))
    if which == 5:
        return np.dtype(str(rng.choice(list(KINDS)))).type(rng.integers(0, 100))
    members = tuple(any_value(rng, depth + 1) for _ in range(int(rng.integers(0, 4))))
    if which == 6:
        return members
    return (Pair if which == 7 else Twin)(any_value(rng, depth + 1), any_value(rng, depth + 1))


def leaves(value: Any) -> Iterator[Any]:
    if isinstance(value, tuple):
        for member in value:
            yield from leaves(member)
    else:
        yield value


def test_kinds_differ_where_numbas_types_do_and_nowhere_else() -> None:
    rng = np.random.default_rng(7)
    known: dict[str, Any] = {}
    types: dict[Any, str] = {}
    for _ in range(4000):
        value = any_value(rng)
        kinds, cells = laid_out((value,))
        said, kind = repr(words(kinds)), typeof(value)
        assert known.setdefault(said, kind) == kind, value
        assert types.setdefault(kind, said) == said, value
        assert len(cells) == len(cell_format(kinds)) - 1 == len(list(leaves(value)))
    assert len(known) > 1000
    assert len({str(kind) for kind in known.values() if "array" in str(kind)[:15]}) > 150


def test_what_is_not_known_is_left_to_numba() -> None:
    class Own(np.ndarray):
        pass

    unaligned = np.zeros(17, np.uint8)[1:].view(float)
    assert not unaligned.flags.aligned
    swapped = np.zeros(2, ">f8" if sys.byteorder == "little" else "<f8")
    for value in (
        2**63,
        -(2**63),
        "text",
        None,
        1j,
        np.zeros(2, complex),
        np.zeros(2, "M8[s]"),
        np.zeros(2, [("x", float)]),
        np.zeros(2, object),
        np.zeros(2, np.float16),
        np.zeros(2).view(Own),
        unaligned,
        swapped,
        (1.0, [2.0]),
        np.float16(1.0),
    ):
        with pytest.raises(Unknown):
            laid_out((1, value))


@lasting
class Kept(NamedTuple):
    left: Any
    right: Any


def test_a_lasting_bundle_is_laid_out_once_and_like_any_other() -> None:
    # Expected: kinds and cells of the same members in a plain tuple, and of a bundle that has changed hands
    def closed(*shape: int) -> np.ndarray:
        array = np.zeros(shape)
        array.flags.writeable = False
        return array

    for members in ((closed(3), (closed(2, 2), 1)), (closed(1, 2, 3), 0.5)):
        mine, plain = Kept(*members), laid_out((members,))
        for _ in range(2):
            kinds, cells = laid_out((mine,))
            assert (kinds[0], kinds[1:], cells) == (Kept, plain[0][1:], plain[1])
            assert is_known(mine)
    assert not is_known(Kept(*members))


def test_what_can_be_written_to_or_is_large_is_laid_out_each_time() -> None:
    large = np.zeros(1 << 19)
    large.flags.writeable = False
    for bundle in (Kept(np.zeros(2), 1), Kept((1, np.zeros(2)), 1), Kept(large, 1)):
        laid_out((bundle,))
        assert not is_known(bundle)


def test_bundles_that_come_and_go_are_told_apart() -> None:
    # Expected: the address of the array in hand, whatever stood at a bundle's place before; a hundred are more than are remembered
    for size in range(1, 101):
        array = np.arange(size)
        array.flags.writeable = False
        assert laid_out((Kept(array, size),))[1] == [id(array), size]


def scaled(scale: Any, array: Any, more: Any, out: Any) -> Any:
    """Every element and every number is read, by place, so that wrong strides, sizes or cells show."""
    total = 0.0
    for i in range(array.shape[0]):
        for j in range(array.shape[1]):
            out[i, j] = scale * array[i, j]
            total += out[i, j] * (i + 1) + j
    return total, more.left[0], more.right + 1, array.size, array.ndim, more.left[0] > 1, (more.right, scale), array.itemsize


def both_ways(function: Callable[..., Any], arguments: tuple[Any, ...], outs: tuple[int, ...]) -> None:
    """Value and outputs of a kernel with its door and of numba's dispatcher, to the bit and to the type."""
    made = kernel(function)
    told = []
    for call in (made, made.dispatcher):
        copies = tuple(each.copy() if k in outs else each for k, each in enumerate(arguments))
        told.append((repr(call(*copies)), [copies[k].tobytes() for k in outs]))
    assert told[0] == told[1]
    assert [code for code in made._codes.values()] != [None], "it was entered without numba"


LETTERS = ["f", "d", "h", "B", "q", "Q"]


@pytest.mark.parametrize("letter", LETTERS)
def test_values_and_outputs_are_those_of_numbas_own_call(letter: str) -> None:
    rng = np.random.default_rng(3)
    whole = (rng.normal(size=(6, 8)) * 40.0).astype(letter)
    numbers = ((2.5, np.float32(1.5), True), (np.int16(-3), np.uint64(2**63 + 9), np.bool_(False)))
    for place, array in enumerate((whole, np.asfortranarray(whole), whole[::2, ::-3])):  # both with each letter and each order
        scale, left, right = numbers[(LETTERS.index(letter) + place) % 2]
        both_ways(scaled, (scale, array, Pair((left, 7), right), np.zeros(array.shape)), (3,))


def test_a_measured_scene_has_the_same_bits_with_and_without_numba(tmp_path: Path) -> None:
    # All kernels that a measurement runs: compiled or found here, found by a process that never imports numba, and in one that numba serves,
    # which optimises nothing
    here = to_json(document(measure(load_scene("black-box"))))
    program = (
        "import sys\n{}\nfrom halfgain.simulate.command.app import main\nsys.argv = ['halfgain', 'measure', 'black-box', '--json']\n"
        "try: main()\nfinally: print('numba' in sys.modules, file=sys.stderr)\n"
    )
    no_door = "from halfgain.materials.kernels import numbas\nnumbas.compiled_with_door = lambda *_: None"
    answers = []
    for before, apart in (("", {}), (no_door, {"HALFGAIN_CACHE": str(tmp_path), "NUMBA_OPT": "0"})):
        answers.append(
            subprocess.run(
                [sys.executable, "-c", program.format(before)],
                env={**os.environ, **apart},
                capture_output=True,
                text=True,
                check=True,
            )
        )
    assert [each.stderr.split()[-1] for each in answers] == ["False", "True"]
    figures = [json.loads(text) for text in (here, *(each.stdout for each in answers))]
    assert all(each.pop("elapsed_s") > 0.0 for each in figures)
    assert figures[0] == figures[1] == figures[2]


def test_an_exception_of_a_kernel_reaches_python_in_its_own_words() -> None:
    @kernel
    def root(x):
        if x < 0.0:
            raise ValueError("below zero")
        return x**0.5

    assert root(4.0) == 2.0
    with pytest.raises(ValueError, match=r"^below zero$"):
        root(-1.0)
    assert root(9.0) == 3.0
    with pytest.raises(TypeError):
        root(1.0, 2.0)
    assert root(x=16.0) == 4.0


def test_other_threads_run_while_a_kernel_does() -> None:
    # Expected: without the lock released, this thread would stand still from the kernel's first step to its last
    @kernel
    def spin(steps):
        x = np.uint64(88172645463325252)
        for _ in range(steps):
            x ^= x << np.uint64(13)
            x ^= x >> np.uint64(7)
            x ^= x << np.uint64(17)
        return x

    once = spin(1000)
    began, values = threading.Event(), []

    def run() -> None:
        began.set()
        values.append(spin(200_000_000))

    thread = threading.Thread(target=run)
    thread.start()
    began.wait()
    turns = 0
    while thread.is_alive():
        turns += 1
        thread.join(0.001)
    assert turns > 10
    threads = [threading.Thread(target=lambda: values.append(spin(1000))) for _ in range(8)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert values[1:] == [once] * 8


def test_many_threads_that_ask_at_once_compile_one_version(tmp_path: Path) -> None:
    class Counted(Kernel):
        made = 0

        def _found_or_compiled(self, *asked: Any) -> Any:
            self.made += 1
            return super()._found_or_compiled(*asked)

    shared = Counted(lambda x: x + 1.0, {"error_model": "numpy", "_nrt": False, "nogil": True})
    values: list[float] = []
    threads = [threading.Thread(target=lambda: values.append(shared(1.0))) for _ in range(8)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert (values, shared.made, shared.versions) == ([2.0] * 8, 1, 1)


def test_code_that_needs_what_this_process_lacks_is_left_to_numba(tmp_path: Path) -> None:
    def half(x):
        return 0.5 * x

    class Kept(Kernel):
        def __init__(self) -> None:
            super().__init__(half, {"error_model": "numpy", "_nrt": False})
            self.kept = Versions(half, tmp_path, "source")

    assert Kept()(3.0) == 1.5
    (file,) = tmp_path.glob(f"*{ENDING}")
    kept = Versions(half, tmp_path, "source")
    content = kept.found(file.name, bytes)
    kept.keep(file.name, packed(HowToCall("d", ["no_such_function_anywhere"]), content.partition(b"\n")[2]))
    again = Kept()
    assert (again(3.0), again.from_disk, list(again._codes.values())) == (1.5, 1, [None])
    kept.keep(file.name, b"{}\nno machine code")
    assert (Kept()(3.0), len(kept.found(file.name, bytes))) == (1.5, len(content)), "compiled again"


def test_code_that_cannot_be_linked_here_is_left_to_numba_and_not_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def half(x):
        return 0.5 * x

    class Kept(Kernel):
        def __init__(self) -> None:
            super().__init__(half, {"error_model": "numpy", "_nrt": False})
            self.kept = Versions(half, tmp_path, "source")

    tried = []

    def refused(code: bytes, needs: list[str]) -> int:
        tried.append(needs)
        raise RuntimeError("this linker knows no such files")

    monkeypatch.setattr(machine, "_linked", refused)
    assert [Kept()(3.0), Kept()(5.0)] == [1.5, 2.5]
    assert len(tried) == 1
    assert [record.message for record in caplog.records] == [
        "halfgain: kernels are run by numba, which takes longer (RuntimeError: this linker knows no such files)"
    ]


def test_a_kernel_without_a_door_is_told_apart_once_for_all_processes(tree_of_pairs: Tree) -> None:
    # A named tuple is returned, whose class only numba can make
    told = [tree_of_pairs.run(PAIRS) for _ in range(2)]
    assert told[0].values == told[1].values == "Two(left=3.0, right=1.0)"
    assert [each.kept for each in told] == ["0 0", "1 1"]
    assert sorted(len(path.read_bytes()) < 100 for path in tree_of_pairs.files()) == [False, True]


PAIRS = """
from halfgain.materials.toy import Two, turned

print(turned(Two(left=1.0, right=3.0)))
print(turned.from_disk, sum(turned.dispatcher.stats.cache_hits.values()))
"""


@pytest.fixture
def tree_of_pairs(tmp_path: Path) -> Tree:
    tree = Tree(tmp_path)
    with (tree.package / "toy.py").open("a") as file:
        file.write("\n\n@kernel\ndef turned(two):\n    return Two(two.right, two.left)\n")
    return tree


def test_another_release_or_processor_compiles_anew(tmp_path: Path) -> None:
    tree = Tree(tmp_path)
    program = "from halfgain.materials.toy import scaled\nprint(scaled(1.0))\nprint(scaled.from_disk)"
    assert tree.run(program).kept == "0"
    assert tree.run(program).kept == "1"
    other = "from halfgain.materials.kernels import {0} as m\nm.{1}"
    release = other.format("cache", "_release = lambda package: package + ' 0.0'")
    assert tree.run(program, before=release).kept == "0"
    made_for = other.format("kernel", "processor = lambda: ('another', 'processor', '')")
    assert tree.run(program, before=made_for).kept == "0"
    assert tree.run(program, NUMBA_BOUNDSCHECK="1").kept == "0", "numba's own options"
    assert tree.run(program).kept == "1"


def test_arrays_may_be_dropped_after_the_call_and_are_held_during_it() -> None:
    @kernel
    def filled(pair, value):
        for i in range(pair.left.shape[0]):
            pair.left[i] = value + pair.right[i]

    for k in range(200):
        pair = Pair(np.empty(1000), np.arange(1000.0))
        filled(Pair(pair.left, np.arange(1000.0) * 1.0), float(k))
        assert pair.left[-1] == 999.0 + k
    machine_code = next(iter(filled._codes.values()))
    assert isinstance(machine_code, MachineCode)
    assert kernel_module.processor() == machine.processor()


def test_only_the_machinery_of_kernels_names_numba() -> None:
    # Else every start of a command would import it
    root = Path(machine.__file__).resolve().parents[2]
    named = {
        path.relative_to(root).as_posix()
        for top in ("materials", "scenes", "simulate")
        for path in (root / top).rglob("*.py")
        if re.search(r"^\s*(import|from) numba\b", path.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert {path for path in named if not path.startswith("materials/kernels/")} == {"simulate/command/lean_numba.py"}
    at_import = (
        "import sys, halfgain.simulate.command.commands, halfgain.simulate.measuring.measure; print('numba' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", at_import], capture_output=True, text=True, check=True).stdout == "False\n"
