"""The object that answers: change finish, fabric, picture, lumens, contrast or lamps, and read every seat without tracing."""

from __future__ import annotations

import math
import time
from collections.abc import Hashable, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from ...materials.coat import finest_deg
from ...materials.dataclass import dataclass
from ...materials.fabric import Fabric
from ...scenes.errors import show
from ...scenes.given import MAPPING, NUMBER, TEXT, Kind, takes, whole
from ...scenes.model import Scene
from ..light.patches import frozen
from ..light.projector import OBSTRUCTED
from ..measuring.colour import luminance
from ..measuring.estimate import replicates
from ..measuring.field import Field
from ..measuring.flatten import SceneArrays, flatten
from ..measuring.measure import Measurement, assembled
from ..measuring.readings import BOARD_POINTS, CENTRE, SeatReading, Seats, worst_error
from ..measuring.solver import MAP_CELLS, MOST_PATHS, MeasuringPoints, board_patches, survival_for
from .answer_error import AnswerError
from .ledger_file import SURVIVALS, Kept
from .painted import Paint, as_finish, painted
from .pictures import WHITE_PICTURE, ZonePicture
from .session import Session
from .through_cloth import refuse_light_through
from .throughputs import Throughputs
from .travel import read_only

_SCENE = Kind(lambda value: isinstance(value, Scene), "a Scene")


class Quick(NamedTuple):
    """The figures that decide a room, as replicates (R + 2, T): luminances [cd/m2] and the checkerboard contrast [1].

    white  at the picture's centre, full white;  washout, black  mean over the checkerboard's 16 centres when black: what
    returned light adds, and all there is to see
    """

    white: np.ndarray
    washout: np.ndarray
    black: np.ndarray
    checkerboard: np.ndarray


class Precise(NamedTuple):
    """Answers on paths that meet an asked error, with their readings.

    answers   on the ledger they were asked of, or on a new one;  seats  what made the readings, one a seat
    said      in sentences what had to be traced anew; empty: nothing
    """

    answers: Answers
    seats: Seats
    readings: list[SeatReading]
    said: list[str]


