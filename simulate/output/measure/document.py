"""The JSON document of `measure`: every key of its format, each estimated value with its standard error."""

from __future__ import annotations

import json
import math
from importlib.metadata import version
from typing import Any

from ...eye.glare import AGE, PIGMENT
from ...measuring.estimate import Estimate
from ...measuring.film import FilmReading
from ...measuring.measure import Measurement, SeatGeometry
from ...measuring.moire import ScreenMoire, screen_moire
from ...measuring.places import EDGE_INSET, SIDE_INSET
from ...measuring.quantities import LIT, QUANTITIES
from ...measuring.readings import SeatReading, StateReading
from ...measuring.targets import DARK, UPPER_BOUND, Verdict, class_standing, echo_note, verdicts
from ..cautions import CAUTIONS
from ..folds.document import cloth_document, folds_entry, swing_entry

FORMAT = "halfgain.measure/1"


def document(measurement: Measurement) -> dict[str, Any]:
    """The whole measurement as plain dictionaries, lists and numbers; units stand in the keys.

    Source: the format `halfgain.measure/1`; what it lacks (bias_bound, verdicts, throw ...) is added.
    """
    scene = measurement.scene
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "seed": measurement.seed,
        "paths": measurement.paths,
        "elapsed_s": measurement.elapsed_s,
        "error": {"asked": measurement.error_asked, "reached": measurement.error_reached, "met": measurement.met},
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "screen": _screen(measurement),
        **({} if measurement.film is None else {"film": _film(measurement.film, [seat.name for seat in scene.seats])}),
        "throw": _throw(measurement),
        "warnings": [warning.text for warning in scene.warnings],
        "warning_codes": [{"code": warning.code.value, "seat": warning.seat} for warning in scene.warnings],
        "notes": [*scene.notes, *scene.screen.fabric.assumed],
        "cloth": cloth_document(scene, measurement.folds),
        "seats": [
            {**_seat(measurement, reading, geometry), "folds": folds_entry(folds), "swing": swing_entry(folds)}
            for reading, geometry, folds in zip(measurement.seats, measurement.geometry, measurement.folds.seats, strict=True)
        ],
        "cautions": list(CAUTIONS),
    }


def to_json(content: dict[str, Any]) -> str:
    """A document as JSON text, one trailing newline; numbers that are not finite become null, as JSON has none.

    Plain ASCII, so that any terminal and any locale can carry it.
    """
    return json.dumps(_finite(content), indent=1, allow_nan=False) + "\n"


def _finite(part: Any) -> Any:
    if isinstance(part, dict):
        return {key: _finite(value) for key, value in part.items()}
    if isinstance(part, list):
        return [_finite(value) for value in part]
    return None if isinstance(part, float) and not math.isfinite(part) else part


def _number(value: Estimate) -> dict[str, float]:
    return {"value": float(value.value), "standard_error": float(value.standard_error), "bias_bound": float(value.bias_bound)}


def _screen(measurement: Measurement) -> dict[str, Any]:
    screen = measurement.scene.screen
    return {
        "width_m": screen.width_m,
        "height_m": screen.height_m,
        "area_m2": screen.width_m * screen.height_m,
        "fabric": screen.fabric.name,
        "kind": screen.fabric.kind,
        "gain": screen.fabric.gain,
        "half_gain_deg": screen.fabric.half_gain_deg,
        "albedo": screen.fabric.albedo,
        "albedo_open": None if screen.fabric.albedo_given else dict(zip(("low", "high"), screen.fabric.albedo_band, strict=True)),
        "hang": screen.hang,
        "moire": _moire(screen_moire(measurement.scene)),
        "illuminance_lx": {key: float(value) for key, value in measurement.illuminance_lx.items()},
    }


def _film(found: FilmReading, seats: list[str]) -> dict[str, Any]:
    """The film's own picture and its bars; a bar's luminance by seat, in a black frame and in a white one."""
    film = found.film
    return {
        "aspect": film.aspect,
        "shown": film.shown,
        "masked": film.masked,
        "transmission": film.transmission,
        "raster_m": [found.raster.width_m, found.raster.height_m],
        "area_m": [found.area.width_m, found.area.height_m],
        "share_of_raster": found.share,
        "bars": [
            {
                "side": bar.side,
                "onto": str(bar.onto),
                "width_m": bar.width_m,
                "lens_black_lx": bar.lens_lx,
                "seats": {
                    name: {"black_frame_cd_m2": _number(black), "white_frame_cd_m2": _number(white)}
                    for name, (black, white) in zip(seats, bar.seats, strict=True)
                },
            }
            for bar in found.bars
        ],
    }


