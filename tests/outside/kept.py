"""Answers of the reference renderer, and of rays of sound, that are kept, so that a test asks for one or two batches and not for all.

A file holds an answer's batches beside a digest of what was asked: the arguments, and the programs of this folder that ask. Where
either has changed the test that asks fails until `python -m benchmarks.references` has asked anew. Each time the first
batches are asked again with their own seeds: they must lie among the kept ones, so a renderer that has come to answer otherwise is noticed.
"""

from __future__ import annotations

import ast
import hashlib
import json
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

FOLDER = Path(__file__).with_name("kept")
ASK_ANEW = "HALFGAIN_ASK_ANEW"  # 1: ask for all batches, and keep them
DIGITS = 8  # a renderer in single precision has no more
AMONG = 6.0  # standard deviations of one batch that the first ones may lie from the mean of all, asked anywhere


def kept_batches(
    name: str, ask: Callable[..., NDArray[np.float64]], /, *args: Any, batches: int = 16, again: int = 2, **how: Any
) -> Any:
    """What `ask(*args, batches=..., **how)` says, batches first, kept under a name.

    ask      its batch k depends on no other and not on how many there are; every argument has a repr that tells all of it
    again    number of batches that are asked for each time
    raises   AssertionError where the question has changed, or where the renderer answers otherwise now
    """
    file, asked = FOLDER / f"{name}.json", _digest(ask, args, {**how, "batches": batches})
    if os.environ.get(ASK_ANEW) == "1":
        _keep(file, asked, ask(*args, batches=batches, **how))
    held = json.loads(file.read_text(encoding="utf-8"))
    anew = f"python -m benchmarks.references asks anew for {file.name}"
    assert held["asked"] == asked, f"what was asked has changed: {anew}"
    answer = np.array(held["answer"])
    first = ask(*args, batches=again, **how)
    spread = AMONG * answer.std(axis=0, ddof=1) + 1e-6 * np.abs(answer.mean(axis=0))
    assert (np.abs(first - answer.mean(axis=0)) <= spread).all(), f"the renderer answers otherwise than it did: {anew}"
    return answer


def _keep(file: Path, asked: str, answer: NDArray[np.float64]) -> None:
    FOLDER.mkdir(exist_ok=True)
    rounded = np.array([float(f"{value:.{DIGITS}g}") for value in answer.ravel()]).reshape(answer.shape)
    lines = ",\n".join(json.dumps(batch) for batch in rounded.tolist())
    file.write_text(f'{{"asked": "{asked}",\n"answer": [\n{lines}\n]}}\n', encoding="utf-8")


def _digest(ask: Callable[..., Any], args: tuple[Any, ...], how: dict[str, Any]) -> str:
    told = f"{ask.__module__}.{ask.__qualname__} {_told(args)} {_told(how)}"
    return hashlib.sha256((told + _programs(ask.__module__.rpartition(".")[2])).encode()).hexdigest()[:32]


def _told(thing: Any) -> str:
    """All of a thing in words; numbers to six decimals, as the last digits of a sum are a processor's own."""
    if isinstance(thing, np.ndarray | float | np.floating):
        numbers = np.round(np.asarray(thing, float), 6) + 0.0  # no negative nought
        return f"{numbers.shape} {hashlib.sha256(numbers.tobytes()).hexdigest()}"
    if isinstance(thing, dict):
        return str(sorted((key, _told(value)) for key, value in thing.items()))
    if isinstance(thing, tuple | list):
        return str([_told(part) for part in thing])
    if hasattr(thing, "func"):  # a partial
        return f"{thing.func.__qualname__} {_told(thing.args)} {_told(thing.keywords)}"
    return _told(vars(thing)) if hasattr(thing, "__dataclass_fields__") else repr(thing)


@cache
def _programs(name: str) -> str:
    """What asks, by the name of its module, comments and layout left out."""
    files = sorted([*FOLDER.parent.glob("mitsuba_*.py"), FOLDER.parent / "box_room.py"])
    files = [FOLDER.parent / f"{name}.py"] if name.startswith("sound_") else files
    return "".join(ast.dump(_without_words(ast.parse(file.read_text(encoding="utf-8")))) for file in files)


def _without_words(tree: ast.Module) -> ast.Module:
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node, clean=False) is not None:
            node.body = node.body[1:]
    return tree
