"""How kernels are compiled: what only other kernels call is typed and handed on, and compiled to machine code once, where it ends up.

numba makes every function that it meets a program of its own: optimised, with an entry for Python, turned into machine code and
stored. A kernel here calls some thirty small ones, and all that work was thrown away, for each is compiled again inside its
callers: half the time of a first run (measured: 45 s of compiling became 21 s). So a kernel has two faces. As a `Part`, called by
other kernels, it ends as unoptimised code to be linked into them. As a `Whole`, called by Python, it is optimised, with all of
its parts in it, by one run of the optimiser.

This leans on parts of numba that it does not promise to keep. Where they are not there, or where anything goes wrong in them,
kernels are compiled numba's own way: the same bits, only later.
"""

from __future__ import annotations

import gc
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, nullcontext
from functools import cached_property
from typing import Any

from llvmlite.binding import Linkage
from numba import njit, types
from numba.core import errors
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler_lock import global_compiler_lock
from numba.core.registry import CPUDispatcher

from . import pipeline
from .cache import tell_once
from .numbas_cache import KernelCache

_NEEDED = ("_optimize_final_module", "_finalize_dynamic_globals", "_raise_if_finalized", "get_pointer_to_function", "codegen")


@contextmanager
def uncollected() -> Iterator[None]:
    """Reason: Python's collector went through all that a compiler keeps alive again and again (measured: a sixth of the time)."""
    thresholds = gc.get_threshold()
    gc.set_threshold(0)  # one thread at a time: numba holds its compiler lock
    try:
        yield
    finally:
        gc.set_threshold(*thresholds)


class _NoEnvironment:
    """Stands in for the code generator where numba would write a part's globals into code that was never made."""

    @staticmethod
    def set_env(name: str, environment: object) -> None:
        """Do nothing: the whole sets those of its parts."""


class _PartLibrary(JITCodeLibrary):
    """Code of a part: kept as it is for linking, never optimised as a whole nor run."""

    codegen = _NoEnvironment
    _together: Any = None

    def finalize(self) -> None:
        """Keep the code for linking; what it calls is linked with it."""
        self._raise_if_finalized()
        for function in self._final_module.functions:
            if not function.is_declaration and function.linkage == Linkage.external:
                function.linkage = "linkonce_odr"
        self._finalize_dynamic_globals()
        self._finalized = True

    def _get_module_for_linking(self) -> Any:
        """The code with that of all parts it calls, for functions that numba compiles its own way and that call a kernel."""
        if self._together is None:
            self._together = self._final_module.clone()
            for each in _callers_first(self._linking_libraries):
                self._together.link_in(each._get_module_for_linking(), preserve=True)
            _all_linked(self._together)
        return self._together

    def get_pointer_to_function(self, name: str) -> int:
        return 1  # any address but 0; nobody but other kernels knows a part, and they link its code


class _Alone:
    """A part without the code of those that it calls."""

    def __init__(self, part: _PartLibrary) -> None:
        self._part, self._reload_init = part, part._reload_init

    def _get_module_for_linking(self) -> Any:
        return self._part._final_module


def _callers_first(libraries: Iterable[Any]) -> list[Any]:
    """Libraries and all that parts among them call, each before those that it calls: a linker leaves out what nothing needs yet."""
    found: dict[Any, None] = {}

    def visit(library: Any) -> None:
        if library not in found:
            for each in library._linking_libraries if isinstance(library, _PartLibrary) else ():
                visit(each)
            found[library] = None

    for library in libraries:
        visit(library)
    return [_Alone(each) if isinstance(each, _PartLibrary) else each for each in list(found)[::-1]]


def _all_linked(module: Any) -> None:
    """Running code that calls what is not there would end the process.

    raises  AssertionError
    """
    missing = [each.name for each in module.functions if each.is_declaration and each.name.startswith("_ZN")]
    if missing:
        raise AssertionError(f"not linked: {missing}")


class _WholeLibrary(JITCodeLibrary):
    """Code of a whole: numba optimises twice, to prune reference counts between; once is enough."""

    def finalize(self) -> None:
        """Link all parts, those that parts call too, and optimise them together."""
        called, self._linking_libraries = self._linking_libraries, _callers_first(self._linking_libraries)
        super().finalize()
        self._linking_libraries = called

    def _optimize_final_module(self) -> None:
        _all_linked(self._final_module)
        made = self._codegen._module_pass_manager()
        if not isinstance(made, tuple):  # older releases of numba
            super()._optimize_final_module()
            return
        passes, builder = made
        passes.run(self._final_module, builder)


