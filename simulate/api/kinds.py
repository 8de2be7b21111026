"""Kinds of arguments that several functions of the front door take."""

from __future__ import annotations

from halfgain.scenes.given import CALLABLE, Kind, is_file
from halfgain.scenes.model import Scene

SCENE = Kind(lambda value: isinstance(value, Scene) or is_file(value), "a Scene, a name of the library or a file's path")
PROGRESS = CALLABLE.optional
