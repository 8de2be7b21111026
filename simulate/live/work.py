"""The answers to one question about a scene, in the order a viewer wants them: numbers, then what the seat sees, then what is finer."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from ...materials.text.error import Error
from ...scenes.digest import digest_of
from ...scenes.errors import SceneErrors
from ...scenes.geometry import picture, to_inside
from ...scenes.load import scene_from_text
from ...scenes.model import Scene
from ...scenes.read import parse
from ..light.geometry import is_pieced
from ..light.projector import CENTRE, FALL_OFF, FAR2, PEAK, SPILLS
from ..measuring.flatten import SceneArrays
from ..measuring.lens import levels_of
from ..views.room_glb import room_glb, to_gltf
from .charts import zones
from .controls import controls, told
from .desk import Work
from .edits import edited
from .figures import LiveFigures
from .folder import SceneFolder
from .lightmap import LightMap, Lit, flat_arrays, light_map_steps
from .places import geometry_key, map_key
from .rooms import Rooms
from .screen_sight import HEAD_GRID, MOST_HEADS, LiveFoldSight, fold_sight, on_heads, screen_sight, sent_back, view_camera
from .wire import Ask, Message

MOST_MAPS, MOST_LIT, MOST_FOLDS = 3, 4, 8
IS_TRIANGLE = 12  # column of `Geometry.plane`
EYES_WHITE_CD_M2 = 50.0  # for the eye's sensitivity where no numbers are there yet


class Solver:
    """All that is kept between questions; used by the solver's thread alone."""

    def __init__(self, folder: SceneFolder, *, seed: int, threads: int) -> None:
        self.folder, self.seed, self.threads = folder, seed, threads
        self.rooms = Rooms(seed=seed, threads=threads)
        self._maps: OrderedDict[str, LightMap] = OrderedDict()
        self._lit: OrderedDict[tuple[str, str], Lit] = OrderedDict()
        self._folds: OrderedDict[str, LiveFoldSight | None] = OrderedDict()
        self.pressed: Callable[[], bool] = lambda: False  # whether other questions wait

    def answers(self, ask: Ask) -> Work:
        """Messages of one question, with steps (None) between; what is wrong with the scene is a message too.

        raises  what is a fault of the program
        """
        try:
            text = edited(ask.text, ask.edits)
            self.folder.check(parse(text, ask.name))
            scene = scene_from_text(text, ask.name, self.folder.place)
        except SceneErrors as fault:
            yield _answer(ask, "refused", {"errors": [told(each) for each in fault.errors[:20]]})
            return
        except Error as fault:
            yield _answer(ask, "refused", {"errors": [{"line": 0, "key": "", "text": str(fault)}]})
            return
        yield _answer(
            ask, "scene", {"text": text, "scene": controls(scene), "geometry": geometry_key(scene), "sha256": scene.sha256}
        )
        seat = min(ask.seat, len(scene.seats) - 1)
        figures = self.rooms.figures(scene) if "numbers" in ask.wants else iter(())
        first = next(figures, None)
        if first is not None:
            yield _answer(ask, "numbers", first.document())
        yield from self._seen(ask, scene, seat, first)
        for found in figures:
            yield _answer(ask, "numbers", found.document())
        if "room" in ask.wants:
            yield self._room(ask, scene)

    def _seen(self, ask: Ask, scene: Scene, seat: int, figures: LiveFigures | None) -> Work:
        """The seat's maps of the cloth and its folds, then the light on everything else."""
        arrays = flat_arrays(scene)
        fold = None
        if ask.wants & {"folds", "view"}:
            white = EYES_WHITE_CD_M2 if figures is None else figures.seats[seat]["values"]["white_cd_m2"][0] or EYES_WHITE_CD_M2
            fold = self._fold(ask, scene, seat, white)
            yield _answer(ask, "folds", fold_words(fold, ask.level))
        if "view" not in ask.wants:
            return
        if is_pieced(arrays.geometry) or arrays.geometry.plane[:, IS_TRIANGLE].any():
            yield _answer(ask, "blind", {"text": "A room of triangles has no view here yet; its figures are right."})
            return
        yield self._sight(ask, scene, arrays, seat, fold)
        levels, average = self._levels(ask, scene)
        yield from self._light(ask, scene, arrays, seat, levels, average)

    def _fold(self, ask: Ask, scene: Scene, seat: int, white_cd_m2: float) -> LiveFoldSight | None:
        """The seat's folds, once for all that leaves cloth, eye, lens and fabric alone; white counts in steps of 5 %."""
        step = round(float(np.log(white_cd_m2)) / 0.05)
        lens, eye = scene.projector.lens_m, scene.seats[seat].eye_m
        fabric = tuple(np.asarray(part) for part in scene.screen.fabric.arrays())
        key = digest_of((geometry_key(scene), lens, eye, fabric, ask.level, step, list(scene.projector.pixels or ())))
        if key not in self._folds:
            self._folds[key] = fold_sight(scene, seat, ask.level, white_cd_m2, threads=self.threads)  # type: ignore[arg-type]
            while len(self._folds) > MOST_FOLDS:
                self._folds.popitem(last=False)
        return self._folds[key]

    @staticmethod
    def _levels(ask: Ask, scene: Scene) -> tuple[np.ndarray, float]:
        """Levels of the picture's zones as the projector makes them (192, C) [1], and the mean share of white."""
        area = picture(scene)
        if ask.zones is not None:
            share, average = ask.zones, float(ask.zones.mean(axis=0) @ np.array([0.2126, 0.7152, 0.0722]))
        else:
            share, average = zones(ask.show, area.width_m / area.height_m)
        return levels_of(scene).shown(share, average), average

    @staticmethod
    def _sight(ask: Ask, scene: Scene, arrays: SceneArrays, seat: int, fold: LiveFoldSight | None) -> Message:
        sight, camera, shown = screen_sight(arrays, seat), view_camera(scene, seat), levels_of(scene)
        parts = {"direct": _half(sight.direct), "even": _half(sight.even)}
        if fold is not None:
            parts["ratio"] = _half(np.nan_to_num(fold.map.luminance_ratio))
        across = 2.0 * float(np.degrees(np.arctan(camera.half_width)))
        head = {
            "seat": seat, "black": shown.black, "veil": shown.veil, "tint": [float(part) for part in arrays.fabric.tint],
            "picture": list(picture(scene)), "eye_m": list(scene.seats[seat].eye_m), "field_deg": across, "aspect": camera.width / camera.height,
        }  # fmt: skip
        return _answer(ask, "sight", head, parts)

    def _light(self, ask: Ask, scene: Scene, arrays: SceneArrays, seat: int, levels: np.ndarray, average: float) -> Work:
        key = map_key(scene, arrays)
        if key not in self._maps:
            yield _answer(ask, "waiting", {"for": "light"})
            for _ in self._make_map(key, arrays):
                yield None
        kept = self._maps[key]
        self._maps.move_to_end(key)
        lit = kept.lit(arrays, levels, self._lit.get((key, ask.slot)), threads=self.threads)
        self._lit[(key, ask.slot)] = lit
        while len(self._lit) > MOST_LIT:
            self._lit.popitem(last=False)
        back = sent_back(lit, seat, threads=self.threads, seed=self.seed)
        parts: dict[str, np.ndarray] = {"light": _half(lit.corners()), "back": _half(back)}
        if len(scene.seats) > 1:
            parts["heads"] = _half(on_heads(lit, threads=self.threads, seed=self.seed))
        if ask.have.get("shape") != kept.shape_key:
            shape = kept.shape
            parts |= {"place": shape.place, "corners": shape.corners, "surface": shape.surface}
        head = {
            "seat": seat, "average": average, "shape": kept.shape_key, "beam": beam_of(arrays),
            "reflectance": np.round(arrays.reflectance, 5).tolist(),
            "eyes": [list(each.eye_m) for each in scene.seats[:MOST_HEADS]], "head_grid": list(HEAD_GRID),
        }  # fmt: skip
        yield _answer(ask, "light", head, parts)

    def _room(self, ask: Ask, scene: Scene) -> Message | None:
        """The room as GLB with its cloth as deep as it is, where the page does not hold it yet."""
        painted = [list(finish.reflectance) for finish in scene.room.finishes.values()]
        seats = [list(seat.eye_m) for seat in scene.seats]
        key = digest_of((geometry_key(scene), painted, seats, list(scene.projector.lens_m), ask.level))[:16]
        if ask.have.get("room") == key:
            return None
        data = np.frombuffer(room_glb(scene, level=ask.level), np.uint8)  # type: ignore[arg-type]
        return _answer(ask, "room", {"room": key, "lens": list(to_inside(scene.projector.lens_m))}, {"glb": data})

    def lit_of(self, scene: Scene, levels: np.ndarray, slot: str) -> Iterator[Lit | None]:
        """The light of a scene for a precise picture, from what is kept; steps of None while a map is made."""
        arrays = flat_arrays(scene)
        key = map_key(scene, arrays)
        if key not in self._maps:
            yield from self._make_map(key, arrays)
        yield self._maps[key].lit(arrays, levels, self._lit.get((key, slot)), threads=self.threads)

    def _make_map(self, key: str, arrays: SceneArrays) -> Iterator[None]:
        """Make and keep a light map, in steps; what was asked for longest ago goes."""
        for found in light_map_steps(arrays, seed=self.seed, threads=self.threads):
            if found is None:
                yield None
            else:
                self._maps[key] = found
        while len(self._maps) > MOST_MAPS:
            dropped, _ = self._maps.popitem(last=False)
            self._lit = OrderedDict((each, lit) for each, lit in self._lit.items() if each[0] != dropped)


