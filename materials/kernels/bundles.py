"""Named tuples in kernels: handed on by where they stand, so that a bundle of a hundred arrays is one argument.

numba takes each array of a tuple apart into ten numbers and hands on every number of every array at each call: half of all
that a kernel's code said before it was optimised, and what took most of the compiler's time. Here Python's named tuple is
written down once, when a kernel is entered, and kernels get its address. Nothing ever writes there, which the compiler is told.

This holds for the named tuples of the project. One that a kernel makes itself stays numba's own, and so do plain tuples.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.datamodel import models
from numba.core.imputils import impl_ret_borrowed, lower_builtin, lower_getattr_generic
from numba.core.pythonapi import NativeValue, unbox
from numba.core.typing.typeof import typeof_impl
from numba.extending import register_model

_PROJECT = (__package__ or "").split(".")[0]
_numbas_own = typeof_impl.dispatch(tuple)


class Bundle(types.BaseNamedTuple):
    """Type of a named tuple of the project.

    owner    its class
    members  the types of its fields
    """

    def __init__(self, owner: type, members: tuple[Any, ...]) -> None:
        self.instance_class, self.fields, self.types = owner, tuple(getattr(owner, "_fields", ())), members
        self.count = len(members)
        told = hashlib.sha256(described(self).encode()).hexdigest()[:20]
        super().__init__(f"{owner.__name__}_{told}")  # short: it is part of the names of all functions that take it

    @property
    def key(self) -> tuple[type, str]:
        """What tells two such types apart."""
        return self.instance_class, self.name

    def __getitem__(self, place: int) -> Any:  # type: ignore[override]
        """Type of the field at a place."""
        return self.types[place]

    def __iter__(self) -> Iterator[Any]:
        return iter(self.types)

    def __len__(self) -> int:
        return self.count


def described(kind: Any) -> str:
    """A type, or several, in words that differ where the compiled code does: a named tuple's fields belong to it.

    Source: numba's names of types, which leave out the names of fields.
    """
    if isinstance(kind, tuple | list):
        return f"({', '.join(described(each) for each in kind)})"
    if isinstance(kind, types.BaseTuple):
        owner, fields, members = getattr(kind, "instance_class", tuple), getattr(kind, "fields", ()), tuple(iter(kind))  # type: ignore[call-overload]
        return f"{owner.__module__}.{owner.__qualname__}{tuple(fields)}{described(members)}"
    return str(kind)


@typeof_impl.register(tuple)
def _type_of(value: Any, purpose: Any) -> Any:
    """Type of a tuple: numba's own but for named tuples of the project."""
    owner = type(value)
    if owner.__module__.partition(".")[0] != _PROJECT or not hasattr(owner, "_fields"):
        return _numbas_own(value, purpose)
    members = tuple(typeof_impl(each, purpose) for each in value)
    return None if None in members else Bundle(owner, members)


@register_model(Bundle)
class _Model(models.DataModel):
    """An address in the compiled code, and all fields one after the other at that address."""

    def __init__(self, models_of: Any, kind: Bundle) -> None:
        super().__init__(models_of, kind)
        self._standing = ir.LiteralStructType([models_of.lookup(each).get_data_type() for each in kind.types])

    def get_value_type(self) -> Any:
        return self._standing.as_pointer()

    def get_data_type(self) -> Any:
        return self._standing

    def get_argument_type(self) -> Any:
        return self.get_value_type()

    def get_return_type(self) -> Any:
        return self.get_value_type()

    def as_data(self, builder: Any, value: Any) -> Any:
        return builder.load(value)

    def from_data(self, builder: Any, value: Any) -> Any:
        return cgutils.alloca_once_value(builder, value)

    def load_from_data_pointer(self, builder: Any, ptr: Any, align: Any = None) -> Any:
        return ptr

    def as_argument(self, builder: Any, value: Any) -> Any:
        return value

    def from_argument(self, builder: Any, value: Any) -> Any:
        if isinstance(value, ir.Argument):
            value.add_attribute("noalias")
            value.attributes.dereferenceable = _least_size(self._standing)
        return value


def _least_size(kind: Any) -> int:
    """Bytes that a type of LLVM takes at least."""
    if isinstance(kind, ir.BaseStructType):
        return sum(_least_size(each) for each in kind.elements)
    if isinstance(kind, ir.ArrayType):
        return int(kind.count * _least_size(kind.element))
    if isinstance(kind, ir.PointerType):
        return 4
    if isinstance(kind, ir.IntType):
        return int(kind.width // 8)
    return 4


@lower_getattr_generic(Bundle)
def _named_field(context: Any, builder: Any, kind: Bundle, value: Any, name: str) -> Any:
    return _field(context, builder, kind, value, kind.fields.index(name))


@lower_builtin("static_getitem", Bundle, types.IntegerLiteral)
def _field_at(context: Any, builder: Any, signature: Any, args: Any) -> Any:
    return _field(context, builder, signature.args[0], args[0], args[1] % signature.args[0].count)


def _field(context: Any, builder: Any, kind: Bundle, value: Any, index: int) -> Any:
    model = context.data_model_manager[kind.types[index]]
    at = cgutils.gep_inbounds(builder, value, 0, index)
    if isinstance(kind.types[index], Bundle):
        return at
    found = builder.load(at)
    if model.get_value_type() != model.get_data_type():
        found = model.from_data(builder, found)
    return impl_ret_borrowed(context, builder, kind.types[index], found)


@unbox(Bundle)
def _written_down(kind: Bundle, named: Any, c: Any) -> Any:
    """Python's named tuple written down for a kernel; the type says how many fields it has."""
    at = cgutils.alloca_once(c.builder, c.context.get_data_type(kind))
    cleanups: list[Callable[[], None]] = []
    failed = _write(kind, named, at, c, cleanups)
    with c.builder.if_then(failed, likely=False):
        c.pyapi.err_set_string("PyExc_TypeError", f"not as its type says: {kind.instance_class.__name__}")

    def cleanup() -> None:
        for each in reversed(cleanups):
            each()

    return NativeValue(at, is_error=failed, cleanup=cleanup)


def _write(kind: Any, value: Any, at: Any, c: Any, cleanups: list[Callable[[], None]]) -> Any:
    """Write a Python value of a type to an address; a bit that is set where it is none of that type."""
    if isinstance(kind, types.BaseTuple):
        failed, members = cgutils.false_bit, tuple(iter(kind))  # type: ignore[call-overload]
        for i, member in enumerate(members):
            place = cgutils.gep_inbounds(c.builder, at, 0, i)
            failed = c.builder.or_(failed, _write(member, c.pyapi.tuple_getitem(value, i), place, c, cleanups))
        return failed
    if isinstance(kind, types.Array):  # what the adaptor writes is the array as kernels have it
        adapt = c.pyapi.nrt_adapt_ndarray_from_python if c.context.enable_nrt else c.pyapi.numba_array_adaptor
        failed = cgutils.is_not_null(c.builder, adapt(value, c.builder.bitcast(at, c.pyapi.voidptr)))
        if c.context.enable_nrt:
            cleanups.append(lambda: c.context.nrt.decref(c.builder, kind, c.builder.load(at)))
        return failed
    native = c.unbox(kind, value)
    c.builder.store(c.context.data_model_manager[kind].as_data(c.builder, native.value), at)
    if native.cleanup is not None:
        cleanups.append(native.cleanup)
    if c.context.enable_nrt:
        cleanups.append(lambda: c.context.nrt.decref(c.builder, kind, native.value))
    return native.is_error
