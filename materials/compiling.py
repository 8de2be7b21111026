"""How kernels are compiled: what only other kernels call is typed and handed on, and compiled to machine code once, where it ends up.

numba makes every function that it meets a program of its own: optimised, with an entry for Python, turned into machine code and
stored. A kernel here calls some thirty small ones, and all that work was thrown away, for each is compiled again inside its
callers: half the time of a first run (measured: 45 s of compiling became 21 s). So a kernel has two faces. As a `Part`, called by
other kernels, it ends as unoptimised code to be linked into them. As a `Whole`, called by Python, it is optimised, with all of
its parts in it, by one run of the optimiser.

This leans on parts of numba that it does not promise to keep. Where they are not there, kernels are compiled numba's own way: the
same bits, only later.
"""
from __future__ import annotations

import gc
from collections.abc import Callable
from functools import cached_property
from typing import Any

import numba
from numba import types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler
from numba.core.registry import CPUDispatcher

RARELY = 100_000  # objects made between two of the collector's rounds while a kernel is compiled
_NEEDED = (
    "_optimize_final_module", "_finalize_final_module", "_finalize_dynamic_globals", "get_pointer_to_function", "codegen",
)  # fmt: skip


class _NoEnvironment:
    """Stands in for the code generator where numba would write a part's globals into code that was never made."""

    @staticmethod
    def set_env(name: str, environment: object) -> None:
        """Do nothing: the whole sets those of its parts."""


class _PartLibrary(JITCodeLibrary):
    """Code of a part: kept as it is for linking, never optimised as a whole nor run."""

    codegen = _NoEnvironment

    def _optimize_final_module(self) -> None:
        pass

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:
        return 1  # any address but 0; nobody but other kernels knows a part, and they link its code


class _WholeLibrary(JITCodeLibrary):
    """Code of a whole: numba optimises twice, to prune reference counts between; once is enough."""

    def _optimize_final_module(self) -> None:
        made = self._codegen._module_pass_manager()
        if not isinstance(made, tuple):  # older releases of numba
            super()._optimize_final_module()
            return
        passes, builder = made
        passes.run(self._final_module, builder)


class _PartCompiler(Compiler):
    def __init__(self, typing_context: Any, target: Any, library: Any, *rest: Any) -> None:
        super().__init__(typing_context, target, _PartLibrary(target.codegen(), "part"), *rest)


class _WholeCompiler(Compiler):
    def __init__(self, typing_context: Any, target: Any, library: Any, *rest: Any) -> None:
        library = _WholeLibrary(target.codegen(), "whole")
        library.enable_object_caching()
        super().__init__(typing_context, target, library, *rest)

    def compile_extra(self, function: Callable[..., Any]) -> Any:
        """Compile, and give the parts linked in their globals, as numba does for what it loads from its cache.

        Reason: Python's collector went through all that a compiler keeps alive again and again (measured: an eighth of the time).
        """
        thresholds = gc.get_threshold()
        gc.set_threshold(RARELY, *thresholds[1:])  # one thread at a time: numba holds its compiler lock
        try:
            result = super().compile_extra(function)
        finally:
            gc.set_threshold(*thresholds)
        for environment in result._find_referenced_environments():
            result.library.codegen.set_env(environment.env_name, environment)
        return result


class Part(CPUDispatcher):
    """A kernel as other kernels see it; one version for all whole numbers, where numba makes one for each literal."""

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """As numba's, with literal types made plain."""
        return super().get_call_template([types.unliteral(a) for a in args], {k: types.unliteral(a) for k, a in kws.items()})


class Whole(CPUDispatcher):
    """A kernel as Python sees it; kernels that call it get its `part`."""

    def __init__(self, py_func: Any, locals: Any = None, targetoptions: Any = None, pipeline_class: Any = None) -> None:
        options = {**(targetoptions or {}), "no_cfunc_wrapper": True}
        super().__init__(py_func, locals=locals or {}, targetoptions=options, pipeline_class=_WholeCompiler)

    @cached_property
    def part(self) -> Part:
        """The same kernel for other kernels to call."""
        options = {**self.targetoptions, "no_cpython_wrapper": True}
        return Part(self.py_func, locals=self.locals, targetoptions=options, pipeline_class=_PartCompiler)

    @property
    def _numba_type_(self) -> Any:
        return types.Dispatcher(self.part)


def compiled(function: Callable[..., Any], options: dict[str, Any]) -> Any:
    """Function compiled when it is first called, cached on disk where numba is set to; options as numba.njit takes them.

    Where the installed numba is not as expected, numba.njit itself compiles it.
    """
    if not all(hasattr(JITCodeLibrary, name) for name in _NEEDED):
        return numba.njit(**options, cache=True)(function)
    whole = Whole(function, targetoptions={"nopython": True, "boundscheck": None, **options})
    whole.enable_caching()
    return whole
