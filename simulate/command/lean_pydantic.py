"""pydantic without plugins, for the command line: looking for them imports importlib.metadata and email, 10 ms of every start."""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import Any

LOADER = "pydantic.plugin._loader"


def lean_pydantic() -> None:
    """Let pydantic find no plugins in this process: no table of ours asks for one. Where it is loaded already it stays as it is.

    Source: pydantic.plugin._schema_validator imports `get_plugins` from there, and nothing else; a release that asks for more gets
    it from the module itself.
    """
    if LOADER in sys.modules:
        return
    loader: Any = ModuleType(LOADER)
    loader.get_plugins = tuple
    loader.__getattr__ = _of_the_module_itself
    sys.modules[LOADER] = loader


def _of_the_module_itself(name: str) -> Any:
    if name.startswith("__"):  # the import system asks whether this is a package
        raise AttributeError(name)
    del sys.modules[LOADER]
    return getattr(import_module(LOADER), name)
