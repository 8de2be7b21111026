"""Our `dataclass` against the standard library's: the same class made both ways behaves the same, to the words of its errors."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
import typing
from collections.abc import Callable
from typing import Any

import pytest
from halfgain.materials.dataclass import dataclass as lean


class Plain:
    """A base that is no dataclass."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "seen", True)


def _classes(decorate: Callable[..., Any]) -> dict[str, Any]:
    @decorate(frozen=True)
    class Place:
        """A place."""

        x_m: float
        y_m: float = 0.0

    @decorate(frozen=True)
    class Thing(Plain):
        """A thing."""

        name: str
        at: Any = dataclasses.field(default_factory=dict, compare=False)
        secret: str = dataclasses.field(default="s", repr=False)
        later: int = dataclasses.field(default=7, init=False)
        made: Any = dataclasses.field(default_factory=list, init=False, compare=False)

    @decorate(frozen=True)
    class Named(Thing):
        """A thing that tells itself."""

        size: tuple[int, ...] = ()

        def __repr__(self) -> str:
            return f"<{self.name}>"

        def __hash__(self) -> int:
            return 5

    @decorate(frozen=True, eq=False, repr=False)
    class Same:
        """Equal to itself alone."""

        one: int

    @decorate(frozen=True)
    class Nothing:
        """No fields."""

    @decorate(frozen=True)
    class One:
        """One field."""

        value: Any

    return {each.__name__: each for each in (Place, Thing, Named, Same, Nothing, One)}


OURS, THEIRS = _classes(lean), _classes(dataclasses.dataclass)


def _both(ask: Callable[[dict[str, Any]], Any]) -> tuple[Any, Any]:
    return ask(OURS), ask(THEIRS)


def _refusal(do: Callable[[], Any]) -> tuple[type, str]:
    with pytest.raises((TypeError, AttributeError, ValueError)) as refused:
        do()
    return refused.type, str(refused.value)


ANSWERS: dict[str, Callable[[dict[str, Any]], Any]] = {
    "repr": lambda c: repr([c["Place"](1.0), c["Thing"]("a"), c["Named"]("b"), c["Nothing"](), c["One"]("x")]),
    "position and name": lambda c: dataclasses.astuple(c["Thing"]("a", secret="t", at=[1])),
    "default": lambda c: (
        c["Place"](1.0).y_m,
        c["Thing"]("a").at,
        c["Thing"]("a").later,
        c["Thing"]("a").made,
        c["Thing"]("a").seen,
    ),
    "a factory's own each time": lambda c: c["Thing"]("a").at is c["Thing"]("a").at,
    "equal": lambda c: (c["Place"](1.0) == c["Place"](1.0), c["Place"](1.0) == c["Place"](1.0, 2.0), c["Place"](1.0) == 1.0),
    "uncompared": lambda c: c["Thing"]("a", 1) == c["Thing"]("a", 2),
    "another class": lambda c: c["Thing"]("a") == c["Named"]("a"),
    "nan": lambda c: [c["One"](x) == c["One"](y) for nan in (float("nan"),) for x, y in ((nan, nan), (nan, float("nan")))],
    "hash": lambda c: [hash(x) for x in (c["Place"](1.0, 2.0), c["One"]("v"), c["Nothing"](), c["Thing"]("a"), c["Named"]("a"))],
    "unhashable": lambda c: _refusal(lambda: hash(c["One"]([]))),
    "by identity": lambda c: (
        c["Same"](1) == c["Same"](1),
        c["Same"].__eq__ is object.__eq__,
        c["Same"].__repr__ is object.__repr__,
    ),
    "fields": lambda c: [(f.name, f.type, f.init, f.repr, f.compare) for f in dataclasses.fields(c["Named"])],
    "replace": lambda c: repr(dataclasses.replace(c["Thing"]("a", 1), name="z")),
    "replace what is not given": lambda c: _refusal(lambda: dataclasses.replace(c["Thing"]("a"), later=1)),
    "asdict": lambda c: dataclasses.asdict(c["One"](c["Place"](1.0))),
    "match": lambda c: (c["Named"].__match_args__, c["Place"].__match_args__),
    "signature": lambda c: [str(inspect.signature(each)) for each in (c["Place"], c["Named"], c["Nothing"])],
    "annotations": lambda c: (c["Place"].__init__.__annotations__, typing.get_type_hints(c["Place"].__init__)),
    "set": lambda c: _refusal(lambda: setattr(c["Place"](1.0), "x_m", 2.0)),
    "delete": lambda c: _refusal(lambda: delattr(c["Place"](1.0), "x_m")),
    "set what is no field": lambda c: _refusal(lambda: setattr(c["Place"](1.0), "z", 2.0)),
    "missing": lambda c: _refusal(lambda: c["Place"]()),
    "too many": lambda c: _refusal(lambda: c["Place"](1, 2, 3)),
    "unknown": lambda c: _refusal(lambda: c["Place"](1, z=3)),
    "copy": lambda c: repr(copy.deepcopy(copy.copy(c["Thing"]("a", [1])))),
    "doc": lambda c: [each.__doc__ for each in c.values()],
}


@pytest.mark.parametrize("what", ANSWERS)
def test_it_does_what_the_standard_librarys_does(what: str) -> None:
    # Expected: the standard library's own class, asked the same
    ours, theirs = _both(ANSWERS[what])
    assert ours == theirs


@lean(frozen=True)
class Kept:
    """At the top of a module, as pickling asks."""

    value: int
    more: tuple[Any, ...] = ()


def test_it_can_be_pickled() -> None:
    assert pickle.loads(pickle.dumps(Kept(3, (Kept(4),)))) == Kept(3, (Kept(4),))


def test_one_that_holds_itself_can_be_shown() -> None:
    shown = Kept(1, ([],))
    shown.more[0].append(shown)
    assert repr(shown) == "Kept(value=1, more=([...],))"


def test_a_class_that_may_change_is_left_to_the_standard_library() -> None:
    with pytest.raises(TypeError, match="standard library"):
        lean(frozen=False)
