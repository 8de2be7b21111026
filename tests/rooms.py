"""Rooms for tests, made from text as a user's file would be."""

from __future__ import annotations

from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import MeasuringPoints, Prepared, measuring_points, prepare

ROOM = """
format = 1
title = "test room"
[room]
width_m = {width}
depth_m = {depth}
height_m = {height}
[room.finish]
front = {front}
back = {back}
left = {left}
right = {right}
ceiling = {ceiling}
floor = {floor}
{objects}
[projector]
light_output_lm = {lumens}
in_use = 1.0
native_contrast = {native}
lens_m = {lens}
{projector}
[screen]
width_m = {screen_width}
aspect = "{aspect}"
bottom_m = {bottom}
right_m = {screen_right}
gap_to_wall_m = {gap}
border_m = {border}
{fabric}
{lights}
{seats}
"""

DEFAULTS: dict[str, object] = {
    "width": 4.0,
    "depth": 6.0,
    "height": 2.7,
    "front": 0.5,
    "back": 0.5,
    "left": 0.5,
    "right": 0.5,
    "ceiling": 0.7,
    "floor": 0.2,
    "objects": "",
    "lumens": 1000.0,
    "native": 2000.0,
    "lens": "[0.0, 4.5, 2.2]",
    "projector": "",
    "screen_width": 2.4,
    "aspect": "16:9",
    "bottom": 0.7,
    "screen_right": 0.0,
    "gap": 0.001,
    "border": 0.0,
    "fabric": '[screen.fabric]\nkind = "diffuse"\ngain = 0.9',
    "lights": "",
    "seats": '[[seat]]\nname = "middle"\neye_m = [0.0, 3.5, 1.2]\n[[seat]]\nname = "side"\neye_m = [-1.4, 3.0, 1.2]',
}

ANGULAR = '[screen.fabric]\nkind = "angular-reflective"\ngain = 1.6\nhalf_gain_deg = 32\nalbedo = 0.85'
RETRO = '[screen.fabric]\nkind = "retro-reflective"\ngain = 2.0\nhalf_gain_deg = 24\nalbedo = 0.8'


def box_object(name: str, low: list[float], high: list[float], reflectance: object) -> str:
    """One [[room.object]] table."""
    return f'[[room.object]]\nname = "{name}"\nbox = {{ min_m = {low}, max_m = {high} }}\nfinish = {reflectance}\n'


def room(**changes: object) -> Scene:
    """The default test room with changes to the fields of ROOM."""
    unknown = set(changes) - set(DEFAULTS)
    assert not unknown, unknown
    return scene_from_text(ROOM.format(**{**DEFAULTS, **changes}))


def lowered(scene: Scene) -> tuple[SceneArrays, MeasuringPoints, Prepared]:
    """Arrays, points and map of a scene."""
    arrays = flatten(scene)
    points = measuring_points(arrays)
    return arrays, points, prepare(arrays, points, threads=2)
