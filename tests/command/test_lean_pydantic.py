"""pydantic without plugins: scenes load and their faults are told, what finding plugins needs stays out, and comes when it is asked for."""

from __future__ import annotations

import subprocess
import sys


def _told(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_scenes_load_and_the_search_for_plugins_stays_out() -> None:
    code = """
import sys
from halfgain.simulate.command.lean_pydantic import lean_pydantic
lean_pydantic()
from halfgain.scenes.load import load_scene, scene_from_text, SceneErrors
print(load_scene("dark-room").title)
try:
    scene_from_text("[projector]\\nlens_n = [0.0, 3.0, 1.5]")
except SceneErrors as refused:
    print("lens_n" in str(refused))
print("importlib.metadata" in sys.modules)
"""
    assert _told(code).splitlines()[1:] == ["True", "False"]


def test_a_release_that_asks_for_more_gets_it() -> None:
    # Expected: pydantic's own constant, from its own module
    code = """
import sys
from halfgain.simulate.command.lean_pydantic import LOADER, lean_pydantic
lean_pydantic()
lean_pydantic()
from pydantic.plugin._loader import get_plugins
print(list(get_plugins()), "importlib.metadata" in sys.modules)
from pydantic.plugin._loader import PYDANTIC_ENTRY_POINT_GROUP
print(PYDANTIC_ENTRY_POINT_GROUP, sys.modules[LOADER].__spec__.name)
"""
    assert _told(code) == "[] False\npydantic pydantic.plugin._loader\n"


def test_what_is_loaded_already_stays() -> None:
    code = """
import pydantic.plugin._loader as true, sys
from halfgain.simulate.command.lean_pydantic import LOADER, lean_pydantic
lean_pydantic()
print(sys.modules[LOADER] is true)
"""
    assert _told(code) == "True\n"
