"""The light of a room as it goes to the page: the atlas, what it adds to the cloth towards a seat, heads, windows, the projector's beam."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...scenes.model import Scene
from ..light.projector import CENTRE, FALL_OFF, FAR2, PEAK, SPILLS
from ..measuring.flatten import SceneArrays
from ..views.room_glb import to_gltf
from .lamp_light import CLOTH, LampState, finer, lamps_on_cloth, lamps_on_heads, panes
from .lightmap import Lit, fabric_key
from .screen_sight import on_heads, sent_back
from .sights import HEAD_GRID, MOST_HEADS
from .wire import Ask, Message


def light_message(ask: Ask, scene: Scene, lit: Lit, seat: int, average: float, *, shaped: bool, threads: int = 1) -> Message:
    """The light of the room and what it does to cloth and heads; shaped: with the triangles that read it."""
    arrays, shape, lamps = lit.arrays, lit.of.of.shape, lit.lamps
    parts: dict[str, np.ndarray] = {"light": half(lit.atlas()), "back": half(_towards(lit, lamps, seat, threads))}
    if len(scene.seats) > 1:
        parts["heads"] = half(_heads(lit, lamps, threads))
    if lamps is not None:
        parts["panes"], shine = panes(lamps.on, arrays.geometry, lit.room.values.radiance)
        parts["shine"] = half(shine)
    if shaped:
        parts |= {"place": shape.place, "corners": shape.corners, "surface": shape.surface, "at": shape.at, "pull": shape.pull}
    head = {
        "seat": seat, "average": average, "shape": lit.of.of.shape_key, "beam": beam_of(arrays), "fine": lit.brought is not None,
        "reflectance": np.round(arrays.reflectance, 5).tolist(),
        "eyes": [list(each.eye_m) for each in scene.seats[:MOST_HEADS]], "head_grid": list(HEAD_GRID),
    }  # fmt: skip
    return answer(ask, "light", head, parts)


def _towards(lit: Lit, lamps: LampState | None, seat: int, threads: int) -> np.ndarray:
    """What the room's light and its lamps add to the cloth towards a seat, (rows, columns, 3) [cd/m2], tint included."""
    back, arrays = sent_back(lit, seat), lit.arrays
    if lamps is None:
        return back
    eye = arrays.eyes[seat]
    own = lamps.cells.once(("cloth", eye.tobytes(), fabric_key(arrays)), lambda: lamps_on_cloth(arrays, eye, threads=threads))
    return finer(back, CLOTH[::-1]) + own @ lamps.on.weight * np.array(arrays.fabric.tint)


def _heads(lit: Lit, lamps: LampState | None, threads: int) -> np.ndarray:
    """What viewers' heads send, (heads, corners, 3) [cd/m2]."""
    found, arrays = on_heads(lit), lit.arrays
    if lamps is None:
        return found
    own = lamps.cells.once(("heads", arrays.eyes[:MOST_HEADS].tobytes()), lambda: lamps_on_heads(arrays, threads=threads))
    return found + own @ lamps.on.weight


def beam_of(arrays: SceneArrays) -> dict[str, Any] | None:
    """What the browser needs to draw the projector's own light beside the cloth; None where none falls there. Lengths [m], light [lx]."""
    projector = arrays.projector
    if not projector.flags[SPILLS]:
        return None
    return {
        "lens": to_gltf(projector.lens).tolist(), "middle": to_gltf(projector.frame[CENTRE]).tolist(), "raster": projector.raster.tolist(),
        "peak_lx": float(projector.light[PEAK]), "fall_off": float(projector.light[FALL_OFF]), "far2": float(projector.light[FAR2]),
    }  # fmt: skip


def half(values: np.ndarray) -> np.ndarray:
    """Half floats, 0.05 % fine; brighter than they reach stays their largest. Source: IEEE 754 binary16."""
    return np.minimum(values, 65504.0).astype(np.float16)


def answer(ask: Ask, kind: str, head: dict[str, Any], arrays: dict[str, np.ndarray] | None = None) -> Message:
    """A message of a kind to the page and slot of a question."""
    return Message(kind, {"number": ask.number, "slot": ask.slot, **head}, arrays or {})
