"""Every class has a name of its own, so that a search for it finds one thing."""

from __future__ import annotations

import ast
from collections import defaultdict

from tests.test_import_direction import ROOT, project_nodes


def places() -> dict[str, list[str]]:
    """Where each class of the project stands, by its name."""
    found: dict[str, list[str]] = defaultdict(list)
    for path, nodes in project_nodes():
        for node in nodes:
            if isinstance(node, ast.ClassDef):
                found[node.name].append(f"{path.relative_to(ROOT)}:{node.lineno}")
    return found


def test_no_class_name_is_used_twice() -> None:
    assert {name: where for name, where in places().items() if len(where) > 1} == {}
