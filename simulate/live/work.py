"""The answers to one question about a scene, in the order a viewer wants them: numbers, then what the seat sees, then what is finer."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Generator, Hashable, Iterator
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np

from ...materials.text.error import Error
from ...scenes.digest import digest_of
from ...scenes.errors import SceneErrors
from ...scenes.geometry import picture
from ...scenes.load import scene_from_text
from ...scenes.model import Scene
from ...scenes.read import parse
from ..answers.through_cloth import refuse_light_through
from ..folds.readings import FoldReading
from ..light.projector import PEAK
from ..measuring.flatten import SceneArrays
from ..measuring.lamps import key_of
from ..measuring.lens import levels_of
from ..views.lamplight import lamps_on_in
from ..views.room_glb import room_glb
from .cell_rays import CellRays
from .charts import zones
from .controls import controls, told
from .desk import Work
from .edits import edited
from .figures import LiveFigures
from .folder import SceneFolder
from .lamp_light import LampsOnCells, LampState, lamp_cells_steps
from .light_message import answer, half, light_message
from .lightmap import FabricLight, LightMap, Lit, fabric_key, flat_arrays, light_map_steps
from .places import drawn_key, geometry_key, map_key
from .rooms import Rooms
from .screen_sight import FoldMap, ScreenSight, fold_map, screen_sight, view_camera
from .together import Together
from .wire import Ask, Message

MOST_MAPS, MOST_FABRICS, MOST_LIT, MOST_LAMPS, MOST_FOLDS, MOST_BEGUN = 3, 8, 4, 6, 8, 3
Key = TypeVar("Key")
Value = TypeVar("Value")
EYES_WHITE_CD_M2 = 50.0  # for the eye's sensitivity where no numbers are there yet


class Solver:
    """All that is kept between questions; used by the solver's thread alone."""

    def __init__(self, folder: SceneFolder, *, seed: int, threads: int) -> None:
        self.folder, self.seed, self.threads = folder, seed, threads
        self.rooms = Rooms(seed=seed, threads=threads)
        self._maps: OrderedDict[str, LightMap] = OrderedDict()
        self._lit: OrderedDict[tuple[str, str], Lit] = OrderedDict()
        self._more: dict[str, CellRays] = {}
        self._together = Together(MOST_BEGUN)  # maps, the rest of their rays, lamps, while they are made
        self._lamps: OrderedDict[tuple[str, Hashable], LampsOnCells] = OrderedDict()
        self._fabrics: OrderedDict[tuple[str, Hashable], FabricLight] = OrderedDict()
        self._folds: OrderedDict[str, FoldMap | None] = OrderedDict()
        self._sights: OrderedDict[Any, ScreenSight] = OrderedDict()
        self.pressed: Callable[[], bool] = lambda: False  # whether other questions wait

    def answers(self, ask: Ask) -> Work:
        """Messages of one question, with steps (None) between; what is wrong with the scene is a message too.

        raises  what is a fault of the program
        """
        try:
            text = edited(ask.text, ask.edits)
            self.folder.check(parse(text, ask.name))
            scene = scene_from_text(text, ask.name, self.folder.place)
            refuse_light_through(scene)
        except SceneErrors as fault:
            yield answer(ask, "refused", {"errors": [told(each) for each in fault.errors[:20]]})
            return
        except Error as fault:
            yield answer(ask, "refused", {"errors": [{"line": 0, "key": "", "text": str(fault)}]})
            return
        yield answer(
            ask, "scene", {"text": text, "scene": controls(scene), "geometry": geometry_key(scene), "sha256": scene.sha256}
        )
        seat = min(ask.seat, len(scene.seats) - 1)
        figures = self.rooms.figures(scene) if "numbers" in ask.wants else iter(())
        first = next(figures, None)
        if first is not None:
            yield answer(ask, "numbers", first.document())
        shown = yield from self._seen(ask, scene, seat)
        if ask.wants & {"folds", "view"}:
            yield answer(ask, "folds", fold_words(self._judged(ask, scene, seat, first), ask.level))
        for found in figures:
            yield answer(ask, "numbers", found.document())
        if "room" in ask.wants:
            yield self._room(ask, scene)
        if shown is None or shown.brought is None:
            yield from self._fine(ask, scene, seat)

    def _seen(self, ask: Ask, scene: Scene, seat: int) -> Generator[Message | None, None, Lit | None]:
        """The seat's maps of the cloth, then the light on everything else, which is given back: None where there was none."""
        if "view" not in ask.wants:
            return None
        arrays = flat_arrays(scene)
        yield self._sight(ask, scene, arrays, seat)
        levels, average = self._levels(ask, scene)
        return (yield from self._light(ask, scene, arrays, seat, levels, average))

    def _fold_key(self, ask: Ask, scene: Scene, seat: int) -> str:
        """What a seat's map of the folds hangs on: cloth, eye, lens and fabric."""
        lens, eye = scene.projector.lens_m, scene.seats[seat].eye_m
        fabric = tuple(np.asarray(part) for part in scene.screen.fabric.arrays())
        return digest_of((geometry_key(scene), lens, eye, fabric, ask.level, list(scene.projector.pixels or ())))

    def _fold(self, ask: Ask, scene: Scene, seat: int) -> FoldMap | None:
        """The seat's map of the folds, made once for all that leaves it alone."""
        key = self._fold_key(ask, scene, seat)
        if key not in self._folds:
            self._folds[key] = fold_map(scene, seat, ask.level, threads=self.threads)  # type: ignore[arg-type]
        return _bounded(self._folds, key, MOST_FOLDS)

    def _judged(self, ask: Ask, scene: Scene, seat: int, figures: LiveFigures | None) -> FoldReading | None:
        """What an eye makes of the seat's folds; white counts in steps of 5 %."""
        fold = self._fold(ask, scene, seat)
        if fold is None:
            return None
        white = EYES_WHITE_CD_M2 if figures is None else figures.seats[seat]["values"]["white_cd_m2"][0] or EYES_WHITE_CD_M2
        step = round(float(np.log(white)) / 0.05)
        if step not in fold.readings:
            fold.readings[step] = fold.read(white)
        return fold.readings[step]

    @staticmethod
    def _levels(ask: Ask, scene: Scene) -> tuple[np.ndarray, float]:
        """Levels of the picture's zones as the projector makes them (192, C) [1], and the mean share of white."""
        area = picture(scene)
        if ask.zones is not None:
            share, average = ask.zones, float(ask.zones.mean(axis=0) @ np.array([0.2126, 0.7152, 0.0722]))
        else:
            share, average = zones(ask.show, area.width_m / area.height_m)
        return levels_of(scene).shown(share, average), average

    def _sight(self, ask: Ask, scene: Scene, arrays: SceneArrays, seat: int) -> Message | None:
        """The seat's maps of the cloth, where the page does not hold them yet."""
        lumens, shown, fold_key = float(arrays.projector.light[PEAK]), levels_of(scene), self._fold_key(ask, scene, seat)
        alike = (map_key(scene, arrays), tuple(scene.seats[seat].eye_m), fabric_key(arrays))
        key = digest_of((alike, fold_key, lumens, shown.black, shown.veil, arrays.fabric.tint))[:16]
        if ask.have.get("sight") == key:
            return None
        if alike not in self._sights:  # by lumen
            one = screen_sight(arrays, seat)
            self._sights[alike] = replace(one, direct=one.direct / lumens)
        sight, camera = _bounded(self._sights, alike, MOST_FOLDS), view_camera(scene, seat)
        parts, fold = {"direct": half(lumens * sight.direct), "even": half(sight.even)}, self._fold(ask, scene, seat)
        if fold is not None and ask.have.get("ratio") != fold_key:
            parts["ratio"] = half(np.nan_to_num(fold.map.luminance_ratio))
        across = 2.0 * float(np.degrees(np.arctan(camera.half_width)))
        head = {
            "sight": key, "ratio": "" if fold is None else fold_key, "seat": seat, "black": shown.black, "veil": shown.veil,
            "tint": [float(part) for part in arrays.fabric.tint], "picture": list(picture(scene)), "eye_m": list(scene.seats[seat].eye_m),
            "field_deg": across, "aspect": camera.width / camera.height,
        }  # fmt: skip
        return answer(ask, "sight", head, parts)

    def _light(
        self, ask: Ask, scene: Scene, arrays: SceneArrays, seat: int, levels: np.ndarray, average: float
    ) -> Generator[Message | None, None, Lit | None]:
        key = map_key(scene, arrays)
        if key not in self._maps:
            yield answer(ask, "waiting", {"for": "light"})
        kept = yield from self._map_of(key, arrays)
        lamps = yield from self._lamps_of(ask, scene, key, arrays, kept)
        lit = self._lit_by(key, kept, arrays, levels, ask.slot, lamps)
        shaped = ask.have.get("shape") != kept.shape_key
        yield light_message(ask, scene, lit, seat, average, shaped=shaped, threads=self.threads)
        return lit

    def _lamps_of(
        self, ask: Ask, scene: Scene, key: str, arrays: SceneArrays, kept: LightMap
    ) -> Generator[Message | None, None, LampState | None]:
        """The lamps of the light state that is asked for, None in the dark or in even light; steps while what they send is worked out."""
        on = lamps_on_in(scene, arrays, next((each for each in scene.lights if each.name == ask.light), None))
        if on is None:
            return None
        both = key, key_of(arrays.lamps)
        if both not in self._lamps:
            yield answer(ask, "waiting", {"for": "light"})
            self._lamps[both] = yield from self._together.made(
                ("lamps", both), lambda: lamp_cells_steps(arrays, kept.room.lit, kept.eyes, kept.owner, threads=self.threads)
            )
        return LampState(_bounded(self._lamps, both, MOST_LAMPS), on)

    def _fine(self, ask: Ask, scene: Scene, seat: int) -> Work:
        """The light again by all rays, once nothing else of the question is left; another page may have brought it meanwhile."""
        if "view" not in ask.wants:
            return
        arrays = flat_arrays(scene)
        key = map_key(scene, arrays)
        levels, average = self._levels(ask, scene)
        kept = yield from self._map_of(key, arrays)
        lamps = yield from self._lamps_of(ask, scene, key, arrays, kept)
        lit = self._lit_by(key, kept, arrays, levels, ask.slot, lamps)
        if lit.brought is None:
            rest = yield from self._rest_of(key, kept)
            self._lit[(key, ask.slot)] = lit = lit.of.finer(lit, rest)
        yield light_message(ask, scene, lit, seat, average, shaped=False, threads=self.threads)

    def _room(self, ask: Ask, scene: Scene) -> Message | None:
        """The room as GLB with its cloth as deep as it is, where the page does not hold it yet."""
        key = digest_of((drawn_key(scene), ask.level))[:16]
        if ask.have.get("room") == key:
            return None
        data = np.frombuffer(room_glb(scene, level=ask.level, people=False), np.uint8)  # type: ignore[arg-type]
        return answer(ask, "room", {"room": key}, {"glb": data})

    def lit_of(self, scene: Scene, levels: np.ndarray, slot: str) -> Iterator[Lit | None]:
        """The light of a scene for a precise picture, from what is kept; steps of None while a map is made."""
        arrays = flat_arrays(scene)
        key = map_key(scene, arrays)
        kept = yield from self._map_of(key, arrays)
        lit = self._lit_by(key, kept, arrays, levels, slot)
        if lit.brought is None:
            rest = yield from self._rest_of(key, kept)
            lit = lit.of.finer(lit, rest)
        yield lit

    def _lit_by(
        self, key: str, kept: LightMap, arrays: SceneArrays, levels: np.ndarray, slot: str, lamps: LampState | None = None
    ) -> Lit:
        """The light of a map, begun from the slot's last of the same map."""
        fabric = key, fabric_key(arrays)
        if fabric not in self._fabrics:
            self._fabrics[fabric] = kept.under(arrays)
        under = _bounded(self._fabrics, fabric, MOST_FABRICS)
        self._lit[(key, slot)] = under.lit(arrays, levels, self._lit.get((key, slot)), lamps)
        return _bounded(self._lit, (key, slot), MOST_LIT)

    def _rest_of(self, key: str, kept: LightMap) -> Generator[None, None, CellRays]:
        """The rest of a map's rays, in steps between which other pages may come to drop the map: then nothing is kept."""
        if key not in self._more:
            found = yield from self._together.made(("rays", key), kept.more_steps)
            if key not in self._maps:
                return found
            self._more[key] = found
        return self._more[key]

    def _map_of(self, key: str, arrays: SceneArrays) -> Generator[None, None, LightMap]:
        """A light map, made in steps where it is not kept; what was asked for longest ago goes. Who has it may go on when it is gone."""
        if key not in self._maps:
            self._maps[key] = yield from self._together.made(
                ("map", key), lambda: light_map_steps(arrays, seed=self.seed, threads=self.threads)
            )
        kept = self._maps[key]
        self._maps.move_to_end(key)
        while len(self._maps) > MOST_MAPS:
            dropped, _ = self._maps.popitem(last=False)
            self._lit = OrderedDict((each, lit) for each, lit in self._lit.items() if each[0] != dropped)
            self._more.pop(dropped, None)
            self._lamps = OrderedDict((each, lamps) for each, lamps in self._lamps.items() if each[0] != dropped)
            self._fabrics = OrderedDict((each, light) for each, light in self._fabrics.items() if each[0] != dropped)
        return kept


def _bounded(kept: OrderedDict[Key, Value], key: Key, most: int) -> Value:
    """What is kept under a key, now the newest; of more than so many the oldest go."""
    kept.move_to_end(key)
    while len(kept) > most:
        kept.popitem(last=False)
    return kept[key]


def fold_words(reading: FoldReading | None, level: str) -> dict[str, Any]:
    """What an eye makes of the folds, for the page."""
    if reading is None:
        return {"flat": True, "level": level}
    bright, shape = reading.luminance, reading.geometry
    return {
        "flat": False, "level": level,
        "brightness": {"word": bright.word, "ratio": round(bright.ratio, 4), "margin": bright.margin},
        "geometry": {"word": shape.word, "ratio": round(shape.ratio, 4), "arcmin": round(reading.warp.peak_to_peak_arcmin, 4)},
    }  # fmt: skip
