"""Named tuples in kernels: what numba itself makes of them is the outside reference, and no array is kept or lost on the way."""

from __future__ import annotations

import gc
import sys
from typing import Any, NamedTuple

import numba
import numpy as np
import pytest
from halfgain.materials.kernels import bundles
from halfgain.materials.kernels.by_type import by_type, holds
from halfgain.materials.kernels.jit import kernel


class Inner(NamedTuple):
    """Two arrays and a tuple of others."""

    first: np.ndarray
    flags: np.ndarray
    pair: tuple[np.ndarray, np.ndarray]


class Outer(NamedTuple):
    """A bundle in a bundle, numbers, and what may be missing."""

    inner: Inner
    scale: float
    wanted: bool
    beside: Any = ()


for _each in (Inner, Outer):
    _each.__module__ = f"halfgain.{__name__}"  # of the project: those alone go by address


def filled(beside: Any = ()) -> Outer:
    values = np.arange(6.0).reshape(2, 3)
    return Outer(Inner(values, np.array([1, 0, 1], np.uint8), (values[0] + 0.5, np.zeros(2))), 2.5, True, beside)


def all_of_it(outer, out):
    inner, scale, wanted, _ = outer
    for k in range(3):
        out[k] = inner.first[1, k] * scale + inner.flags[k] + outer.inner.pair[0][k]
    out[3] = outer[1] if wanted else -1.0
    inner.pair[1][0] += out[0]


def test_kernels_read_and_write_what_numbas_own_tuples_hold() -> None:
    ours, numbas = filled(), filled()
    found, expected = np.zeros(4), np.zeros(4)
    whole = kernel(all_of_it)
    whole(ours, found)
    numba.njit(all_of_it)(tuple_of(numbas), expected)
    np.testing.assert_array_equal(found, expected)
    assert ours.inner.pair[1][0] == numbas.inner.pair[1][0] == found[0] != 0.0
    assert isinstance(numba.typeof(ours), bundles.Bundle)
    assert isinstance(numba.typeof(ours.inner), bundles.Bundle)


def tuple_of(outer: Outer) -> Any:
    """The same under classes that are no part of the project."""
    inner, own = (
        NamedTuple("Inner", [(f, object) for f in Inner._fields]),
        NamedTuple("Outer", [(f, object) for f in Outer._fields]),
    )
    return own(inner(*outer.inner), *outer[1:])


def test_a_bundle_made_or_handed_on_in_a_kernel_is_the_same() -> None:
    @kernel
    def total(outer):
        return outer.inner.first.sum() * outer.scale

    @kernel
    def handed_on(outer, out):
        out[0] = total(outer)
        out[1] = total(Outer(outer.inner, 2.0 * outer.scale, False, ()))

    out = np.zeros(2)
    handed_on(filled(), out)
    np.testing.assert_array_equal(out, [37.5, 75.0])


def test_kernels_that_allocate_give_back_every_array() -> None:
    @kernel(allocates=True)
    def copied(outer, out):
        own = outer.inner.first.copy()
        kept = outer.inner.first
        for k in range(3):
            kept = outer.inner.first if k % 2 else own
            out[k] = kept[1, k]

    bundle, out = filled(), np.zeros(3)
    copied(bundle, out)
    gc.collect()
    before = [sys.getrefcount(each) for each in (bundle.inner.first, bundle.inner.flags, *bundle.inner.pair, bundle.inner)]
    for _ in range(50):
        copied(bundle, out)
    assert before == [
        sys.getrefcount(each) for each in (bundle.inner.first, bundle.inner.flags, *bundle.inner.pair, bundle.inner)
    ]
    np.testing.assert_array_equal(out, [3.0, 4.0, 5.0])


def test_types_tell_classes_fields_and_members_apart() -> None:
    one, other = numba.typeof(filled()), numba.typeof(filled(filled().inner))
    assert one == numba.typeof(filled())
    assert hash(one) == hash(numba.typeof(filled()))
    assert one != other
    assert one.name != other.name
    assert bundles.described(one) != bundles.described(other)
    assert not isinstance(numba.typeof(tuple_of(filled())), bundles.Bundle)


def test_a_function_by_type_calls_the_kernel_that_its_arguments_choose() -> None:
    @kernel
    def there(outer, factor):
        return outer.beside.first[0, 1] * factor

    @kernel
    def missing(outer, factor):
        return -factor

    @by_type(lambda outer, *_: there if holds(outer, "beside") else missing)
    def asked(outer, factor):
        """What stands beside."""
        return outer.beside.first[0, 1] * factor if outer.beside else -factor

    whole = kernel(lambda outer, factor: asked(outer, factor))
    for outer, expected in ((filled(), -3.0), (filled(filled().inner), 3.0)):
        assert whole(outer, 3.0) == asked(outer, 3.0) == expected
    assert asked.__doc__ == "What stands beside."


def test_a_bundle_without_the_field_is_told_as_such() -> None:
    wrong = kernel(lambda outer: outer.no_such_field)
    with pytest.raises(numba.TypingError, match="no_such_field"):
        wrong(filled())
