"""Arguments of functions that Python users call: what is of the wrong kind is refused by name, before anything runs."""

from __future__ import annotations

import functools
import math
import os
from collections.abc import Callable, Iterable, Mapping
from numbers import Real
from typing import Any, NamedTuple, ParamSpec, TypeGuard, TypeVar

from .errors import SceneError, SceneErrors

P = ParamSpec("P")
T = TypeVar("T")


class Kind(NamedTuple):
    """What an argument may be: a test, and the same in words."""

    fits: Callable[[Any], bool]
    allowed: str

    @property
    def optional(self) -> Kind:
        """The same, or None."""
        return Kind(lambda value: value is None or self.fits(value), f"{self.allowed}, or None")


def is_number(value: Any) -> bool:
    """Whether it is one finite real number, numpy's included; truth values are none."""
    if not isinstance(value, Real) or isinstance(value, bool):
        return False
    try:
        return math.isfinite(float(value))
    except OverflowError:
        return False


def is_file(value: Any) -> bool:
    """Whether it can name a file or folder."""
    return isinstance(value, str | os.PathLike) and isinstance(os.fspath(value), str)


def is_list(value: Any) -> TypeGuard[Iterable[Any]]:
    """Whether it is several things in a row: no text, no mapping."""
    return isinstance(value, Iterable) and not isinstance(value, str | bytes | Mapping)


def whole(least: int, most: int | None = None) -> Kind:
    """A whole number from `least` on, up to `most`."""
    words = f"a whole number from {least}" + ("" if most is None else f" to {most}")
    return Kind(lambda value: _is_whole(value) and least <= int(value) and (most is None or int(value) <= most), words)


def between(least: float, most: float) -> Kind:
    """A number from `least` to `most`."""
    return Kind(lambda value: is_number(value) and least <= value <= most, f"{least:g} to {most:g}")


def _is_whole(value: Any) -> bool:
    return is_number(value) and hasattr(value, "__index__")


TEXT = Kind(lambda value: isinstance(value, str), "a text")
FILE = Kind(is_file, "a file's path")
FOLDER = Kind(is_file, "a folder's path")
FILES = Kind(lambda value: is_list(value) and all(map(is_file, value)), "a list of files' paths")
NUMBER = Kind(is_number, "a number")
NUMBERS = Kind(lambda value: is_list(value) and all(map(is_number, value)), "a list of numbers")
NUMBER_OR_NUMBERS = Kind(lambda value: is_number(value) or NUMBERS.fits(value), f"{NUMBER.allowed} or {NUMBERS.allowed}")
WHOLE = Kind(_is_whole, "a whole number")
YES_NO = Kind(lambda value: type(value).__name__ in ("bool", "bool_"), "True or False")
CALLABLE = Kind(callable, "a function")
MAPPING = Kind(lambda value: isinstance(value, Mapping), "a mapping such as a dict")
THREADS = whole(0).optional


def takes(**kinds: Kind) -> Callable[[Callable[P, T]], Callable[P, T]]:
    """A function whose arguments of these names must be of these kinds; what is left out is not judged.

    raises  SceneErrors, when the function is called, with all arguments that cannot be
    """

    def judged(run: Callable[P, T]) -> Callable[P, T]:
        code = getattr(run, "__wrapped__", run).__code__
        names = code.co_varnames[: code.co_argcount]

        @functools.wraps(run)
        def asked(*args: P.args, **kwargs: P.kwargs) -> T:
            given = {**dict(zip(names, args, strict=False)), **kwargs}
            wrong = [
                SceneError(run.__name__, 0, name, given[name], "cannot be used", kind.allowed)
                for name, kind in kinds.items()
                if name in given and not kind.fits(given[name])
            ]
            if wrong:
                raise SceneErrors(wrong)
            return run(*args, **kwargs)

        return asked

    return judged
