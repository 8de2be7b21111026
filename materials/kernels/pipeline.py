"""numba's way from a Python function to LLVM's code, without what a kernel has no use for: half of the work in Python.

A kernel makes no arrays, so no references are counted, nothing is noted where a variable's life ends, and there is no array arithmetic
to be fused. It has no `with`, no comprehension and no loop over literals to be unrolled. Half of numba's passes look for these, and most
of them find out anew which variables live where.

Names of passes that a release of numba does not have do no harm. Kernels that make arrays go numba's whole way.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from numba.core import cgutils, types
from numba.core.compiler import Compiler
from numba.core.compiler_machinery import register_pass
from numba.core.lowering import Lower
from numba.core.typed_passes import BaseNativeLowering, NativeLowering
from numba.core.typing import Context

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
                    (_Lowering if step is NativeLowering else step, told)
                    for step, told in each.passes
                    if step.__name__ not in _LEFT_OUT
                ]
                each.finalize()
        return pipelines
