"""What each site reading should be, with its exact slopes, for any values of what may differ from the design.

All from one kept ledger: returned light is a polynomial in the reflectances, and linear in all that the projector does. Light
that the fabric throws into the room, what it returns from there and what it bounces on the way all go with its gain; the
projector's fall-off enters as 1 - f r^2, so two maps, at two falls, hold every other.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..answers.answers import Answers
from ..answers.throughputs import Throughputs
from ..measuring.bars import bars_over_film
from ..measuring.colour import luminance
from ..measuring.estimate import replicates
from ..measuring.lens import levels_of
from ..measuring.solver import BOARD, BOARD_POINTS, WHITE, MeasuringPoints, traced_pictures
from ..measuring.targets import DARK
from .lamp_patterns import state_patterns
from .meters import Meter
from .site_reading import BOARDS, ShownPicture, SiteReading

NINE_POINT_MEAN = 8.0 / 27.0  # mean of r^2 over the nine ISO 21118 points, r = 1 at the corner: (2/3) (2/3)^2, any shape
_FALL_STEP = 0.25
METERS = tuple(Meter)


class Knobs(NamedTuple):
    """What may differ from the design; ratios are to the scene's own value.

    lumens, gain   ratios [1];  reflectance (surfaces - 1,) ratios of all channels alike [1]
    fall           1 - corner_to_centre [1];  black  1 / native contrast [1];  veil  1 / own contrast - 1 / native [1]
    ambient        (states,) illuminance at the screen, "dark" first [lx];  meters (2,) what they read over what is there [1]
    """

    lumens: float
    gain: float
    reflectance: np.ndarray
    fall: float
    black: float
    veil: float
    ambient: np.ndarray
    meters: np.ndarray


class _Parts(NamedTuple):
    """The parts of every reading's light (n,) or with replicates (R + 2, n), each a mean over the reading's points.

    direct, veil  the projector's own at the point, and were it even [lx or cd/m2];  white, board  returned
    ambient       of the room's own light, with replicates where lamps are traced
    """

    direct: np.ndarray
    veil: np.ndarray
    white: np.ndarray
    board: np.ndarray
    ambient: np.ndarray


class Predictor:
    """Predictions for a list of readings on one ledger.

    pooling  paths share what they find beyond their first hits, as `measure` does; False: each for itself, so that slopes are
             the exact derivatives of the prediction, to the last digit
    """

    def __init__(self, answers: Answers, readings: Sequence[SiteReading], *, pooling: bool = True) -> None:
        self.answers, self.readings, self.pooling = answers, tuple(readings), pooling
        self.states = (DARK, *(light.name for light in answers.scene.lights))
        scene, arrays = answers.scene, answers.arrays
        self._falls = float(arrays.projector.light[1]), float(arrays.projector.light[1])
        other = self._falls[0] + (_FALL_STEP if self._falls[0] <= 0.5 else -_FALL_STEP)
        self._falls = self._falls[0], other
        self._facts, self._points = zip(*(self._at_fall(fall) for fall in self._falls), strict=True)
        self._light = [_map_and_stray(facts) for facts in self._facts]
        self._lux = np.array([each.meter is Meter.ILLUMINANCE for each in self.readings])
        self._state = np.array([self.states.index(each.light) for each in self.readings])
        self._meter = np.array([METERS.index(each.meter) for each in self.readings])
        self._pick = self._picked([seat.name for seat in scene.seats])
        self._bars = bars_over_film(scene, arrays.projector)
        self._patterns = state_patterns(answers, {each.light for each in self.readings})

    def _picked(self, seats: list[str]) -> np.ndarray:
        """Weights (n, 25, T + 1) of each point and seat in each reading, the last column for plain illuminance; sum 1 a reading."""
        pick = np.zeros((len(self.readings), BOARD_POINTS.stop + 9, len(seats) + 1))
        for weights, each in zip(pick, self.readings, strict=True):
            weights[list(each.points), seats.index(each.seat) if each.seat else -1] = 1.0 / len(each.points)
        return pick

    @property
    def stated(self) -> Knobs:
        """The design as the scene states it; what it leaves out as `measure` takes it."""
        levels, lights = levels_of(self.answers.scene), self.answers.scene.lights
        return Knobs(
            lumens=1.0,
            gain=1.0,
            reflectance=np.ones(len(self.answers.arrays.surfaces) - 1),
            fall=self._falls[0],
            black=levels.black,
            veil=levels.veil,
            ambient=np.array(
                [0.0, *(self._patterns[light.name].lux if light.name in self._patterns else light.screen_lx for light in lights)]
            ),
            meters=np.ones(len(METERS)),
        )

    def _at_fall(self, fall: float) -> tuple[Throughputs, MeasuringPoints]:
        """Ledger and points with the projector's fall-off at another value, a last column of weights for plain illuminance."""
        answers = self.answers
        light = np.array(answers.arrays.projector.light)
        light[1] = fall
        light.flags.writeable = False
        arrays = answers.arrays._replace(projector=answers.arrays.projector._replace(light=light))
        points = answers.stage.ground.points(arrays, answers.fabric_key)
        facts = answers.stage.facts(arrays, points, answers.fabric_key)
        flat = np.ones((len(facts.weight), 1), np.float32)  # first directions follow cos / pi, so a plain mean is E / pi
        return facts._replace(weight=np.concatenate([facts.weight, flat], axis=1)), points

    def predict(self, knobs: Knobs) -> np.ndarray:
        """What each meter should read, as replicates (R + 2, n) [lx] or [cd/m2]. Source: `Seats`, for the same light."""
        return self._stack(self._parts(knobs), knobs)

    def _stack(self, parts: _Parts, knobs: Knobs) -> np.ndarray:
        return self._combine(parts, knobs) * knobs.meters[self._meter]

    def line(self, knobs: Knobs) -> tuple[np.ndarray, dict[str, np.ndarray]]:
        """`predict` and `slopes` at once: the paths are walked once for both."""
        parts = self._parts(knobs)
        return self._stack(parts, knobs), self._slopes(parts, knobs)

    def _reflectance(self, knobs: Knobs) -> np.ndarray:
        """(surfaces, C) [1], the screen's row its tint times the gain's ratio."""
        return np.ascontiguousarray(self.answers.reflectance * np.append(knobs.reflectance, knobs.gain)[:, None])

    def _scales(self, knobs: Knobs) -> tuple[float, float]:
        """Illuminance in the picture's middle over the design's, and over that of the light kept on the ledger [1].

        Source: light output is the mean over nine points, so the middle goes with 1 / (1 - fall 8/27).
        """
        ratio = knobs.lumens * (1.0 - self._falls[0] * NINE_POINT_MEAN) / (1.0 - knobs.fall * NINE_POINT_MEAN)
        return ratio, ratio * self.answers.stage.ground.lux_scale(self.answers.arrays)

    def _mixed(self, first: np.ndarray, second: np.ndarray, fall: float) -> np.ndarray:
        """A thing that is linear in the fall-off, from its values at both falls."""
        share = (fall - self._falls[0]) / (self._falls[1] - self._falls[0])
        return (first + np.asarray(share, first.dtype) * (second - first)).astype(first.dtype)

    def _traced(self, light: np.ndarray, knobs: Knobs, *, pooling: bool) -> np.ndarray:
        """Returned light as replicates (R + 2, 25, columns, 2, C) before the last reflection, of the ledger's own lumens."""
        facts = self._facts[0]._replace(light=light)
        sums = self.answers.stage.sums(facts, self._reflectance(knobs), pooling=pooling).sum(axis=3)
        return replicates(sums[..., :2, :], sums[..., 2:, :].mean(axis=0))

    def _arriving(self, knobs: Knobs) -> np.ndarray:
        """Light at the hits, (1 or 3, H, 4): what the screen sends there goes with its gain, what misses it does not."""
        (map_a, stray_a), (map_b, stray_b) = self._light
        light = np.float32(knobs.gain) * self._mixed(map_a, map_b, knobs.fall)
        return np.ascontiguousarray(
            light if stray_a is None or stray_b is None else light + self._mixed(stray_a, stray_b, knobs.fall)
        )

    def _of_readings(self, stack: np.ndarray, knobs: Knobs) -> tuple[np.ndarray, np.ndarray]:
        """White and board (..., n) of every reading from light (..., 25, columns, 2, C) before the last reflection."""
        _, scale = self._scales(knobs)
        tint = self.answers.reflectance[-1] * knobs.gain
        seen, arriving = luminance(stack[..., :-1, :, :] * tint) * scale, luminance(stack[..., -1:, :, :]) * (np.pi * scale)
        seen = np.broadcast_to(seen, (*seen.shape[:-2], self._pick.shape[2] - 1, seen.shape[-1]))  # one column serves all seats
        both = np.concatenate([seen, arriving], axis=-2)  # (..., 25, T + 1, 2)
        rows = np.tensordot(both, self._pick, axes=([-3, -2], [1, 2]))  # (..., 2, n)
        return rows[..., WHITE, :], rows[..., BOARD, :]

    def _unlit(self, knobs: Knobs) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Direct light, the same were it even, and ambient light, (n,) each [lx] or [cd/m2]."""
        ratio, _ = self._scales(knobs)
        points = self._points[0]
        lux = self._mixed(points.direct_lx, self._points[1].direct_lx, knobs.fall) * ratio
        tint = float(luminance(np.asarray(self.answers.reflectance[-1]))) * knobs.gain
        plain = np.ones((len(lux), 1))
        gain = np.concatenate([points.gain * tint / np.pi, plain], axis=1)  # (25, T + 1)
        ambient = np.concatenate([points.ambient * tint / np.pi, plain], axis=1)

        def read(light: np.ndarray) -> np.ndarray:
            return np.tensordot(self._pick, light, axes=([1, 2], [0, 1]))

        even = lux[BOARD_POINTS].mean()
        each_lx = read(ambient)
        for name, pattern in self._patterns.items():
            here = self._state == self.states.index(name)
            seen = pattern.each_lx * np.append(np.full(points.gain.shape[1], knobs.gain), 1.0)
            each_lx = np.where(here, np.tensordot(seen, self._pick, axes=([1, 2], [1, 2])), each_lx)  # (R + 2, n)
        return read(gain * lux[:, None]), read(gain * even), each_lx * knobs.ambient[self._state]

    def _parts(self, knobs: Knobs) -> _Parts:
        direct, veil, ambient = self._unlit(knobs)
        white, board = self._of_readings(self._traced(self._arriving(knobs), knobs, pooling=self.pooling), knobs)
        return _Parts(direct, veil, white, board, ambient)

    def _factors(self, knobs: Knobs) -> np.ndarray:
        """How each part enters each reading, (5, n) [1], in the order of _Parts. Source: `Levels.board_and_complement`."""
        rows = [_factors(each, knobs.black, knobs.veil, self._bars) for each in self.readings]
        return np.array(rows, float).T

    def _combine(self, parts: _Parts, knobs: Knobs) -> np.ndarray:
        return sum(factor * part for factor, part in zip(self._factors(knobs), parts, strict=True))

    def slopes(self, knobs: Knobs) -> dict[str, np.ndarray]:
        """Derivatives of the prediction by each knob, exact for the ledger's paths.

        returns  lumens, gain (n,) and reflectance (surfaces - 1, n) by the logarithm; fall, black, veil (n,) plain; ambient
                 (states, n) plain [per lx]; meters (2, n) by the logarithm; all in the readings' units
        Source: passes.slope_cells for reflectances; the rest is linear, or a power, by construction (see the module).
        """
        return self._slopes(self._parts(knobs), knobs)

    def _slopes(self, parts: _Parts, knobs: Knobs) -> dict[str, np.ndarray]:
        parts = parts._replace(white=parts.white[0], board=parts.board[0], ambient=np.atleast_2d(parts.ambient)[0])
        factors, meters = self._factors(knobs), knobs.meters[self._meter]
        nothing = _Parts(*(np.zeros(len(self.readings)) for _ in parts))

        def reading(change: _Parts) -> np.ndarray:
            return sum(f * p for f, p in zip(factors, change, strict=True)) * meters

        by_surface = self._by_reflectance(knobs)
        emitted = self._emitted(knobs, parts)
        last = np.where(self._lux, 0.0, 1.0)  # the last reflection towards a seat; a meter on the screen has none
        gain = _Parts(
            parts.direct * last,
            parts.veil * last,
            parts.white * last + emitted[0] + by_surface[-1][0],
            parts.board * last + emitted[1] + by_surface[-1][1],
            parts.ambient * last,
        )
        value = reading(parts)
        found = {
            "lumens": reading(parts._replace(ambient=nothing.ambient)),
            "gain": reading(gain),
            "reflectance": np.array([reading(nothing._replace(white=w, board=b)) for w, b in by_surface[:-1]]),
            "fall": reading(self._by_fall(knobs, parts)),
            "black": self._by_level(parts, knobs, "black") * meters,
            "veil": self._by_level(parts, knobs, "veil") * meters,
            "ambient": np.array([reading(nothing._replace(ambient=each)) for each in self._by_ambient(knobs)]),
            "meters": np.array([np.where(self._meter == i, value, 0.0) for i in range(len(METERS))]),
        }
        return found

    def _by_reflectance(self, knobs: Knobs) -> list[tuple[np.ndarray, np.ndarray]]:
        """d white, d board (n,) by ln reflectance of every surface, the screen's own bounces last."""
        facts = self._facts[0]._replace(light=self._arriving(knobs))
        sums = self.answers.stage.slope_sums(facts, self._reflectance(knobs)).mean(axis=0)  # (25, columns, surfaces, 2, C)
        return [self._of_readings(sums[:, :, s], knobs) for s in range(sums.shape[2])]

    def _emitted(self, knobs: Knobs, parts: _Parts) -> tuple[np.ndarray, np.ndarray]:
        """The part of white and board that left the screen as its own reflection: all of it where nothing misses the cloth."""
        (map_a, stray), (map_b, _) = self._light
        if stray is None:
            return parts.white, parts.board
        light = np.float32(knobs.gain) * self._mixed(map_a, map_b, knobs.fall)
        return self._of_readings(self._traced(np.ascontiguousarray(light), knobs, pooling=self.pooling)[0], knobs)

    def _by_fall(self, knobs: Knobs, parts: _Parts) -> _Parts:
        """d parts by the fall-off: of the light's shape at one illuminance in the middle, and of that illuminance at one light output."""
        step = self._falls[1] - self._falls[0]
        (map_a, stray_a), (map_b, stray_b) = self._light
        light = np.float32(knobs.gain) * (map_b - map_a)
        if stray_a is not None and stray_b is not None:
            light = light + (stray_b - stray_a)
        white, board = self._of_readings(self._traced(np.ascontiguousarray(light), knobs, pooling=self.pooling)[0], knobs)
        low, high = (self._unlit(knobs._replace(fall=fall)) for fall in self._falls)
        ratio, ratios = self._scales(knobs)[0], [self._scales(knobs._replace(fall=fall))[0] for fall in self._falls]
        direct, veil = ((high[k] / ratios[1] - low[k] / ratios[0]) * ratio / step for k in (0, 1))
        middle = NINE_POINT_MEAN / (1.0 - knobs.fall * NINE_POINT_MEAN)
        return _Parts(
            direct + parts.direct * middle,
            veil + parts.veil * middle,
            white / step + parts.white * middle,
            board / step + parts.board * middle,
            np.zeros_like(parts.ambient),
        )

    def _by_level(self, parts: _Parts, knobs: Knobs, which: str) -> np.ndarray:
        """(n,) by the black or the veil: both enter as plain factors, so a difference of one is the derivative."""
        more = knobs._replace(**{which: getattr(knobs, which) + 1.0})
        return self._combine(parts, more) - self._combine(parts, knobs)

    def _by_ambient(self, knobs: Knobs) -> list[np.ndarray]:
        """(n,) of ambient light per lx in each state."""
        one = np.atleast_2d(self._unlit(knobs._replace(ambient=np.ones(len(self.states))))[2])[0]
        return [np.where(self._state == k, one, 0.0) for k in range(len(self.states))]


