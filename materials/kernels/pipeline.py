"""numba's way from a Python function to LLVM's code, without what a kernel has no use for: half of the work in Python.

A kernel makes no arrays, so no references are counted, nothing is noted where a variable's life ends, and there is no array arithmetic
to be fused. It has no `with`, no comprehension and no loop over literals to be unrolled. Half of numba's passes look for these, and most
of them find out anew which variables live where, which is asked for by what counts references and by generators alone.

Names of passes that a release of numba does not have do no harm. Kernels that make arrays go numba's whole way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import Any

from numba.core import cgutils, interpreter, types
from numba.core.compiler import Compiler
from numba.core.compiler_machinery import register_pass
from numba.core.lowering import Lower
from numba.core.postproc import PostProcessor
from numba.core.transforms import canonicalize_cfg
from numba.core.typed_passes import BaseNativeLowering, NativeLowering, PreLowerStripPhis
from numba.core.typing import Context
from numba.core.untyped_passes import GenericRewrites, IRProcessing, ReconstructSSA, TranslateByteCode

from . import elements

_LEFT_OUT = frozenset(
    {
        "AnnotateTypes",
        "DeadBranchPrune",
        "DumpParforDiagnostics",
        "FindLiterallyCalls",
        "IRLegalization",  # it notes where lives end
        "InlineClosureLikes",
        "InlineInlinables",
        "InlineOverloads",
        "LiteralPropagationSubPipelinePass",
        "LiteralUnroll",
        "NoPythonSupportedFeatureValidation",
        "NopythonRewrites",
        "RewriteSemanticConstants",
        "WithLifting",
    }
)
_NOT_SEARCHED_FOR = ("peep_hole_delete_with_exit", "peep_hole_fuse_dict_add_updates")


class _Lower(Lower):
    """Writes LLVM's code; what a variable held before is forgotten, not looked up to be counted."""

    def storevar(self, value: Any, name: str, argidx: Any = None) -> None:
        """As numba's."""
        self._alloca_var(name, self.typeof(name))
        if name in self._singly_assigned_vars:
            self._blk_local_varmap[name] = value
        else:
            self.builder.store(value, self.getvar(name))

    def lower_getitem(self, resty: Any, expr: Any, value: Any, index: Any, signature: Any) -> Any:
        """As numba's."""
        array, place = self.typeof(value.name), self.typeof(index.name)
        if not elements.is_element(self.context, array, place):
            return super().lower_getitem(resty, expr, value, index, signature)
        found = elements.get(self.context, self.builder, array, self.loadvar(value.name), self.loadvar(index.name), place)
        return self.context.cast(self.builder, found, array.dtype, resty)

    def lower_setitem(self, target_var: Any, index_var: Any, value_var: Any, signature: Any) -> Any:
        """As numba's."""
        array, place = self.typeof(target_var.name), self.typeof(index_var.name)
        if not elements.is_element(self.context, array, place):
            return super().lower_setitem(target_var, index_var, value_var, signature)
        value = self.loadvar(value_var.name)
        for before, after in pairwise((self.typeof(value_var.name), signature.args[2], array.dtype)):
            value = self.context.cast(self.builder, value, before, after)
        elements.put(self.context, self.builder, array, self.loadvar(target_var.name), self.loadvar(index_var.name), place, value)

    def alloca_lltype(self, name: str, lltype: Any, datamodel: Any = None) -> Any:
        """As numba's."""
        return cgutils.alloca_once(self.builder, lltype, name=name)


@register_pass(mutates_CFG=True, analysis_only=False)
class _Lowering(BaseNativeLowering):
    _name: Any = "kernel_lowering"
    lowering_class: Any = _Lower


class _Interpreter(interpreter.Interpreter):
    """Reads Python's code; what is read is not searched for ends of `with` and for mappings of named arguments."""

    def post_process(self, peepholes: Any, func_ir: Any) -> Any:
        """As numba's."""
        return super().post_process([each for each in peepholes if each.__name__ not in _NOT_SEARCHED_FOR], func_ir)


@register_pass(mutates_CFG=True, analysis_only=False)
class _Reading(TranslateByteCode):
    _name: Any = "kernel_reading"

    def run_pass(self, state: Any) -> bool:
        """As numba's."""
        state["func_ir"] = _Interpreter(state["func_id"]).interpret(state["bc"])
        return True


def _blocks_alone(self: PostProcessor, *_: Any, **__: Any) -> None:
    """What is left of numba's processing after a pass where nobody asks which variables live where."""
    self.func_ir.blocks = canonicalize_cfg(self.func_ir.blocks)
    self.func_ir.generator_info = None


@contextmanager
def _without_lives() -> Iterator[None]:
    """One thread at a time: numba holds its compiler lock."""
    numbas_own: Callable[..., None] = PostProcessor.run
    setattr(PostProcessor, "run", _blocks_alone)  # noqa: B010
    try:
        yield
    finally:
        setattr(PostProcessor, "run", numbas_own)  # noqa: B010


def _lean(step: Any) -> Any:
    """A pass of numba's that compiles nothing else, without the lives of variables."""

    class Lean(step):
        _name: Any = f"kernel_{step._name}"

        def run_pass(self, state: Any) -> bool:
            with _without_lives():
                return bool(super().run_pass(state))

    return register_pass(mutates_CFG=True, analysis_only=False)(Lean)


_IN_PLACE_OF: dict[Any, Any] = {
    TranslateByteCode: _Reading,
    NativeLowering: _Lowering,
    **{step: _lean(step) for step in (IRProcessing, GenericRewrites, ReconstructSSA, PreLowerStripPhis)},
}


_remembered: dict[Any, Any] = {}  # by function and types of its arguments


class _Remembering(Context):
    """numba's typing context, which remembers what numba's functions give for arguments of which types.

    numba asks some thirty templates what the sum of two numbers is, anew wherever two are added.
    """

    def resolve_function_type(self, func: Any, args: Any, kws: Any) -> Any:
        """As numba's."""
        if kws or isinstance(func, str | types.Dispatcher):  # names come with indices, dispatchers remember themselves
            return super().resolve_function_type(func, args, kws)
        found = _remembered.get((func, args))
        if found is None:
            found = super().resolve_function_type(func, args, kws)
            if found is not None:
                _remembered[func, args] = found
        return found


def _remembering(context: Any) -> Any:
    """numba's typing context, with all that it holds and will hold."""
    made = _Remembering.__new__(_Remembering)
    made.__dict__ = context.__dict__
    return made


class KernelCompiler(Compiler):
    """numba's compiler for a kernel."""

    def __init__(self, typing_context: Any, *rest: Any) -> None:
        super().__init__(_remembering(typing_context), *rest)

    def define_pipelines(self) -> Any:
        """numba's steps but those without use."""
        pipelines = super().define_pipelines()
        if not self.state.flags.nrt:
            for each in pipelines:
                each.passes = [
                    (_IN_PLACE_OF.get(step, step), told) for step, told in each.passes if step.__name__ not in _LEFT_OUT
                ]
                each.finalize()
        return pipelines
