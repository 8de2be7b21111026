"""The JSON document of `sound`."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from ....materials.finish_table import BANDS_HZ
from ...sound.air import ROOM_CELSIUS, ROOM_HUMIDITY, attenuation_db_m
from ...sound.bands import BANDS, Array
from ...sound.reverberation import SOURCES, VALIDITY
from ...sound.room import RoomSound
from ...sound.target import SOURCE
from ...sound.through import Through
from .words import BARE, CAUTION, NOT_BELOW, modes_words, screen_words, trust_words

FORMAT = "halfgain.sound/1"


def sound_document(found: RoomSound) -> dict[str, Any]:
    """Everything `sound` found; lists by octave band follow `bands_hz`, pairs are "low" and "high". Source: RoomSound."""
    scene = found.scene
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "bands_hz": list(BANDS_HZ),
        "volume_m3": found.volume_m3,
        "air": {"celsius": ROOM_CELSIUS, "humidity": ROOM_HUMIDITY, "attenuation_db_per_m": attenuation_db_m(BANDS).tolist()},
        "surfaces": [
            {
                "name": surface.name,
                "finish": surface.finish,
                "area_m2": surface.area_m2,
                "basis": surface.basis,
                "assumed": surface.words or None,
                "absorption": None if surface.people else {"low": surface.low.tolist(), "high": surface.high.tolist()},
                "absorption_area_m2": {end: surface.taken_m2(getattr(surface, end)).tolist() for end in ("low", "high")},
            }
            for surface in found.surfaces
        ],
        "not_stated": [surface.name for surface in found.unknown],
        "reverberation": _reverberation(found),
        "modes": _modes(found),
        "screen": _screen(scene.screen.fabric.name, found.through),
        "cautions": [CAUTION],
    }


def _ends(times: Array) -> dict[str, Any]:
    """Rows: least absorption, greatest, middle."""
    return {"low": times[1].tolist(), "high": times[0].tolist(), "middle": times[2].tolist()}


def _reverberation(found: RoomSound) -> dict[str, Any]:
    times, asked = found.reverberation, found.asked
    short, long = times.mid_s
    return {
        "formulas_s": {
            name: {**_ends(value), "source": SOURCES[name], "good_for": VALIDITY[name]} for name, value in times.formulas.items()
        },
        "trusted": {"low": times.trusted[1].tolist(), "high": times.trusted[0].tolist(), "middle": times.trusted[2].tolist()},
        "trusted_s": _ends(times.time_s),
        "trusted_note": trust_words(found),
        "bare_walls_s": {**_ends(times.bare_s), "note": BARE},
        "mean_absorption": {"low": times.mean[0].tolist(), "high": times.mean[1].tolist()},
        "mid_s": {"low": short, "high": long},
        "target": {
            "nominal_s": asked.nominal_s,
            "low_s": asked.low_s.tolist(),
            "high_s": asked.high_s.tolist(),
            "source": SOURCE,
            "verdicts": list(found.bands),
        },
    }


def _modes(found: RoomSound) -> dict[str, Any]:
    low, high = found.transition_hz
    return {
        "transition_hz": {"low": low, "high": high},
        "transition_note": NOT_BELOW,
        "listed_to_hz": found.modes.up_to_hz,
        "modes": [
            {"orders": list(mode.orders), "frequency_hz": mode.frequency_hz, "kind": mode.kind} for mode in found.modes.found
        ],
        "coincident": [
            {"orders": [list(a.orders), list(b.orders)], "frequency_hz": [a.frequency_hz, b.frequency_hz]}
            for a, b in found.modes.coincident
        ],
        "thinning_hz": list(found.modes.thinning_hz),
        "notes": modes_words(found),
    }


def _pair(ends: tuple[float, float]) -> dict[str, float]:
    return {"low": ends[0], "high": ends[1]}


def _screen(name: str, found: Through) -> dict[str, Any]:
    return {
        "fabric": name,
        "open_area": found.open_area,
        "sheets": [vars(sheet) for sheet in found.sheets],
        "loss_db": {"low": found.bands_db[0].tolist(), "high": found.bands_db[1].tolist()},
        "loss_at_db": {str(f): _pair(ends) for f, ends in found.tones_db.items()},
        "loss_over_500_hz_db": {str(f): _pair(ends) for f, ends in found.over_500_db.items()},
        "meets_bs_5382": found.meets,
        "comb": [vars(comb) for comb in found.combs],
        "notes": screen_words(found),
    }