def beam_of(arrays: SceneArrays) -> dict[str, Any] | None:
    """What the browser needs to draw the projector's own light beside the cloth; None where none falls there. Lengths [m], light [lx]."""
    projector = arrays.projector
    if not projector.flags[SPILLS]:
        return None
    return {
        "lens": to_gltf(projector.lens).tolist(), "middle": to_gltf(projector.frame[CENTRE]).tolist(), "raster": projector.raster.tolist(),
        "peak_lx": float(projector.light[PEAK]), "fall_off": float(projector.light[FALL_OFF]), "far2": float(projector.light[FAR2]),
    }  # fmt: skip


def fold_words(fold: LiveFoldSight | None, level: str) -> dict[str, Any]:
    """What an eye makes of the folds, for the page."""
    if fold is None:
        return {"flat": True, "level": level}
    bright, shape = fold.reading.luminance, fold.reading.geometry
    return {
        "flat": False, "level": level,
        "brightness": {"word": bright.word, "ratio": round(bright.ratio, 4), "margin": bright.margin},
        "geometry": {"word": shape.word, "ratio": round(shape.ratio, 4), "arcmin": round(fold.reading.warp.peak_to_peak_arcmin, 4)},
    }  # fmt: skip


def _half(values: np.ndarray) -> np.ndarray:
    """Half floats, 0.05 % fine; brighter than they reach stays their largest. Source: IEEE 754 binary16."""
    return np.minimum(values, 65504.0).astype(np.float16)


def _answer(ask: Ask, kind: str, head: dict[str, Any], arrays: dict[str, np.ndarray] | None = None) -> Message:
    return Message(kind, {"number": ask.number, "slot": ask.slot, **head}, arrays or {})