@dataclass(frozen=True, eq=False, repr=False)
class Answers:
    """A scene with a ledger behind it; every `with_...` gives a new object on the same ledger.

    Nothing that is asked of one changes it or its siblings: more paths come with a new object too (`precise`, `on`). Several
    threads may ask one object, or many on one ledger, at once.
    arrays    the scene lowered, on the stage's own patches
    picture   for `picture_readings` (see picture_readings.py); the measure readings have their own pictures, white and checkerboard
    """

    scene: Scene
    stage: Session
    arrays: SceneArrays
    picture: ZonePicture = WHITE_PICTURE

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (self.scene, self.stage, self.arrays, self.picture)

    def __repr__(self) -> str:
        kept = self.stage.kept
        return f"<Answers for {self.scene.title!r}: {kept.paths:,} light paths, seed {kept.seed}>"

    @staticmethod
    def of(
        scene: Scene,
        kept: Kept | None = None,
        *,
        where: str = "ledger",
        seed: int = 1,
        paths: int = 64,
        survival: float | None = None,
        cells: int = MAP_CELLS,
        threads: int = 1,
    ) -> Answers:
        """Answers for a scene from a kept ledger, or from one traced here with `paths` paths a replication and start.

        survival  probability to go on after a hit [1]; left out: what the scene's lightest finish asks for
        cells     of the wall map along an edge;  where  the ledger's name in messages
        raises    LedgerError when the ledger belongs to another geometry
        """
        stage = Session(scene, kept, where=where, seed=seed, paths=paths, survival=survival, cells=cells, threads=threads)
        return Answers(scene, stage, stage.arrays)

    @takes(scene=_SCENE)
    def with_scene(self, scene: Scene) -> Answers:
        """Another scene on the same paths: other finishes, fabric, light, seats, lens; raises LedgerError naming what moves paths."""
        arrays = flatten(scene)
        return replace(self, scene=scene, arrays=arrays, stage=self.stage.serving(scene, arrays))

    @takes(scene=_SCENE)
    def with_seats(self, scene: Scene) -> Answers:
        """A scene that differs in its seats, and in what moves nothing, on the same paths and the same map of the lit screen.

        Where lens or fall-off are others, or anything stands in the beam, it goes the way of `with_scene`; raises LedgerError as that
        """
        refuse_light_through(scene)
        arrays, old = flatten(scene, geometry=self.arrays.geometry), self.arrays
        alike = [(arrays.projector.lens, old.projector.lens), (arrays.projector.light[1:], old.projector.light[1:])]
        if (
            old.projector.flags[OBSTRUCTED]
            or arrays.projector.flags[OBSTRUCTED]
            or not all(np.array_equal(*pair) for pair in alike)
        ):
            return self.with_scene(scene)
        return replace(self, scene=scene, arrays=arrays, stage=self.stage.with_seats(scene, arrays))

    @takes(surface=TEXT)
    def with_finish(self, surface: str, paint: Paint) -> Answers:
        """One surface repainted; raises AnswerError as `painted` does."""
        return self.with_finishes({surface: paint})

    @takes(paints=MAPPING)
    def with_finishes(self, paints: Mapping[str, Paint]) -> Answers:
        """Several surfaces repainted; raises AnswerError as `painted` does."""
        scene = painted(self.scene, paints)
        reflectance = self.arrays.reflectance.copy()
        for name, paint in paints.items():
            reflectance[self.arrays.surfaces.index(name)] = as_finish(paint).reflectance
        return replace(self, scene=scene, arrays=self.arrays._replace(reflectance=frozen(reflectance)))

    def on(self, stage: Session) -> Answers:
        """The same scene on another stage's ledger; raises LedgerError naming what differs in the geometry."""
        if stage.kept is self.stage.kept:
            return self
        return replace(self, stage=stage if stage.ground is self.stage.ground else self.stage.with_ledger(stage.kept))

    @takes(paths=whole(1, MOST_PATHS))
    def with_paths(self, paths: int, *, survival: float | None = None) -> Answers:
        """The same on a new ledger of `paths` paths a replication and start; survival [1], None: as before. raises AnswerError below 1 path"""
        return replace(self, stage=self.stage.retraced(paths=paths, survival=survival or self.stage.kept.survival))

    def with_fabric(self, fabric: Fabric) -> Answers:
        """Another fabric on the same cloth; raises SceneErrors where light comes through it, AnswerError for what is none."""
        if not isinstance(fabric, Fabric):
            raise AnswerError(f"{show(fabric)} is no fabric; allowed what fabric(NAME) gives")
        scene = replace(self.scene, screen=replace(self.scene.screen, fabric=fabric))
        refuse_light_through(scene)
        arrays = self.arrays._replace(fabric=fabric.arrays(), half_gain_deg=finest_deg(fabric))
        return replace(self, scene=scene, arrays=arrays)

    def with_picture(self, picture: ZonePicture) -> Answers:
        """Another picture for `picture_readings`; the measure readings do not change. raises AnswerError for what is none"""
        if not isinstance(picture, ZonePicture):
            raise AnswerError(f"{show(picture)} is no picture; allowed what pictures.py makes")
        return replace(self, picture=picture)

    @takes(light_output_lm=NUMBER)
    def with_light_output(self, light_output_lm: float) -> Answers:
        """Another light output [lm]; raises AnswerError unless it is a number above 0.

        Source: illuminance is in proportion to light output (ISO/IEC 21118).
        """
        if not 0.0 < light_output_lm < math.inf:
            raise AnswerError(f"light_output_lm is {light_output_lm}; allowed above 0")
        light = frozen(self.arrays.projector.light * [light_output_lm / self.scene.projector.light_output_lm, 1.0, 1.0])
        arrays = self.arrays._replace(projector=self.arrays.projector._replace(light=light))
        return replace(self._with_projector(light_output_lm=light_output_lm), arrays=arrays)

    @takes(native=NUMBER.optional, checkerboard=NUMBER.optional)
    def with_contrast(self, *, native: float | None = None, checkerboard: float | None = None) -> Answers:
        """Another native contrast, or checkerboard contrast of the lens [1]; None: as it is.

        raises  AnswerError unless both are numbers above 1
        """
        changes = {"native_contrast": native, "checkerboard_contrast": checkerboard}
        given = {key: value for key, value in changes.items() if value is not None}
        if any(not 1.0 < value < math.inf for value in given.values()):
            raise AnswerError(f"contrasts {given}; allowed above 1")
        return self._with_projector(**given)

    def _with_projector(self, **changes: float) -> Answers:
        return replace(self, scene=replace(self.scene, projector=replace(self.scene.projector, **changes)))  # type: ignore[arg-type]

    @cached_property
    def fabric_key(self) -> Hashable:
        """What tells one fabric from another."""
        return tuple(array.tobytes() for array in self.arrays.fabric)

    @property
    def points(self) -> MeasuringPoints:
        """The 25 measuring points, places [m], with the gains and illuminance of this fabric and light output."""
        return self.stage.ground.points(self.arrays, self.fabric_key)

    @property
    def field(self) -> Field:
        """The picture's fine grid, places [m], with the gains and illuminance of this fabric and light output."""
        return self.stage.ground.field(self.arrays, self.points, self.fabric_key)

    @cached_property
    def reflectance(self) -> np.ndarray:
        """Reflectances (surfaces, C) [1] with the screen's tint in its own row; one channel where all is grey."""
        table = self.arrays.reflectance.copy()
        table[-1] = self.arrays.fabric.tint
        grey = np.ptp(table[:-1], axis=1).max() == 0.0 and np.ptp(table[-1]) == 0.0
        return np.ascontiguousarray(table[:, :1] if grey else table)

    @property
    def facts(self) -> Throughputs:
        """The ledger with the fabric put in."""
        return self.stage.facts(self.arrays, self.points, self.fabric_key)

    def stack(self, *, pooling: bool = True) -> np.ndarray:
        """Returned light as replicates (R + 2, 25, T, surfaces, 2 + 2L, C) [cd/m2]: white and checkerboard, then lamps as `traced_sums` has them.

        pooling  as in Session.sums.  Source: `Throughputs`.
        """
        sums = self.stage.sums(self.facts, self.reflectance, pooling=pooling)
        stack = self.spread_out(replicates(sums[..., :2, :], sums[..., 2:, :].mean(axis=0)))
        if not self.arrays.lamps.names:
            return stack
        lamps = self.stage.lamps(self.arrays, self.points, self.fabric_key, self.reflectance, pooling=pooling)
        half = lamps.shape[-2] // 2
        return np.concatenate([stack, replicates(lamps[..., :half, :], lamps[..., half:, :].mean(axis=0))], axis=-2)

    def spread_out(self, stack: np.ndarray) -> np.ndarray:
        """Lumens and last reflection put in; one column for all seats becomes one for each."""
        stack = stack * (self.stage.ground.lux_scale(self.arrays) * self.reflectance[-1])
        seats = self.points.seats.shape[1]
        return np.broadcast_to(stack, (*stack.shape[:2], seats, *stack.shape[3:]))

    def seats(self, stack: np.ndarray | None = None, *, whole: bool = True) -> Seats:
        """What makes the readings.

        stack  as `stack` gives it [cd/m2], or None: that;  whole  False: what needs the fine grid must not be asked
        """
        field = self.field if whole else None
        return Seats(self.scene, self.arrays, self.points, field, self.stack() if stack is None else stack)  # type: ignore[arg-type]

    def quick(self) -> Quick:
        """White, wash-out, black [cd/m2] and checkerboard contrast [1] of all seats: what a repaint is judged by.

        Source: `Seats`.
        """
        sums = self.stage.sums(self.facts, self.reflectance).sum(axis=3, keepdims=True)  # shares by surface are not asked
        stack = self.spread_out(replicates(sums[..., :2, :], sums[..., 2:, :].mean(axis=0)))
        return quick_figures(self.seats(stack, whole=False))

    def readings(self) -> list[SeatReading]:
        """The reading of every seat, as `measure` gives it; raises FloatingPointError when a sum is not finite."""
        return self._read()[1]

    def _read(self, *, judged_only: bool = False) -> tuple[Seats, list[SeatReading]]:
        stack = self.stack()
        if not np.isfinite(stack).all():
            raise FloatingPointError("the ledger's sums are not finite")
        seats = self.seats(stack)
        return seats, [seats.reading(i, judged_only=judged_only) for i in range(len(self.scene.seats))]

    def fitting_survival(self) -> float:
        """Survival [1] that this scene's lightest finish asks for; never below the ledger's. Source: `survival_for`."""
        return max(self.stage.kept.survival, survival_for(self.arrays.reflectance))

    @takes(error=NUMBER)
    def precise(self, error: float, *, most_paths: int = MOST_PATHS) -> Precise:
        """Answers whose standard error meets `error`, with their readings; on a new ledger where it must be, and the reasons told.

        error    asked relative standard error [1], as for `measure`;  most_paths  cap, paths a replication and start
        returns  Precise; the cap on paths may still leave it short of the error
        raises   AnswerError for an error that is none, FloatingPointError when a sum is not finite
        Source: fixed survival (derived: the squared weight shrinks while rho^2 / survival < 1), doubling.
        """
        if not 0.0 < error < 1.0:
            raise AnswerError(f"error is {error}; allowed above 0, below 1")
        said, now = [], self
        if self.fitting_survival() > self.stage.kept.survival:
            said.append(
                f"a finish of reflectance {self.arrays.reflectance.max():.2g} asks for paths that go on with probability "
                f"{self.fitting_survival():g}, the ledger's do with {self.stage.kept.survival:g}: traced anew"
            )
            now = self.with_paths(int(self.stage.ledger.paths[0]), survival=self.fitting_survival())
        held, first = now.stage.kept.paths, None
        while True:
            seats, readings = now._read(judged_only=True)
            reached = max(worst_error(reading, error) for reading in readings)
            first = reached if first is None else first
            paths = int(now.stage.ledger.paths[0])
            if reached <= error or 2 * paths > most_paths:
                break
            now = now.with_paths(2 * paths)
        if now.stage.kept.paths != held:
            said.append(
                f"{held:,} paths of the ledger reach {100 * first:.2g} %, asked {100 * error:.2g} %: "
                f"traced anew with {now.stage.kept.paths:,}"
            )
        return Precise(now, seats, [seats.reading(i) for i in range(len(readings))], said)

    def measurement(self, error: float) -> tuple[Measurement, list[str]]:
        """What `measure` gives, from the ledger, and sentences on what had to be traced anew.

        error  asked relative standard error [1].  raises  FloatingPointError as `precise` does
        """
        began = time.perf_counter()
        found = self.precise(error)
        return found.answers.measured(found.seats, found.readings, error, began), found.said

    def measured(self, seats: Seats, readings: list[SeatReading], error: float, began_s: float) -> Measurement:
        """A measurement of readings that are there already.

        error    relative, as it was asked [1];  began_s  time.perf_counter() [s] when the work on them began
        """
        return assembled(
            seats,
            readings=readings,
            paths=self.stage.kept.paths,
            seed=self.stage.kept.seed,
            error_asked=error,
            threads=self.stage.threads,
            error_reached=max(worst_error(reading, error) for reading in readings),
            began_s=began_s,
        )


def _again(scene: Scene, stage: Session, arrays: SceneArrays, picture: ZonePicture) -> Answers:
    """Answers as they were before they were pickled."""
    return Answers(scene, stage, read_only(arrays), picture)


def quick_figures(seats: Seats) -> Quick:
    """White, wash-out, black [cd/m2] and checkerboard contrast [1] of all seats in one go. Source: as `Seats`, seat by seat."""
    every = slice(None)
    lit, dark, _ = seats.board_levels(every)
    plain, other = seats.levels.board_and_complement(
        luminance(seats.white[:, BOARD_POINTS]), luminance(seats.board[:, BOARD_POINTS])
    )  # (R + 2, 16, T)
    back = np.where(board_patches()[:, None], other, plain)
    centre = luminance(seats.direct[CENTRE]) + luminance(seats.white[:, CENTRE])
    return Quick(centre, back.mean(axis=1), dark.mean(axis=1), lit.sum(axis=1) / dark.sum(axis=1))


__all__ = ["SURVIVALS", "Answers", "Precise", "Quick", "as_finish", "painted", "quick_figures"]