class _PartCompiler(pipeline.KernelCompiler):
    def __init__(self, typing_context: Any, target: Any, library: Any, *rest: Any) -> None:
        super().__init__(typing_context, target, _PartLibrary(target.codegen(), "part"), *rest)


class _WholeCompiler(pipeline.KernelCompiler):
    def __init__(self, typing_context: Any, target: Any, library: Any, *rest: Any) -> None:
        library = _WholeLibrary(target.codegen(), "whole")
        library.enable_object_caching()
        super().__init__(typing_context, target, library, *rest)

    def compile_extra(self, function: Callable[..., Any]) -> Any:
        """Compile, and give the parts linked in their globals, as numba does for what it loads from its cache."""
        with uncollected():
            result = super().compile_extra(function)
        for environment in result._find_referenced_environments():
            result.library.codegen.set_env(environment.env_name, environment)
        return result


# How numba says that a function compiled without reference counting makes an array
_SIGNS = ("NRT required but not enabled", "Only accept returning of array passed into the function")


def _allocation(fault: BaseException, dispatcher: Any) -> str:
    """In words which kernel makes an array without being marked so; empty where a fault is another."""
    said = re.search(r"kernel \S+ makes an array: mark it @kernel\(allocates=True\)", str(fault))
    if said:  # of a part, told on by numba
        return said[0]
    unmarked = not dispatcher.targetoptions.get("_nrt", True) and any(sign in str(fault) for sign in _SIGNS)
    return f"kernel {dispatcher.py_func.__qualname__} makes an array: mark it @kernel(allocates=True)" if unmarked else ""


class Part(CPUDispatcher):
    """A kernel as other kernels see it; one version for all whole numbers, where numba makes one for each literal."""

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """As numba's, with literal types made plain."""
        return super().get_call_template([types.unliteral(a) for a in args], {k: types.unliteral(a) for k, a in kws.items()})

    def compile(self, sig: Any) -> Any:
        """As numba's; of an array made by a kernel that is not marked so it tells in plain words."""
        try:
            return super().compile(sig)
        except errors.NumbaError as fault:
            said = _allocation(fault, self)
            if said:
                raise errors.TypingError(said) from fault
            raise


class Whole(CPUDispatcher):
    """A kernel as Python sees it; kernels that call it get its `part`."""

    numbas_way = False  # for all kernels, since each holds the code of others

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
        return types.Dispatcher(self if Whole.numbas_way else self.part)

    def compile(self, sig: Any) -> Any:
        """Entry point of the version for these types; as numba's, which is asked again for its own way where ours fails.

        raises  TypeError where a kernel makes an array and is not marked so; what numba raises of any other that it cannot compile
        """
        kept = getattr(self, "_cache", None)
        alone = kept.taking_turns() if isinstance(kept, KernelCache) else nullcontext()
        with global_compiler_lock, alone:
            return self._compiled_alone(sig)

    def _compiled_alone(self, sig: Any) -> Any:
        if Whole.numbas_way:
            return self._compiled_numbas_way(sig)
        try:
            return super().compile(sig)
        except Exception as fault:
            said = _allocation(fault, self)
            if said:
                raise TypeError(said) from None
            reason = f"{type(fault).__name__}: {' '.join(str(fault).split())[:200]}"
        Whole.numbas_way = True
        try:
            entry = self._compiled_numbas_way(sig)
        except BaseException:
            Whole.numbas_way = False  # the kernel's own fault
            raise
        tell_once(f"kernels are compiled numba's own way, which takes longer ({reason})")
        return entry

    def _compiled_numbas_way(self, sig: Any) -> Any:
        options = {name: value for name, value in self.targetoptions.items() if name != "nopython"}
        self._compiler = njit(**options)(self.py_func)._compiler
        return super().compile(sig)


def compiled(function: Callable[..., Any], options: dict[str, Any]) -> Any:
    """Function compiled when it is first called; options as numba.njit takes them.

    Where the installed numba is not as expected, numba.njit itself compiles it.
    """
    if not all(hasattr(JITCodeLibrary, name) for name in _NEEDED):
        return njit(**options)(function)
    return Whole(function, targetoptions={"nopython": True, "boundscheck": None, **options})
