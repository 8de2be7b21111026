"""What is uncertain in a scene, by name, and how far it may be off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import StrEnum

import numpy as np

from ....materials.dataclass import dataclass
from ....materials.text.nearest import nearest
from ....materials.tint import luminance
from ....scenes.errors import SceneError, SceneErrors
from ....scenes.model import Scene
from ...measuring.flatten import BORDER
from ..amounts import OWN, PER_CENT, Amount, amount_of
from ..spreads import SpreadKind, moments, quantile

LEAST_BORDER_M = 1e-6


class Group(StrEnum):
    """A kind of uncertainty, as tolerances are given."""

    PAINT = "paint"
    GAIN = "gain"
    LUMENS = "lumens"
    CONTRAST = "contrast"
    ROOM = "room"


@dataclass(frozen=True)
class Limits:
    """How far a kind may be off, below and above."""

    low: Amount
    high: Amount


# The trade's own guesses of what is known before anything is measured: common practice, no source
DEFAULTS: Mapping[Group, Limits] = {
    Group.PAINT: Limits(Amount(-0.05), Amount(0.05)),
    Group.GAIN: Limits(Amount(-10.0, PER_CENT), Amount(10.0, PER_CENT)),
    Group.LUMENS: Limits(Amount(-30.0, PER_CENT), Amount(0.0, PER_CENT)),
    Group.CONTRAST: Limits(Amount(-10.0, PER_CENT), Amount(10.0, PER_CENT)),
    Group.ROOM: Limits(Amount(-0.05, "m"), Amount(0.05, "m")),
}
FORM = 'NAME=AMOUNT, such as paint=0.03, "lumens=-20 %..0 %", room="2 cm"; names paint, gain, lumens, contrast, room; 0 for known'


@dataclass(frozen=True)
class Uncertain:
    """One thing that is uncertain.

    name   for people;  group  its kind;  target  the surface or key that moves
    ratio  True where it moves by a factor: `low` and `high` are then relative to its value [1], else in the target's own unit
    value  what the scene has

    `deviation` and `variance` are of what figures lean on: ln of the factor [1], or the difference.
    """

    name: str
    group: Group
    target: str
    ratio: bool
    value: float
    low: float
    high: float
    kind: SpreadKind = "uniform"

    def deviation(self, share: np.ndarray) -> np.ndarray:
        """The deviation below which `share` of all lie [1]. Source: `quantile` of what was stated, which is even in the value."""
        found = quantile(self.kind, share, self.low, 0.0, self.high)
        return np.log1p(found) if self.ratio else found

    @property
    def variance(self) -> float:
        """Of the deviation. Source: `moments`; of ln X, X even from a to b, by E ln X and E ln^2 X in closed form (derived)."""
        if not self.ratio:
            return moments(self.kind, self.low, 0.0, self.high)[1] ** 2
        ends = np.array([1.0 + self.low, 1.0 + self.high])
        log = np.log(ends)
        mean, square = (
            float(np.diff(part)[0] / np.diff(ends)[0]) for part in (ends * (log - 1.0), ends * (log**2 - 2.0 * log + 2.0))
        )
        return square - mean**2


def uncertain_of(scene: Scene, limits: Mapping[Group, Limits] = DEFAULTS) -> tuple[Uncertain, ...]:
    """Everything uncertain in a scene: each surface's reflectance by itself, gain, lumens, contrasts, the room's measures.

    A reflectance stays within 0 and 1. What is known exactly (limits of 0) is left out.
    """
    found: list[Uncertain] = []
    for surface, rho in _reflectances(scene).items():
        low, high = (amount.of(rho, None) for amount in (limits[Group.PAINT].low, limits[Group.PAINT].high))
        found.append(
            Uncertain(f"reflectance of {surface}", Group.PAINT, surface, False, rho, max(low, -rho), min(high, 1.0 - rho))
        )
    fabric, projector = scene.screen.fabric, scene.projector
    found.append(_factor("gain", Group.GAIN, "screen.fabric.gain", fabric.gain, limits))
    found.append(_factor("light output", Group.LUMENS, "projector.light_output_lm", projector.light_output_lm, limits))
    found.append(_factor("native contrast", Group.CONTRAST, "projector.native_contrast", projector.native_contrast, limits))
    if projector.checkerboard_contrast is not None:
        key = "projector.checkerboard_contrast"
        found.append(_factor("checkerboard contrast of the lens", Group.CONTRAST, key, projector.checkerboard_contrast, limits))
    for measure in ("width_m", "depth_m", "height_m") if scene.room.shell is None else ():
        value = getattr(scene.room, measure)
        low, high = (amount.of(value, 1.0) for amount in (limits[Group.ROOM].low, limits[Group.ROOM].high))
        found.append(Uncertain(f"room, {measure[:-2]}", Group.ROOM, f"room.{measure}", False, value, low, high))
    return tuple(each for each in found if each.low < each.high)


def _reflectances(scene: Scene) -> dict[str, float]:
    found = scene.room.finishes
    if scene.screen.border_m > LEAST_BORDER_M:
        found[BORDER] = scene.screen.border_finish
    return {name: luminance(finish.reflectance) for name, finish in found.items()}


def _factor(name: str, group: Group, key: str, value: float, limits: Mapping[Group, Limits]) -> Uncertain:
    low, high = (max(amount.of(value, None), -0.9 * value) for amount in (limits[group].low, limits[group].high))
    return Uncertain(name, group, key, True, value, low / value, high / value)


def limits_given(texts: Sequence[str]) -> dict[Group, Limits]:
    """The defaults with what was given in their place, as texts NAME=AMOUNT or NAME=AMOUNT..AMOUNT.

    raises  SceneErrors with everything that cannot be read
    """
    found, errors = dict(DEFAULTS), []
    for text in texts:
        name, sign, rest = text.partition("=")
        try:
            group = Group(name.strip())
        except ValueError:
            close = nearest(name.strip(), [each.value for each in Group])
            hint = f', did you mean "{close[0]}"?' if close else ""
            errors.append(SceneError("--tolerance", 0, "", text, f"names no tolerance{hint}", FORM))
            continue
        try:
            limits = _limits(rest.strip() if sign else "")
            for amount in (limits.low, limits.high):
                if group is Group.PAINT and amount.unit != OWN:
                    raise ValueError("is no difference of reflectance")
                amount.of(1.0, 1.0 if group is Group.ROOM else None)
        except ValueError as fault:
            errors.append(SceneError("--tolerance", 0, "", text, str(fault), FORM))
            continue
        found[group] = limits
    if errors:
        raise SceneErrors(errors)
    return found


def _limits(text: str) -> Limits:
    low, dots, high = text.partition("..")
    if dots:
        ends = Limits(_end(low), _end(high))
        if ends.low.value > ends.high.value:
            raise ValueError("ends before it begins")
        return ends
    amount = _end(text)
    if amount.value < 0.0:
        raise ValueError("is negative")
    return Limits(replace(amount, value=-amount.value), amount)


def _end(text: str) -> Amount:
    try:
        return amount_of(float(text))
    except ValueError:
        return amount_of(text.strip())
