"""The picture of `picture` for the page when nothing else is asked: final gather on the light that is there already."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...scenes.geometry import picture
from ...scenes.load import scene_from_text
from ..measuring.lens import levels_of
from ..page.seat_pictures import folded
from ..views.primary_rays import Seen
from ..views.render import seat_camera, seat_picture
from ..views.shade import PictureSetup, arriving
from .charts import content
from .desk import Work
from .screen_sight import fold_map
from .wire import Ask, Message
from .work import Solver

PIECE = 400  # pixels of one step


class Superseded(Exception):
    """Another question came while the picture was made."""


def precise_picture(solver: Solver, ask: Ask, size: tuple[int, int]) -> Work:
    """The picture of a scene's seat, (height, width, 3) half floats [cd/m2]; dark but for the picture, other light is the page's.

    ask.text is a scene that the page has shown;  size  width, height in pixels
    A newer question ends it without an answer: the page asks again when it is quiet.
    Source: `render.seat_picture`; folded cloth as on the client's page.
    """
    scene = scene_from_text(ask.text, ask.name, solver.folder.place)
    seat = min(ask.seat, len(scene.seats) - 1)
    area = picture(scene)
    shown = content(ask.show, round(area.width_m / area.height_m, 3))
    lit = None
    for step in solver.lit_of(scene, levels_of(scene).shown(shown.zones(), shown.level), ask.slot):
        yield None
        lit = step
    if lit is None:
        raise AssertionError("no light was found")
    stage = PictureSetup(scene, lit.arrays, shown, None, lit.room, solver.seed)
    camera = seat_camera(scene, seat, width=size[0], height=size[1])

    def ask_in_pieces(seen: Seen, rays: np.ndarray, pixels: np.ndarray, table: np.ndarray) -> np.ndarray:
        found = []
        for low in range(0, max(len(pixels), 1), PIECE):
            if solver.pressed():
                raise Superseded
            found.append(arriving([stage], seen, rays, pixels[low : low + PIECE], table, solver.threads)[0])
        return np.concatenate(found)

    try:
        flat = seat_picture(stage, camera, threads=solver.threads, arriving_at=ask_in_pieces)
    except Superseded:
        return
    fold = fold_map(scene, seat, ask.level, threads=solver.threads)  # type: ignore[arg-type]
    cd_m2 = flat.cd_m2 if fold is None else folded(scene, replace(flat), fold.map.luminance_ratio)
    head = {"number": ask.number, "slot": ask.slot, "seat": seat}
    yield Message("precise", head, {"cd_m2": np.minimum(cd_m2, 65000.0).astype(np.float16)})
