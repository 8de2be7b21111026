"""A kernel as Python calls it and as other kernels find it.

A call looks for machine code for arguments of its kinds: in this process, in the package, in the cache, and only then has it compiled. Where code can
be entered without numba (`door.py`), numba is not imported to run it; everything else is left to numba's own dispatcher.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import cached_property, partial, update_wrapper
from typing import Any

from . import numbas
from .arguments import Kinds, Unknown, laid_out, words
from .cache import Versions, versions_of
from .machine import MachineCode, MissingSymbol, Raised, processor
from .packaged import PackagedVersions, packaged_versions_of

_NOT_SEEN: Any = object()
NUMBAS = b"numba"  # content of a file, where machine code for such arguments has no door


class Kernel:
    """A kernel; options as numba.njit takes them."""

    def __init__(self, function: Callable[..., Any], options: dict[str, Any]) -> None:
        update_wrapper(self, function)
        self.py_func, self.options = function, options
        self.from_package = self.from_disk = 0  # versions that were found there
        self._codes: dict[Kinds, MachineCode | None] = {}  # None: numba calls it
        self._lock = threading.Lock()

    def __call__(self, *arguments: Any, **named: Any) -> Any:
        """The kernel's value; raises what the kernel raises, and what numba does where it cannot be compiled for such arguments."""
        if not named:
            try:
                kinds, cells = laid_out(arguments)
                code = self._codes.get(kinds, _NOT_SEEN)
                if code is _NOT_SEEN:
                    code = self._version(kinds, arguments)
                if code is not None:
                    return code(cells)
            except (Unknown, Raised):  # numba knows more kinds, and how to tell of exceptions
                pass
        return self.dispatcher(*arguments, **named)

    @cached_property
    def dispatcher(self) -> Any:
        """numba's dispatcher of this kernel."""
        return numbas.dispatcher(self.py_func, self.options)

    @property
    def _numba_type_(self) -> Any:
        """What numba asks of a name that a kernel calls."""
        return self.dispatcher._numba_type_

    @property
    def versions(self) -> int:
        """Number of kinds of arguments that it was called with."""
        return len(self._codes)

    @cached_property
    def packaged(self) -> PackagedVersions | None:
        """Its versions that came with the package."""
        return packaged_versions_of(self.py_func)

    @cached_property
    def kept(self) -> Versions | None:
        """Its versions on disk."""
        return versions_of(self.py_func)

    def _version(self, kinds: Kinds, arguments: tuple[Any, ...]) -> MachineCode | None:
        """Machine code for such kinds; None where numba is to call it."""
        with self._lock:
            if kinds not in self._codes:
                self._codes[kinds] = self._found_or_compiled(kinds, arguments)
            return self._codes[kinds]

    def _found_or_compiled(self, kinds: Kinds, arguments: tuple[Any, ...]) -> MachineCode | None:
        if self.options["_nrt"]:  # numba counts references in it
            return None

        if self.packaged is not None:
            packaged = self.packaged.found(self.packaged.name(words(kinds)), partial(MachineCode, kinds))
            if packaged is not None:
                self.from_package += 1
                return packaged

        def ready(content: bytes) -> MachineCode | None:
            try:
                return None if content == NUMBAS else MachineCode(kinds, content)
            except MissingSymbol:
                return None

        if self.kept is None:
            return self._new_version(kinds, arguments)[0]
        name = self.kept.name(words(kinds), processor())
        with self.kept.taking_turns():
            found = self.kept.found(name, ready, _NOT_SEEN)
            if found is not _NOT_SEEN:
                self.from_disk += 1
                return found
            code, content = self._new_version(kinds, arguments)
            if content is not None:
                self.kept.keep(name, content)
        return code

    def _new_version(self, kinds: Kinds, arguments: tuple[Any, ...]) -> tuple[MachineCode | None, bytes | None]:
        """Machine code compiled for such kinds, and what is to be kept of it; None where numba is to call it, or to tell what is wrong."""
        content = numbas.compiled_with_door(self.py_func, self.options, arguments)
        if not content:
            return None, None if content is None else NUMBAS
        try:
            return MachineCode(kinds, content), content
        except MissingSymbol:
            return None, NUMBAS
        except Exception as fault:  # whatever fails in linking, on a system where nobody tried it: numba links it too
            if isinstance(fault, MemoryError):
                raise
            numbas.left_to_numba(fault)
            return None, NUMBAS
