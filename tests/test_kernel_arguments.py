"""No kernel takes a long list of arguments: what belongs together travels as a NamedTuple, whose docstring gives shapes and units."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("materials", "scenes", "simulate")
MOST = 8
MARKS = {"kernel", "within_callers", "by_type", "njit", "jit", "overload"}
EXCEPTIONS: dict[str, str] = {}  # "file: kernel", and what a bundle cost it, measured


def mark_of(decorator: ast.expr) -> str:
    """Name of a decorator, called or not, whatever module it is taken from."""
    bare = decorator.func if isinstance(decorator, ast.Call) else decorator
    return bare.attr if isinstance(bare, ast.Attribute) else bare.id if isinstance(bare, ast.Name) else ""


def kernels_in(text: str) -> Iterator[tuple[str, int]]:
    """Name and number of arguments of each kernel in a module's text; `*rest` counts as too many, since any number may come."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef) and any(mark_of(each) in MARKS for each in node.decorator_list):
            given = node.args
            some = len(given.posonlyargs) + len(given.args) + len(given.kwonlyargs)
            yield node.name, some + (MOST + 1 if given.vararg or given.kwarg else 0)


def kernels() -> dict[str, int]:
    """Number of arguments of every kernel of the project, by "file: kernel"."""
    return {
        f"{path.relative_to(ROOT).as_posix()}: {name}": count
        for top in PACKAGES
        for path in sorted((ROOT / top).rglob("*.py"))
        for name, count in kernels_in(path.read_text(encoding="utf-8"))
    }


def test_kernels_take_at_most_eight_arguments_but_for_the_listed_ones() -> None:
    found = kernels()
    assert len(found) > 150  # the search finds them
    assert {name for name, count in found.items() if count > MOST} == set(EXCEPTIONS)


def test_exceptions_say_what_a_bundle_cost() -> None:
    assert all(any(figure.isdigit() for figure in reason) for reason in EXCEPTIONS.values())


def test_the_search_sees_every_way_to_mark_a_kernel() -> None:
    arguments = ", ".join(f"a{k}" for k in range(MOST + 1))
    marks = ("@kernel", "@kernel(allocates=True)", "@within_callers", "@by_type(some)", "@njit(nogil=True)", "@overload(some)")
    for mark in marks:
        assert list(kernels_in(f"{mark}\ndef long({arguments}):\n    pass")) == [("long", MOST + 1)], mark
    assert next(kernels_in("@kernel\ndef rest(a, *more):\n    pass"))[1] > MOST
    assert list(kernels_in("@kernel\ndef named(a, *, b):\n    pass")) == [("named", 2)]
    assert list(kernels_in(f"def plain({arguments}):\n    pass")) == []
