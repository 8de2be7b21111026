"""How kernels reach one element of an array: some ten instructions where numba writes forty, which the optimiser then takes away.

numba takes an array to pieces in memory and is ready for slices, new axes and other arrays as indices.
"""

from __future__ import annotations

from functools import reduce
from typing import Any

from llvmlite import ir
from numba.core import cgutils, types
from numba.np.arrayobj import load_item, store_item


def is_element(context: Any, array: Any, index: Any) -> bool:
    """Whether an index of such a type picks one number of an array of such a type."""
    kinds = _index_kinds(index)
    return (
        type(array) is types.Array
        and isinstance(array.dtype, types.Number | types.Boolean)
        and len(kinds) == array.ndim
        and all(isinstance(kind, types.Integer) for kind in kinds)
        and not context.enable_boundscheck
    )


def get(context: Any, builder: Any, kind: Any, array: Any, index: Any, index_kind: Any) -> Any:
    """Value of the element at an index."""
    return load_item(context, builder, kind, _address(context, builder, kind, array, index, index_kind))


def put(context: Any, builder: Any, kind: Any, array: Any, index: Any, index_kind: Any, value: Any) -> None:
    """Set the element at an index to a value of the array's own type of numbers."""
    store_item(context, builder, kind, value, _address(context, builder, kind, array, index, index_kind))


def _index_kinds(index: Any) -> tuple[Any, ...]:
    return tuple(iter(index)) if isinstance(index, types.BaseTuple) else (index,)  # type: ignore[call-overload]


def _address(context: Any, builder: Any, kind: Any, array: Any, index: Any, index_kind: Any) -> Any:
    """Where an element stands; an index below nought counts from the end."""
    kinds = _index_kinds(index_kind)
    whole = isinstance(index_kind, types.BaseTuple)
    model = context.data_model_manager[kind]

    def row(name: str) -> list[Any]:
        return [builder.extract_value(array, [model.get_field_position(name), axis]) for axis in range(kind.ndim)]

    lengths = row("shape")
    places = []
    for axis, of in enumerate(kinds):
        value = builder.extract_value(index, axis) if whole else index
        place = context.cast(builder, value, of, types.intp if of.signed else types.uintp)
        if of.signed and not _known_positive(place):
            below = builder.icmp_signed("<", place, place.type(0))
            place = builder.select(below, builder.add(place, lengths[axis]), place)
        places.append(place)
    data = builder.extract_value(array, model.get_field_position("data"))
    if kind.layout == "A":
        return cgutils.pointer_add(builder, data, reduce(builder.add, map(builder.mul, row("strides"), places)))
    inwards = list(range(kind.ndim))[:: 1 if kind.layout == "C" else -1]
    parts = []
    for depth, axis in enumerate(inwards):
        within = [lengths[each] for each in inwards[depth + 1 :]]
        parts.append(builder.mul(places[axis], reduce(builder.mul, within)) if within else places[axis])
    return builder.gep(data, [reduce(builder.add, parts)])


def _known_positive(value: Any) -> bool:
    return isinstance(value, ir.Constant) and value.constant >= 0
