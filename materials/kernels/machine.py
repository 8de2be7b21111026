"""Kept machine code, called from Python without numba: importing and setting up numba takes longer than many a command's work.

A file holds one line that says how to call it, and an object file as the compiler's back end wrote it, with a door
(`door.py`): a function that takes the addresses of two rows of 64-bit words, one with what the kernel is handed, one for what it
returns. llvmlite links the object file into the process, as it does for numba.
"""

from __future__ import annotations

import ctypes
import json
import struct
import threading
from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

from .arguments import Cells, Kinds, cell_format

DOOR = "halfgain_door"
_Door = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_char_p, ctypes.c_void_p)  # releases the interpreter lock while it runs
_linking = threading.Lock()
_libraries: list[Any] = []  # they own the code, which stays as long as the process

Shape = Any  # of a returned value: None, "d", "q", "Q" or "?" of one cell, or a list of shapes for a tuple


class MissingSymbol(Exception):
    """A symbol that machine code needs is not in this process; str() is its name."""


class Raised(Exception):
    """The kernel raised an exception, or could not be called."""


class HowToCall(NamedTuple):
    """How to call machine code.

    returned  shape of the value
    needs     names of the C functions that it calls
    """

    returned: Shape
    needs: list[str]


def packed(description: HowToCall, code: bytes) -> bytes:
    """Content of a file."""
    return json.dumps(description._asdict()).encode() + b"\n" + code


@cache
def processor() -> tuple[str, str, str]:
    """What machine code is made for: system, processor and its features."""
    import llvmlite.binding as llvm

    return llvm.get_process_triple(), llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()


class MachineCode:
    """One version of a kernel, ready to run.

    kinds    of the arguments that it is compiled for
    content  as `packed` gives it
    raises   MissingSymbol; ValueError where the content is none
    """

    def __init__(self, kinds: Kinds, content: bytes) -> None:
        line, _, code = content.partition(b"\n")
        description = HowToCall(**json.loads(line))
        self._door = _Door(_linked(code, description.needs))
        self._pack = struct.Struct(cell_format(kinds)).pack
        self._shape = description.returned
        self._returned = struct.Struct("=" + "".join(_letters(self._shape)))

    def __call__(self, cells: Cells) -> Any:
        """The kernel's value; cells as `arguments.laid_out` gives them.

        raises  Raised
        """
        row = ctypes.create_string_buffer(self._returned.size)
        if self._door(self._pack(*cells), row):
            raise Raised
        return _shaped(self._shape, iter(self._returned.unpack(row.raw)))


def _letters(shape: Shape) -> list[str]:
    if shape is None:
        return []
    if isinstance(shape, str):
        return ["q" if shape == "?" else shape]
    return [letter for each in shape for letter in _letters(each)]


def _shaped(shape: Shape, values: Iterator[Any]) -> Any:
    if shape is None:
        return None
    if isinstance(shape, list):
        return tuple([_shaped(each, values) for each in shape])
    value = next(values)
    return bool(value) if shape == "?" else value


def _linked(code: bytes, needs: list[str]) -> int:
    """Address of the door of an object file.

    raises  MissingSymbol
    """
    import llvmlite.binding as llvm

    with _linking:
        linker = _linker()
        for name in needs:
            if not llvm.address_of_symbol(name):
                raise MissingSymbol(name)
        # a library of its own for each object file, so that no two can take each other's symbols
        parts = llvm.JITLibraryBuilder().add_object_img(code).add_current_process().export_symbol(DOOR)
        _libraries.append(parts.link(linker, f"kernel {len(_libraries)}"))
        return int(_libraries[-1][DOOR])


@cache
def _linker() -> Any:
    import llvmlite.binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    linker = llvm.create_lljit_compiler(llvm.Target.from_triple(llvm.get_process_triple()).create_target_machine(jit=True))
    _libraries.append(
        llvm.JITLibraryBuilder().add_current_process().link(linker, "process")
    )  # from here on its symbols have addresses
    return linker