def _map_and_stray(facts: Throughputs) -> tuple[np.ndarray, np.ndarray | None]:
    """Light at the hits (1 or 3, H, 4) that came from the screen, and what missed it (None: nothing did). Source: `fill_hit`."""
    if len(facts.stray) == 0 or not facts.stray.any():
        return facts.light, None
    stray = np.zeros_like(facts.light)
    stray[..., :2] = facts.stray[:, None] * traced_pictures().astype(np.float32)[facts.stray_zone]
    return facts.light - stray, stray


def _factors(reading: SiteReading, black: float, veil: float, bars: float) -> tuple[float, float, float, float, float]:
    """Factors of direct, even, white, board and ambient light in a reading [1]; bars  as `bars_over_film`."""
    if reading.shown is ShownPicture.OFF:
        return 0.0, 0.0, 0.0, 0.0, 1.0
    white = reading.on_white
    if reading.shown not in BOARDS:
        return (1.0, 0.0, 1.0, 0.0, 1.0) if white else (black, 0.0, black * (1.0 + bars), 0.0, 1.0)
    dark = black + veil  # of a black patch, and so of what black patches send
    returned = (dark, 1.0 - dark) if reading.shown is ShownPicture.CHECKERBOARD else (1.0, dark - 1.0)
    return (1.0 if white else black), (0.0 if white else veil), *returned, 1.0
