"""How every figure leans on everything uncertain: d ln figure from one ledger, and from one more for each measure of the room."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np
from pydantic import ValidationError

from ....materials.dataclass import dataclass
from ....materials.fabric import Fabric
from ....materials.fabric_table import FabricTable
from ....materials.solving.solve import FabricError
from ....scenes.errors import SceneErrors
from ....scenes.model import Scene
from ...answers.answers import Answers
from ...answers.slopes import slope_stack
from ...choices.figures import Figure, seat_figures
from ...measuring.quantities import BY_KEY
from ...measuring.readings import Seats
from ...measuring.seat_light import SeatLight
from .uncertain import Group, Uncertain

_STEP = 1e-4  # of ln reflectance along the exact slope, and of ln of lumens and contrasts
NODES = (-1.0, -0.5, 0.5, 1.0)  # of the gain's limits, where the figures are read: what a sheet states makes them lean unevenly
_NEARER = 0.75  # where the end itself is a gain that no such fabric can have
_LEAST_RHO = 1e-3  # below, a slope by reflectance itself: ln of nought leads nowhere
_DARK_STEP = 0.01

Key = tuple[int, Figure]  # a seat's place in the scene, and a figure
Log = dict[Key, np.ndarray]  # ln of figures' replicates


@dataclass(frozen=True)
class Derivatives:
    """d ln figure per unit of each uncertain thing.

    uncertain  what could be moved, in the order of the derivatives;  left_out  what could not, and why
    logs       ln of the figures, (R + 2,) by seat's place and figure
    slopes     (uncertain, R + 2) by seat's place and figure, per unit of the uncertain thing; nought for the gain
    gain       its place among the uncertain things, None where there is none;  nodes (m,) its deviations at which figures were read
    curves     (m, R + 2) change of ln figure there
    """

    scene: Scene
    uncertain: tuple[Uncertain, ...]
    left_out: tuple[tuple[str, str], ...]
    logs: Log
    slopes: dict[Key, np.ndarray]
    gain: int | None
    nodes: np.ndarray
    curves: dict[Key, np.ndarray]

    def changes(self, key: Key, deviation: np.ndarray) -> np.ndarray:
        """Change of ln figure by each uncertain thing alone, (uncertain, samples, R + 2), for deviations (samples, uncertain).

        Source: slope x deviation; straight lines between the nodes of the gain, and level beyond them.
        """
        found = deviation.T[:, :, None] * self.slopes[key][:, None, :]
        if self.gain is not None:
            found[self.gain] = between(deviation[:, self.gain], self.nodes, self.curves[key])
        return found


def between(deviation: np.ndarray, nodes: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Values (samples, R + 2) at deviations (samples,) from those at nodes (m, R + 2), in their unit. Source: straight lines."""
    return np.stack([np.interp(deviation, nodes, column) for column in values.T], axis=1)


def derivatives(answers: Answers, uncertain: Sequence[Uncertain], only: Collection[Key] | None = None) -> Derivatives:
    """Derivatives of figures, without pooling, so that all of them stand on the same sums.

    only  figures and seats that are asked for; None: all figures of comparisons at all seats
    Source: paint by the ledger's backward pass (slopes.py), exact for its paths, then a central difference along it; lumens,
    contrasts by central differences of answers, gain by answers across its limits, since a sheet's other numbers make figures lean
    on it unevenly; room by traces of as many paths with the same random numbers.
    """
    reader = _SlopeReader(answers, only)
    moved: list[Log] = []
    kept, left_out = [], []
    paint = reader.paint([each for each in uncertain if each.group is Group.PAINT])
    for each in uncertain:
        try:
            moved.append(next(paint) if each.group is Group.PAINT else reader.moved(each))
            kept.append(each)
        except (SceneErrors, ValueError) as fault:
            left_out.append((each.name, str(fault).splitlines()[0]))
    slopes = {key: np.array([log[key] for log in moved]).reshape(len(moved), len(value)) for key, value in reader.here.items()}
    place = next((i for i, each in enumerate(kept) if each.group is Group.GAIN), None)
    return Derivatives(answers.scene, tuple(kept), tuple(left_out), reader.here, slopes, place, reader.nodes, reader.curves)


def _slope(high: Log, low: Log, step: float) -> Log:
    """Per unit; 0 for a figure that is nought on both sides, such as wash-out in a black room."""
    with np.errstate(invalid="ignore"):
        return {key: np.nan_to_num((high[key] - low[key]) / step, nan=0.0, posinf=0.0, neginf=0.0) for key in high}


