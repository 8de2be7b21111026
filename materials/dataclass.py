"""The standard library's `dataclass` with less to compile: 125 classes stand behind a measurement, and each took half a millisecond.

The standard library writes six functions for a frozen class and has each compiled. Of these only __init__ differs from class to
class; the others are made here of what `dataclasses.fields` says. What else it does (fields, replace, asdict, __match_args__) stays.
"""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Callable
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(*, frozen: bool, eq: bool = True, repr: bool = True) -> Callable[[type], type]:
        """`dataclasses.dataclass(frozen=True)`, with eq and repr as there; what the class itself defines stays.

        Source: the reference of the standard library's dataclasses.
        """
        if not frozen:
            raise TypeError("a class that may change is the standard library's own")

        def made(cls: type) -> type:
            own = set(vars(cls))
            dataclasses.dataclass(init=False, repr=False, eq=False)(cls)
            cls.__init__ = _init(cls)
            cls.__setattr__, cls.__delattr__ = _no_new_value, _no_deleting
            if repr and "__repr__" not in own:
                cls.__repr__ = _repr
            if eq:
                _compare(cls, own)
            return cls

        return made


class _Made:
    """Stands in signatures where a factory makes the value."""

    def __repr__(self) -> str:
        return "<factory>"


_MADE = _Made()


def _init(cls: Any) -> Any:
    """__init__ of a class: by place or by name, defaults, factories, __post_init__; compiled, as its arguments are the class's own."""
    known: dict[str, Any] = {"_MADE": _MADE}
    given, values = [], []
    for each in dataclasses.fields(cls):
        name, default = each.name, f"_default_{each.name}"
        if each.default_factory is not dataclasses.MISSING:
            known[default] = each.default_factory
            given += [f"{name}=_MADE"] if each.init else []
            values.append(f"{name}={default}()" + (f" if {name} is _MADE else {name}" if each.init else ""))
        elif each.init:  # else the class itself holds the default
            known[default] = each.default
            given.append(name if each.default is dataclasses.MISSING else f"{name}={default}")
            values.append(f"{name}={name}")
    after = "\n  self.__post_init__()" if hasattr(cls, "__post_init__") else ""
    found: dict[str, Any] = {}
    exec(  # all values at once: half of what compiling a line for each takes
        f"def _made({', '.join(known)}):\n"
        f" def __init__(self, {', '.join(given)}):\n  self.__dict__.update({', '.join(values)}){after}\n return __init__",
        vars(sys.modules[cls.__module__]),
        found,
    )
    init = found["_made"](**known)
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    init.__annotations__ = {each.name: each.type for each in dataclasses.fields(cls) if each.init} | {"return": None}
    return init


def _compare(cls: Any, own: set[str]) -> None:
    """Equal where the class and all compared fields are, and hashed by these."""
    names = [each.name for each in dataclasses.fields(cls) if each.compare]
    values: Callable[[Any], Any] = (
        attrgetter(*names) if len(names) > 1 else lambda each: tuple(getattr(each, name) for name in names)
    )

    def __eq__(self: Any, other: object) -> bool:
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    def __hash__(self: Any) -> int:
        return hash(values(self))

    for method in (__eq__, __hash__):
        if method.__name__ not in own:
            setattr(cls, method.__name__, method)


@recursive_repr()
def _repr(self: Any) -> str:
    shown = (f"{each.name}={getattr(self, each.name)!r}" for each in dataclasses.fields(self) if each.repr)
    return f"{type(self).__qualname__}({', '.join(shown)})"


def _no_new_value(self: Any, name: str, value: object) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _no_deleting(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
