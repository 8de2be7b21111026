"""Imports may only run materials <- scenes <- simulate, and inside simulate light <- the rest <- output <- command.

Run as a script it prints what runs the wrong way and exits with 1; pytest runs the same check.
"""

from __future__ import annotations

import ast
import sys
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
READ = ast.Import | ast.ImportFrom | ast.ClassDef | ast.Call | ast.Compare  # what the tests of the sources look at
ORDER = (
    "materials",
    "scenes",
    "simulate.light",
    "simulate.eye",
    "simulate.folds",
    "simulate.measuring",
    "simulate.answers",
    "simulate.commissioning",
    "simulate.choices",
    "simulate.studies",
    "simulate.placing",
    "simulate.ordering",
    "simulate.sound",
    "simulate.views",
    "simulate.output",
    "simulate.page",
    "simulate.live",
    "simulate.command",
    "simulate.api",
)


def _layer(parts: tuple[str, ...]) -> int | None:
    """Place of a module in ORDER, by its longest matching package."""
    name = ".".join(parts)
    found = [i for i, layer in enumerate(ORDER) if name == layer or name.startswith(layer + ".")]
    return max(found, key=lambda i: len(ORDER[i])) if found else None


def _targets(node: ast.AST, package: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Project modules that an import statement names, as parts below halfgain."""
    if isinstance(node, ast.Import):
        return [tuple(a.name.split("."))[1:] for a in node.names if a.name.startswith("halfgain.")]
    if not isinstance(node, ast.ImportFrom):
        return []
    module = tuple((node.module or "").split(".")) if node.module else ()
    if node.level:
        base = package[: len(package) - node.level + 1] + module
    elif module[:1] == ("halfgain",):
        base = module[1:]
    else:
        return []
    return [(*base, a.name) for a in node.names]


@cache
def project_nodes() -> tuple[tuple[Path, tuple[ast.AST, ...]], ...]:
    """Every source of the project with its nodes of the kinds READ, parsed once for all tests of the sources."""
    paths = [path for top in ("materials", "scenes", "simulate") for path in sorted((ROOT / top).rglob("*.py"))]
    return tuple(
        (path, tuple(node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, READ)))
        for path in paths
    )


def wrong_imports() -> list[str]:
    """Every import that runs against the order, as `file:line imports module`."""
    found = []
    for path, nodes in project_nodes():
        parts = path.relative_to(ROOT).with_suffix("").parts
        here = _layer(parts)
        for node in nodes:
            for target in _targets(node, parts[:-1]):
                there = _layer(target)
                if here is not None and there is not None and there > here:
                    found.append(f"{path.relative_to(ROOT)}:{node.lineno} imports {'.'.join(target)}")
    return found


def test_imports_run_one_way() -> None:
    assert wrong_imports() == []


if __name__ == "__main__":
    wrong = wrong_imports()
    print("\n".join(wrong) if wrong else "imports run one way")
    sys.exit(bool(wrong))
