"""The door of a kernel's machine code: a function of two rows of 64-bit words, which any caller of C functions can enter.

One row has the kernel's arguments, as `arguments.laid_out` lays them out; into the other the door writes what the kernel returns.
It stands where numba writes an entry for Python, which is several times the code, needs helpers of numba at run time, and takes
longest to optimise.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import count
from typing import Any

from llvmlite import ir
from numba.core import cgutils
from numba.core import types as numba_types
from numba.core.compiler_lock import global_compiler_lock
from numba.core.registry import CPUDispatcher
from numba.np.arrayobj import populate_array
from numba.np.numpy_support import as_dtype

from .array_layout import DATA, SHAPE, STRIDES, arrays_as_known
from .bundles import Bundle
from .compiling import _PartLibrary, _WholeLibrary, uncollected
from .machine import DOOR, HowToCall, Shape, packed
from .pipeline import KernelCompiler
from .symbols import undefined

types: Any = numba_types  # whose classes lack hints
_WORD, _BYTE, _STATUS = ir.IntType(64), ir.IntType(8), ir.IntType(32)
_MATHEMATICS = """acos acosh asin asinh atan atan2 atanh cbrt ceil copysign cos cosh erf erfc exp exp2 expm1 fabs floor fmod frexp hypot ldexp
lgamma log log10 log1p log2 nearbyint pow rint round sin sinh sqrt tan tanh tgamma trunc"""
_CALLED = frozenset(
    name + single for name in _MATHEMATICS.split() for single in ("", "f")
)  # of C's library: in every process [ISO C 7.12]


class NoDoor(Exception):
    """A kernel that only numba can call: of other kinds of arguments or values, or with helpers of numba in its code."""


class _Cells:
    """The row of arguments, read from its first word to its last."""

    def __init__(self, context: Any, builder: Any, row: Any) -> None:
        self._context, self._builder, self._row = context, builder, row
        self._next = count()

    def value(self, kind: Any) -> Any:
        """The next argument, of a type of numba, as kernels take it.

        raises  NoDoor
        """
        builder = self._builder
        if isinstance(kind, Bundle | types.Array):
            place = cgutils.alloca_once(builder, self._context.get_data_type(kind))
            self._write(kind, place)
            return place if isinstance(kind, Bundle) else builder.load(place)
        if isinstance(kind, types.BaseTuple):
            return self._context.make_tuple(builder, kind, [self.value(member) for member in kind])
        word = self._word()
        if isinstance(kind, types.Boolean):
            return builder.trunc(word, ir.IntType(1))
        if isinstance(kind, types.Integer):
            return builder.trunc(word, ir.IntType(kind.bitwidth)) if kind.bitwidth < 64 else word
        if kind == types.float64:
            return builder.bitcast(word, ir.DoubleType())
        if kind == types.float32:  # exact: the number was one of 32 bits
            return builder.fptrunc(builder.bitcast(word, ir.DoubleType()), ir.FloatType())
        raise NoDoor(kind)

    def _word(self) -> Any:
        return self._builder.load(self._builder.gep(self._row, [_WORD(next(self._next))]))

    def _write(self, kind: Any, place: Any) -> None:
        """Write the next argument down at an address: an array, or a bundle with all that stands in it."""
        if isinstance(kind, types.Array):
            self._builder.call(_reader(self._context, self._builder.module, kind), [self._word(), place])
            return
        for index, member in enumerate(kind.types):
            at = cgutils.gep_inbounds(self._builder, place, 0, index)
            if isinstance(member, Bundle | types.Array):
                self._write(member, at)
            else:
                model = self._context.data_model_manager[member]
                self._builder.store(model.as_data(self._builder, self.value(member)), at)


def _reader(context: Any, module: Any, kind: Any) -> Any:
    """A function that writes down an array of such a type: a view of the array object whose address it gets.

    Nobody counts references to the array, the caller holds it. A function of its own, since a door reads up to a hundred arrays.
    """
    if type(kind) is not types.Array or not kind.aligned or not isinstance(kind.dtype, types.Number | types.Boolean):
        raise NoDoor(kind)
    name = f"{DOOR}_reads_{kind.ndim}_{kind.dtype}"
    if name in module.globals:
        return module.globals[name]
    function = ir.Function(module, ir.FunctionType(ir.VoidType(), (_WORD, context.get_data_type(kind).as_pointer())), name)
    function.linkage = "internal"
    function.attributes.add("noinline")
    builder = ir.IRBuilder(function.append_basic_block("entry"))
    held = builder.inttoptr(function.args[0], _BYTE.as_pointer())

    def field(place: int, of: Any) -> Any:
        return builder.load(builder.bitcast(builder.gep(held, [_WORD(place)]), of.as_pointer()))

    def row(place: int) -> list[Any]:
        first = field(place, _WORD.as_pointer())
        return [builder.load(builder.gep(first, [_WORD(axis)])) for axis in range(kind.ndim)]

    made = context.make_array(kind)(context, builder)
    populate_array(
        made,
        data=field(DATA, made.data.type),
        shape=row(SHAPE),
        strides=row(STRIDES),
        itemsize=_WORD(as_dtype(kind.dtype).itemsize),
        meminfo=None,
    )
    builder.store(made._getvalue(), function.args[1])
    builder.ret_void()
    return function


def shape_of(kind: Any) -> Shape:
    """Shape of a returned value, by its type of numba.

    raises  NoDoor
    """
    kind = types.unliteral(kind)
    if kind == types.none:
        return None
    if isinstance(kind, types.BaseAnonymousTuple):
        return [shape_of(member) for member in kind]
    if isinstance(kind, types.Boolean):
        return "?"
    if type(kind) is types.Integer:
        return "q" if kind.signed else "Q"
    if kind in (types.float32, types.float64):
        return "d"
    raise NoDoor(kind)


def _words_of(builder: Any, kind: Any, value: Any) -> Iterator[Any]:
    """A returned value as words."""
    kind = types.unliteral(kind)
    if isinstance(kind, types.BaseTuple):
        for place, member in enumerate(kind):
            yield from _words_of(builder, member, builder.extract_value(value, place))
    elif isinstance(kind, types.Boolean):
        yield builder.zext(value, _WORD)
    elif isinstance(kind, types.Integer):
        widened = builder.sext if kind.signed else builder.zext
        yield widened(value, _WORD) if kind.bitwidth < 64 else value
    elif isinstance(kind, types.Float):
        yield builder.bitcast(builder.fpext(value, ir.DoubleType()) if kind.bitwidth < 64 else value, _WORD)


def _add_door(context: Any, library: Any, described: Any, *_: object, **__: object) -> None:
    """Add the door to a kernel's code, in place of numba's entry for Python.

    raises  NoDoor
    """
    library.returned = shape_of(described.restype)
    module = context.create_module("door")
    kernel = ir.Function(
        module, context.call_conv.get_function_type(described.restype, described.argtypes), described.llvm_func_name
    )
    door = ir.Function(module, ir.FunctionType(_STATUS, (_WORD.as_pointer(), _WORD.as_pointer())), DOOR)
    builder = ir.IRBuilder(door.append_basic_block("entry"))
    handed = _Cells(context, builder, door.args[0])
    arguments = [handed.value(kind) for kind in described.argtypes]
    status, value = context.call_conv.call_function(builder, kernel, described.restype, described.argtypes, arguments)
    with builder.if_then(status.is_ok, likely=True):
        if described.restype != types.none:
            for place, word in enumerate(_words_of(builder, described.restype, value)):
                builder.store(word, builder.gep(door.args[1], [_WORD(place)]))
    builder.ret(status.code)
    library.add_ir_module(module)


class _DoorLibrary(_PartLibrary, _WholeLibrary):
    """Code of a kernel with its door: optimised once, written as an object file, and not linked into this process by numba."""

    returned: Shape = None
    code = b""
    called: tuple[str, ...] = ()  # functions from elsewhere

    finalize = _WholeLibrary.finalize

    _optimize_final_module = _WholeLibrary._optimize_final_module

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._finalized = True
        module = self._final_module
        self.called = tuple(each.name for each in module.functions if each.is_declaration and not each.name.startswith("llvm."))
        _name_by_place(module)
        self.code = self._codegen._tm.emit_object(module)


def _name_by_place(module: Any) -> None:
    """Short names for all that only this code knows: numba numbers its own by what was compiled before, so no two files were alike."""
    for kind, things in (("f", module.functions), ("g", module.global_variables)):
        for place, thing in enumerate(things):
            if not thing.is_declaration and thing.name != DOOR:
                thing.name = f"{kind}{place}"


class _DoorCompiler(KernelCompiler):
    def __init__(self, typing_context: Any, target: Any, library: Any, *rest: Any) -> None:
        context = target.subtarget(create_cpython_wrapper=partial(_add_door, target))
        super().__init__(typing_context, context, _DoorLibrary(target.codegen(), "door"), *rest)

    def compile_extra(self, function: Any) -> Any:
        with uncollected():
            return super().compile_extra(function)


def with_door(function: Any, options: dict[str, Any], kinds: tuple[Any, ...]) -> bytes:
    """A version of a kernel as a file's content.

    kinds   numba's types of its arguments
    raises  NoDoor; what numba raises of a kernel that it cannot compile
    """
    if not arrays_as_known():
        raise NoDoor("arrays lie otherwise in memory")
    flags = {"nopython": True, "boundscheck": None, **options, "no_cfunc_wrapper": True}
    dispatcher: Any = CPUDispatcher(function, targetoptions=flags, pipeline_class=_DoorCompiler)
    with global_compiler_lock:
        result = dispatcher._compiler.compile(kinds, None)
        result.library.finalize()
    library = result.library
    foreign = sorted(set(library.called) - _CALLED)
    if foreign or result.lifted or library.has_dynamic_globals:
        raise NoDoor(f"it needs {foreign}")
    needs = undefined(library.code)  # what the compiler's back end calls too
    return packed(HowToCall(library.returned, list(library.called) if needs is None else needs), library.code)