def _moire(holes: ScreenMoire | None) -> dict[str, Any] | None:
    """Holes or threads against pixels at the nearest seat; None for a sheet without stated holes."""
    if holes is None:
        return None
    found = holes.found
    return {
        "lattice": holes.lattice,
        "pitch_mm": holes.pitch_mm,
        "pitch_arcmin": holes.pitch_arcmin,
        "seat": holes.seat,
        "distance_m": holes.distance_m,
        "pixel_mm": holes.pixel_mm,
        "pixel_arcmin": None if found is None else found.pixel_arcmin,
        "ratio": None if found is None else found.pitch_ratio,
        "order": None if found is None else [found.order_holes, found.order_pixels],
        "beat_mm": None if found is None else found.beat_mm,
        "beat_arcmin": None if found is None else found.beat_arcmin,
        "words": holes.words,
    }


def _throw(measurement: Measurement) -> dict[str, Any]:
    throw = measurement.throw
    return {
        "distance_m": throw.distance_m,
        "ratio": throw.ratio,
        "shift_right": throw.shift_right,
        "shift_up": throw.shift_up,
        "image_tilt_deg": throw.image_tilt_deg,
        "feasible": throw.feasible,
        "lines": list(throw.lines),
    }


def _seat(measurement: Measurement, reading: SeatReading, geometry: SeatGeometry) -> dict[str, Any]:
    """One entry of `seats`. Source: the format `halfgain.measure/1`."""
    found = verdicts(measurement.scene, reading, geometry)
    return {
        "name": reading.name,
        "distance_m": geometry.distance_m,
        "view_angle_deg": geometry.view_angle_deg,
        "gain_towards_seat": geometry.gain,
        "angle_from_lobe_axis_deg": geometry.lobe_angle_deg,
        "picture_width_deg": geometry.picture_width_deg,
        "picture_top_deg": geometry.picture_top_deg,
        "hidden_share": geometry.hidden_share,
        **_quantities(measurement, reading),
        "states": [_state(state) for state in reading.states],
        "contrast_class": {state: _class(found, state) for state in (DARK, *(state.name for state in reading.states))},
        "contrast_class_undecided": {
            state: _open_classes(found, state) for state in (DARK, *(state.name for state in reading.states))
        },
        "verdicts": [_verdict(verdict) for verdict in found],
    }


def _quantities(measurement: Measurement, reading: SeatReading) -> dict[str, Any]:
    """The registry's quantities where it says they stand, with what else the format has beside them."""
    found: dict[str, Any] = {}
    for quantity in QUANTITIES:
        *way, last = quantity.json
        table = found
        for part in way:
            table = table.setdefault(part, {})
        table[last] = _number(reading.values[quantity.key])
    found["shift_uv"] = {what: list(pair.values()) for what, pair in found["shift_uv"].items()}  # (du', dv')
    found["side_to_centre"]["inset_share_of_width"] = SIDE_INSET
    found["edge_to_centre"]["inset_share_of_width"] = EDGE_INSET
    found["contrast"]["full_on_off_note"] = echo_note(measurement.scene)
    found["contrast"]["checkerboard_note"] = UPPER_BOUND if measurement.scene.projector.checkerboard_contrast is None else None
    found["washout"]["share"] = {surface: _number(share) for surface, share in reading.share.items()}
    return found


def _state(state: StateReading) -> dict[str, Any]:
    return {"name": state.name, **{str(quantity.lit): _number(state.values[quantity.key]) for quantity in LIT}}


def _class(found: tuple[Verdict, ...], state: str) -> dict[str, Any] | None:
    standing = class_standing(found, state)
    reached = None if standing is None else standing.reached
    return None if reached is None else {"name": reached.name, "ratio": reached.low}


def _open_classes(found: tuple[Verdict, ...], state: str) -> list[float | None]:
    """Classes [:1] that stay undecided: where one is, `contrast_class` null does not mean below every class."""
    standing = class_standing(found, state)
    return [] if standing is None else [target.low for target in standing.undecided]


def _verdict(verdict: Verdict) -> dict[str, Any]:
    target = verdict.target
    return {
        "state": verdict.state,
        "target": target.name,
        "source": target.source,
        "source_seen": target.seen,
        "place": target.place,
        "asked": {"low": target.low, "high": target.high, "unit": target.unit},
        "got": _number(verdict.got),
        "verdict": verdict.result,
        "missed_by": verdict.missed_by,
        "above_by": verdict.above_by,
        "reason": verdict.reason,
        "reason_code": verdict.why.value,
        "for_rooms": target.use,
        "in_the_eye": _in_the_eye(verdict),
    }


def _in_the_eye(verdict: Verdict) -> dict[str, Any] | None:
    """What an eye's own scattered light leaves of a checkerboard's contrast [:1], asked and got; None for other figures."""
    asked, got = verdict.asked_in_the_eye, verdict.got_in_the_eye
    return (
        None
        if asked is None
        else {"asked": asked, "got": None if got is None else _number(got), "age_years": AGE, "pigment_factor": PIGMENT}
    )
