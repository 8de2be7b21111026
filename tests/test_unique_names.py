"""Every class has a name of its own, so that a search for it finds one thing."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("materials", "scenes", "simulate")


def places() -> dict[str, list[str]]:
    """Where each class of the project stands, by its name."""
    found: dict[str, list[str]] = defaultdict(list)
    for top in PACKAGES:
        for path in sorted((ROOT / top).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef):
                    found[node.name].append(f"{path.relative_to(ROOT)}:{node.lineno}")
    return found


def test_no_class_name_is_used_twice() -> None:
    assert {name: where for name, where in places().items() if len(where) > 1} == {}
