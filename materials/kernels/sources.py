"""What a kernel can read: its own file and every file of the project that it imports, directly or through others, as one hash.

numba freezes the constants and the callees of a kernel into its code but looks for edits in the kernel's own file only. Imports
are read from the text (all of them, also inside functions; those for type checkers alone are left out), so the hash is the same
in every process, whatever was imported before, and an edit elsewhere leaves it alone.

Reading and hashing the files costs a millisecond or two; parsing them costs a hundred. So what a text imports is kept by the
hash of that text (`remembered`), which no edit can make stale.
"""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

Import = tuple[int, str, Sequence[str]]  # dots before the module, module, names taken from it
_STARTED = time.time()


class Edited(Exception):
    """A source changed after this process began: what runs here may be older than the file. str() is its path."""


class Sources:
    """The project's files by module name.

    root     folder that holds the top packages
    project  name under which they are imported
    """

    def __init__(self, root: Path, project: str) -> None:
        self.root, self.project = root, project
        self.remembered: dict[str, list[Import]] = {}  # imports by the hash of the text
        self.parsed = False  # whether this process has added to them
        self._texts: dict[str, str] = {}  # hash of the text by module: as first read, since that is what runs
        self._imported: dict[str, tuple[str, ...]] = {}
        self._files: dict[str, str | None] = {}

    def hash_of(self, module: str) -> str:
        """Hash of all that a module can read of the project, 64 hex digits.

        raises  OSError where a source cannot be read, SyntaxError where it is none; Edited
        Source: SHA-256 over names and texts in the order of their names.
        """
        seen, waiting = {module}, [module]
        while waiting:
            new = set(self._imports(waiting.pop())) - seen
            seen |= new
            waiting.extend(new)
        return hashlib.sha256("".join(f"{name} {self._texts[name]}\n" for name in sorted(seen)).encode()).hexdigest()

    def _imports(self, module: str) -> tuple[str, ...]:
        """Project modules that a module's text names."""
        if module not in self._imported:
            path = self._file(module)
            if path is None:
                raise FileNotFoundError(f"no source of {module}")
            with open(path, "rb") as file:
                text = file.read()
                changed = os.fstat(file.fileno()).st_mtime
            if _STARTED < changed <= time.time():  # one from the future is a wrong clock's, not an edit
                raise Edited(path)
            digest = hashlib.sha256(text).hexdigest()
            if digest not in self.remembered:
                self.remembered[digest] = imports_of(text)
                self.parsed = True
            package = module if path.endswith("__init__.py") else module.rpartition(".")[0]
            named = {name for each in self.remembered[digest] for name in self._modules(package, *each)}
            self._texts[module], self._imported[module] = digest, tuple(sorted(named))
        return self._imported[module]

    def _modules(self, package: str, dots: int, module: str, names: Sequence[str]) -> Iterator[str]:
        """Modules of the project that one import statement in a package names."""
        if dots:
            parts = package.split(".")
            module = ".".join([*parts[: len(parts) - dots + 1], *([module] if module else [])])
        path = self._file(module)
        if path is not None and not path.endswith("__init__.py"):
            yield module
            return
        inside = [f"{module}.{name}" for name in names]
        found = [name for name in inside if self._file(name) is not None]
        yield from found
        if path is not None and len(found) < len(inside):  # something of the package itself
            yield module

    def _file(self, module: str) -> str | None:
        """Source of a module or a package of the project; None for any other name."""
        if module not in self._files:
            first, *rest = module.split(".")
            stem = os.path.join(self.root, *rest)
            paths = (f"{stem}.py", os.path.join(stem, "__init__.py")) if first == self.project and rest else ()
            self._files[module] = next((path for path in paths if os.path.isfile(path)), None)
        return self._files[module]


def imports_of(text: bytes) -> list[Import]:
    """All import statements of a source, also inside functions, but for those under `if TYPE_CHECKING`.

    raises  SyntaxError
    """
    import ast  # a hundredth of a second, and seldom needed

    found: list[Import] = []
    waiting: list[ast.AST] = [ast.parse(text)]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Import):
            found += [(0, alias.name, ()) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            found.append((node.level, node.module or "", tuple(alias.name for alias in node.names)))
        elif isinstance(node, ast.If) and ast.unparse(node.test) in ("TYPE_CHECKING", "typing.TYPE_CHECKING"):
            waiting.extend(node.orelse)
        else:
            waiting.extend(ast.iter_child_nodes(node))
    return sorted(set(found))
