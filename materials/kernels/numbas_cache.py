"""The kept kernels as numba's dispatchers ask for them: whole results of its compiler, for what `machine.py` cannot call.

numba's own cache looks for edits in one file only, takes whatever bytes it finds for a pickle, and runs it; see `cache.py`.
"""

from __future__ import annotations

import os
import pickle
from contextlib import AbstractContextManager
from typing import Any

from numba.core.caching import _Cache
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps

from .bundles import described
from .cache import Versions, versions_of


class KernelCache(_Cache):
    """The versions of one kernel, as numba's dispatchers ask for them."""

    def __init__(self, versions: Versions) -> None:
        self._versions = versions
        self._enabled = True

    @property
    def cache_path(self) -> str:
        return os.fspath(self._versions.place)

    def enable(self) -> None:
        self._enabled = True

    def disable(self) -> None:
        self._enabled = False

    def flush(self) -> None:
        self._versions.flush()

    def taking_turns(self) -> AbstractContextManager[None]:
        return self._versions.taking_turns()

    def _name(self, sig: Any, codegen: Any) -> str:
        kinds = sig.args if hasattr(sig, "args") else sig
        return self._versions.name(described(kinds), codegen.magic_tuple())

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The kept version for these types, or None: then the caller compiles it."""
        if not self._enabled:
            return None
        target_context.refresh()
        return self._versions.found(
            self._name(sig, target_context.codegen()),
            lambda content: CompileResult._rebuild(target_context, *pickle.loads(content)),
        )

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep a compiled version; where that fails the run goes on without."""
        if self._enabled and not data.lifted and not data.library.has_dynamic_globals:
            self._versions.keep(self._name(sig, data.codegen), dumps(data._reduce()))


def keep(dispatcher: Any) -> None:
    """Let a dispatcher of numba look on disk before it compiles, and leave there what it compiled."""
    versions = versions_of(dispatcher.py_func)
    if versions is not None:
        dispatcher._cache = KernelCache(versions)