class _SlopeReader:
    """Reads figures of answers that are moved a little; `here` as they stand."""

    def __init__(self, answers: Answers, only: Collection[Key] | None) -> None:
        self.answers, self._only = answers, only
        self.here = self.read(answers)
        self.nodes, self.curves = np.zeros(1), {key: np.zeros((1, len(value))) for key, value in self.here.items()}

    def read(self, answers: Answers, stack: np.ndarray | None = None) -> Log:
        """ln of the figures; stack  returned light in place of the answers' own [cd/m2]."""
        seats = answers.seats(answers.stack(pooling=False) if stack is None else stack, whole=False)
        with np.errstate(divide="ignore", invalid="ignore"):
            if self._only is not None:
                return {key: np.log(figure_at(seats, key)) for key in self._only}
            return {
                (i, figure): np.log(found)
                for i in range(len(seats.scene.seats))
                for figure, found in seat_figures(seats, i).items()
            }

    def paint(self, surfaces: Sequence[Uncertain]) -> Iterator[Log]:
        """Slopes by each surface's reflectance, in their order."""
        if self.answers.arrays.lamps.names:  # the backward pass knows the picture's light alone
            yield from (self._repainted(each) for each in surfaces)
            return
        stack, slope = self.answers.stack(pooling=False), slope_stack(self.answers)
        for each in surfaces:
            if each.value < _LEAST_RHO:
                yield _slope(self.read(self.answers.with_finish(each.target, each.value + _DARK_STEP)), self.here, _DARK_STEP)
                continue
            at = self.answers.arrays.surfaces.index(each.target)
            change = np.zeros_like(stack)
            change[:, :, :, 0] = _STEP * slope[:, :, :, at]  # figures sum over surfaces, so it may stand in any one row
            yield _slope(
                self.read(self.answers, stack + change), self.read(self.answers, stack - change), 2.0 * _STEP * each.value
            )

    def _repainted(self, each: Uncertain) -> Log:
        """A slope from two repaints of the surface, its colour kept."""
        step = min(_DARK_STEP, 0.5 * (1.0 - each.value))
        own = self.answers.arrays.reflectance[self.answers.arrays.surfaces.index(each.target)]
        up, down = (own + sign * step for sign in (1.0, -1.0))
        high = self.read(self.answers.with_finish(each.target, tuple(np.clip(up, 0.0, 1.0))))
        if down.min() < 0.0:
            return _slope(high, self.here, step)
        return _slope(high, self.read(self.answers.with_finish(each.target, tuple(down))), 2.0 * step)

    def moved(self, each: Uncertain) -> Log:
        """Slopes by anything else. raises SceneErrors, ValueError where it cannot be moved"""
        if each.group is Group.ROOM:
            return self._room(each)
        if each.group is Group.GAIN:
            return self._gain(each)
        up, down = (_with_number(self.answers, each, each.value * factor) for factor in (np.exp(_STEP), np.exp(-_STEP)))
        return _slope(self.read(up), self.read(down), 2.0 * _STEP)

    def _gain(self, each: Uncertain) -> Log:
        """Reads the curve of the gain; its slope is nought, so that nothing counts twice."""
        low, high = np.log1p([each.low, each.high])
        nodes, logs = [0.0], [self.here]
        for node in NODES:
            end = node * (high if node > 0.0 else -low)
            for reach in (end, _NEARER * end):
                fabric = with_gain(self.answers.scene.screen.fabric, float(np.exp(reach)))
                if fabric is None:
                    continue
                nodes.append(reach)
                logs.append(self.read(self.answers.with_fabric(fabric)))
                break
        order = np.argsort(nodes)
        self.nodes = np.array(nodes)[order]
        changes = [_slope(logs[i], self.here, 1.0) for i in order]
        self.curves = {key: np.array([change[key] for change in changes]) for key in self.here}
        return {key: np.zeros_like(value) for key, value in self.here.items()}

    def _room(self, each: Uncertain) -> Log:
        """A room a little larger, and a little smaller where its things leave that."""
        step = max(abs(each.low), abs(each.high))
        sides = {}
        fault: SceneErrors | None = None
        for sign in (1.0, -1.0):
            try:
                sides[sign] = self.read(_traced(self.answers, self.answers.scene.change(each.target, each.value + sign * step)))
            except SceneErrors as found:
                fault = fault or found
        if len(sides) == 2:
            return _slope(sides[1.0], sides[-1.0], 2.0 * step)
        if 1.0 in sides:
            return _slope(sides[1.0], self.here, step)
        if -1.0 in sides:
            return _slope(self.here, sides[-1.0], step)
        raise fault or ValueError("no room of another size can be")


def figure_at(seats: Seats, key: Key) -> np.ndarray:
    """One figure's replicates (R + 2,) in its unit. Source: the formulas of the registry."""
    place, figure = key
    light = next((light for light in seats.scene.lights if light.name == figure.state), None)
    found = BY_KEY[figure.key].read(SeatLight(seats, place, light))
    return found if isinstance(found, np.ndarray) else np.full(len(seats.white), found.value)


def _with_number(answers: Answers, each: Uncertain, value: float) -> Answers:
    if each.group is Group.LUMENS:
        return answers.with_light_output(value)
    if each.target == "projector.native_contrast":
        return answers.with_contrast(native=value)
    return answers.with_contrast(checkerboard=value)


def with_gain(fabric: Fabric, factor: float) -> Fabric | None:
    """A fabric whose sheet states another gain, all else as it is; None where none can be. raises ValueError without a sheet"""
    if fabric.stated is None or "gain" not in fabric.stated:
        raise ValueError("its sheet states no gain that could be off")
    own = {key: value for key, value in fabric.stated.items() if key not in ("name", "source")}
    try:
        return FabricTable.model_validate({**own, "gain": float(own["gain"]) * float(factor)}).to_fabric()
    except (FabricError, ValidationError):
        return None


def _traced(answers: Answers, scene: Scene) -> Answers:
    """Answers for another geometry with as many paths and the same random numbers."""
    stage = answers.stage
    return Answers.of(
        scene,
        seed=stage.kept.seed,
        paths=int(stage.ledger.paths[0]),
        survival=stage.kept.survival,
        cells=stage.ground.cells,
        threads=stage.threads,
    )
