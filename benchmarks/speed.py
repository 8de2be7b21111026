"""Time to a given error of the room's light on nine points of the screen: halfgain against a general-purpose renderer.

    python -m benchmarks.speed

One thread each, CPU seconds, same process, in turn; compiling and scene loading left out on both sides. Halfgain's time
holds the map of the lit screen, the trace and the walk. A specialised tracer for a lit screen in a box room is held against a
general renderer: read the ratios as that.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from halfgain.simulate.measuring.even_light import EvenLight
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import MeasuringPoints, measuring_points, prepare, traced_sums

from tests.outside.box_room import Room, Screen, Solid
from tests.rooms import box_object, room

WALLS = {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2}
BOXES = (
    Solid((-1.0, -4.1, 0.0), (1.0, -3.2, 0.85), 0.3),
    Solid((1.2, -1.6, 0.0), (1.5, -1.2, 2.2), 0.6),
    Solid((-1.9, -2.6, 0.0), (-1.5, -1.4, 0.5), 0.4),
    Solid((-1.9, -5.9, 0.0), (-1.0, -5.4, 2.0), 0.5),
    Solid((-0.5, -2.4, 0.0), (0.5, -1.9, 0.4), 0.2),
    Solid((1.4, -5.8, 0.0), (1.9, -5.0, 0.9), 0.1),
)
TARGETS = (0.01, 0.003)
RIPPLED = '[screen.fabric]\nkind = "diffuse"\ngain = 0.9\n[[screen.fold]]\nkind = "wave"\namplitude_mm = 2\nwavelength_mm = 300'


class Trial(NamedTuple):
    """Paths a point, median CPU seconds, and the mean square of the relative error of each repeat (repeats,) [1]."""

    paths: int
    cpu_s: float
    squares: np.ndarray

    @property
    def error(self) -> float:
        """Relative rms error of a reading [1]."""
        return float(np.sqrt(np.mean(self.squares)))

    @property
    def unsure(self) -> float:
        """Relative standard error of `error` [1]. Source: half the coefficient of variation of n mean squares over sqrt(n)."""
        return float(0.5 * np.std(self.squares, ddof=1) / np.mean(self.squares) / np.sqrt(len(self.squares)))


class Ours(NamedTuple):
    """CPU seconds, map included, at which each target error is met, by log-log interpolation between the trials.

    unsure  relative standard error of these, since errors are told from few repeats [1]
    """

    cpu_s: dict[float, float]
    unsure: dict[float, float]
    trials: tuple[Trial, ...]


class Seconds(NamedTuple):
    """CPU seconds to an error, and their relative standard error [1]."""

    cpu_s: float
    unsure: float


class Race(NamedTuple):
    """One room: what halfgain takes, and what each variant of the general renderer takes to each target error."""

    ours: Ours
    theirs: dict[str, dict[float, Seconds]]

    def ratio(self, variant: str, target: float) -> tuple[float, float]:
        """How many times as long the renderer takes, and the standard error [1]."""
        their = self.theirs[variant][target]
        value = their.cpu_s / self.ours.cpu_s[target]
        return value, value * float(np.hypot(self.ours.unsure[target], their.unsure))


def room_arrays(boxes: tuple[Solid, ...], **more: Any) -> SceneArrays:
    """The room of the race with some boxes in it; more  as tests.rooms.room takes it."""
    objects = "".join(
        box_object(f"box {i}", [b.low_m[0], -b.high_m[1], b.low_m[2]], [b.high_m[0], -b.low_m[1], b.high_m[2]], b.reflectance)
        for i, b in enumerate(boxes)
    )
    return flatten(room(objects=objects, gap=0.1, seats='[[seat]]\nname = "a"\neye_m = [0.9, 3.1, 1.2]', **more, **WALLS))


def rooms() -> dict[str, SceneArrays]:
    """The three rooms of the race: empty, furnished, furnished with a rippled screen."""
    return {
        "empty room": room_arrays(()),
        "furnished room": room_arrays(BOXES),
        "rippled screen": room_arrays(BOXES, fabric=RIPPLED),
    }


def cells_for(paths: int) -> int:
    """Cells of the map along a wall edge for so many paths a point, so that what the map errs by stays a small part of the noise.

    Source: measured against 64 cells with the same paths: 12, 16 and 24 cells err by 0.01, 0.005 and 0.004 % in the empty room and
    by 0.1, 0.03 and 0.03 % in the furnished one (rms of nine points).
    """
    return 12 if paths < 1024 else 16 if paths < 4096 else 24


def ours_of(arrays: SceneArrays, repeats: int = 16, tell: Callable[[str], None] = print) -> Ours:
    """Time to error in a scene: rms over nine points and repeats. Source: log-log interpolation between numbers of paths."""
    points = nine(measuring_points(arrays))
    truth = prepare(arrays, points, cells=48)
    exact = returned(traced_sums(truth, seed=77, low_path=0, paths=4096, replications=16), 4096)
    trials: list[Trial] = []
    for paths in (64, 128, 256, 512, 1024, 2048, 4096, 8192, 16384):
        errors, seconds = [], []
        cells = cells_for(paths)
        for repeat in range(repeats):
            began = time.process_time()
            fresh = prepare(arrays, points, cells=cells)
            sums = traced_sums(fresh, seed=100 + repeat, low_path=0, paths=paths, replications=1)
            seconds.append(time.process_time() - began)
            errors.append(returned(sums, paths) / exact - 1)
        trials.append(Trial(paths, float(np.median(seconds)), np.square(errors).mean(axis=1)))
        tell(
            f"  {paths:5d} paths a point, {cells} map cells: error {trials[-1].error:.4f}, {trials[-1].cpu_s * 1e3:.2f} ms of CPU"
        )
        if trials[-1].error <= min(TARGETS):
            break
    return Ours({t: at(trials, t) for t in TARGETS}, {t: unsure_at(trials, t) for t in TARGETS}, tuple(trials))


def exponent(trials: Sequence[Trial]) -> tuple[float, float]:
    """How the error falls with the number of paths, as a power, and the standard error of that power [1].

    Source: straight line through log error over log paths, alike weights; the error from what the line leaves.
    """
    paths, errors = np.log([t.paths for t in trials]), np.log([t.error for t in trials])
    if len(paths) < 3:
        return float((errors[-1] - errors[0]) / (paths[-1] - paths[0])), float("inf")
    (slope, _), cover = np.polyfit(paths, errors, 1, cov=True)
    return float(slope), float(np.sqrt(cover[0, 0]))


def power_of_time(ours: Ours) -> tuple[float, float]:
    """How the error falls with CPU time, map and Python included, from the larger of TARGETS to the smaller, as a power; its standard error [1].

    Source: slope of log error over log seconds between the two.
    """
    first, last = max(TARGETS), min(TARGETS)
    octaves = np.log(ours.cpu_s[last] / ours.cpu_s[first])
    power = np.log(last / first) / octaves
    return float(power), float(abs(power / octaves) * np.hypot(ours.unsure[first], ours.unsure[last]))


def power_at_the_end(trials: Sequence[Trial]) -> tuple[float, float]:
    """The same between the two trials with the most paths, and its standard error [1]."""
    first, last = trials[-2:]
    octaves = np.log(last.cpu_s / first.cpu_s)
    return float(np.log(last.error / first.error) / octaves), float(np.hypot(first.unsure, last.unsure) / octaves)


def at(trials: Sequence[Trial], target: float) -> float:
    """CPU seconds at the target error, log-log between the trials on either side of it.

    raises  ValueError where no trial meets it
    """
    later = next((i for i, trial in enumerate(trials) if trial.error <= target), None)
    if later is None:
        raise ValueError(f"{trials[-1].paths} paths a point left an error of {trials[-1].error:.3g}")
    (_, s0, _), (_, s1, _) = trials[max(later, 1) - 1], trials[max(later, 1)]
    e0, e1 = trials[max(later, 1) - 1].error, trials[max(later, 1)].error
    return float(s0 * (target / e0) ** (np.log(s1 / s0) / np.log(e1 / e0)))


def unsure_at(trials: Sequence[Trial], target: float) -> float:
    """Relative standard error of `at` [1].

    Source: what the interpolation makes of the errors of the two trials, times the power with which all trials' seconds go with
    the error.
    """
    later = max(next(i for i, trial in enumerate(trials) if trial.error <= target), 1)
    first, second = trials[later - 1], trials[later]
    share = np.log(target / first.error) / np.log(second.error / first.error)
    power = np.polyfit(np.log([t.error for t in trials]), np.log([t.cpu_s for t in trials]), 1)[0]
    return float(abs(power) * np.hypot((1.0 - share) * first.unsure, share * second.unsure))


def nine(points: MeasuringPoints) -> MeasuringPoints:
    """The nine ISO points only, of the 25."""
    cloth = points.cloth._replace(
        **{name: getattr(points.cloth, name)[16:] for name in ("place", "right", "up", "normal", "patch")}
    )
    rest = {name: getattr(points, name)[16:] for name in ("right", "up", "seats", "gain", "direct_lx")}
    return points._replace(cloth=cloth, even=EvenLight(points.even.fabric, rest["seats"]), **rest)


def returned(sums: np.ndarray, paths: int) -> np.ndarray:
    """Returned luminance at the nine points for a white picture."""
    return sums[:, :, 0, :, 0, 0].sum(axis=2).mean(axis=0) / paths


def race(title: str, arrays: SceneArrays, *, repeats: int = 16, tell: Callable[[str], None] = print) -> Race:
    """Time to error of halfgain and of the renderer in one of `rooms`, in turn.

    With a rippled screen the renderer would take minutes to the smallest error: it is followed to the largest, and its trials say the rest.
    """
    from tests.outside import mitsuba_speed

    mine = ours_of(arrays, 4 * repeats, tell)  # which take milliseconds
    screen = Screen(2.4, 1.35, 0.7, 0.9, radiance=1 / np.pi, gap_m=0.1)
    load: dict[str, Any] = {}
    followed = TARGETS
    if title == "rippled screen":
        from tests.outside import mitsuba_folded

        load, followed = {"load": mitsuba_folded.load_lit_folds}, TARGETS[:1]
    boxes, points = () if title == "empty room" else BOXES, screen.nine_points()
    theirs = {}
    for variant in variants(title):
        found = mitsuba_speed.time_to_error(
            Room(4.0, 6.0, 2.7, WALLS, boxes),
            screen,
            points,
            targets=followed,
            variant=variant,
            threads=1,
            repeats=repeats,
            **load,
        )
        # of an rms over independent repeats and points, and cost goes as its inverse square
        unsure = float(2.0 / np.sqrt(2.0 * (repeats - 1) * len(points)))
        theirs[variant] = {
            target: Seconds(found.cpu_seconds[target], unsure) if target in followed else beyond(found.trials, target, unsure)
            for target in TARGETS
        }
    return Race(mine, theirs)


def beyond(trials: Sequence[Any], target: float, unsure: float) -> Seconds:
    """Seconds to an error [1] that no trial of the renderer has met: the last trial's, grown by the power with which error falls with seconds.

    trials   with `cpu_seconds` and `error`, at least two;  unsure  relative standard error of the seconds to one error [1]
    Source: straight line through log error over log seconds; its slope errs by what each error does, so the seconds by more the
    farther they lie from the trials.
    """
    seconds, errors = np.log([t.cpu_seconds for t in trials]), np.log([t.error for t in trials])
    off = seconds - seconds.mean()
    power = float(off @ errors / (off @ off))
    ahead = (np.log(target) - errors.mean()) / power  # from the middle of the trials, in the logarithm of seconds
    of_error = 0.5 * unsure  # of each trial's
    spread = of_error / abs(power) * np.sqrt(1.0 / len(trials) + ahead * ahead / (off @ off))
    return Seconds(float(np.exp(seconds.mean() + ahead)), float(spread))


def variants(title: str) -> list[str]:
    """The renderer's variants that can run here; one alone for the rippled screen, which takes it long."""
    from tests.outside import mitsuba_room

    if title == "rippled screen":
        return ["scalar_rgb"]
    return ["scalar_rgb"] + (["llvm_ad_mono"] if mitsuba_room.find_llvm() else [])


def main() -> None:
    for title in ("empty room", "furnished room"):
        print(title)
        tell(race(title, rooms()[title]))


def tell(found: Race) -> None:
    """Print a race's times and ratios."""
    for variant, seconds in found.theirs.items():
        for target in TARGETS:
            mine, their, (times, error) = found.ours.cpu_s[target], seconds[target].cpu_s, found.ratio(variant, target)
            print(
                f"  {target:.1%}: {variant} {their * 1e3:.1f} ms, halfgain {mine * 1e3:.2f} ms: {times:.1f} +- {error:.1f} times"
            )
    power, error = exponent(found.ours.trials)
    print(f"  error falls as paths to the power {power:.2f} +- {error:.2f}")
    for (power, error), where in (
        (power_of_time(found.ours), "from 1 % to 0.3 %"),
        (power_at_the_end(found.ours.trials), "at the end"),
    ):
        print(f"  error falls as CPU time to the power {power:.2f} +- {error:.2f} {where}")


if __name__ == "__main__":
    main()
