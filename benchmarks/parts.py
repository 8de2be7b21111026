"""Parts of the table of speeds, each a function of how thorough it should be; what they time stands in modules of their own."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator

from . import start_up
from .figures import Figure, middle_of

SCENE = "light-lounge"


def starting(quick: bool) -> Iterator[Figure]:
    """Start-up, memory: processes of their own."""
    for name, runs in start_up.starts(SCENE, 3 if quick else start_up.ROUNDS).items():
        aim = {"first run ever": 5.0, "warm measure": 0.5, "--help": 0.15}.get(name)
        yield middle_of(f"{name}, wall", [run.wall_s for run in runs], "s", aim=aim)
        yield middle_of(f"{name}, CPU", [run.cpu_s for run in runs], "s")
        yield middle_of(f"{name}, peak memory", [run.peak_mib for run in runs], "MiB", aim=250.0)


def answering(quick: bool) -> Iterator[Figure]:
    """Answers from a kept ledger."""
    from halfgain.scenes.load import load_scene

    from . import repaint

    scene = load_scene("long-lounge")
    jobs = repaint.jobs_of(scene, repaint.enough(scene))
    best = repaint.best_s(jobs, 3 if quick else repaint.ROUNDS)
    aims = {"repaint, fabric of the scene": 1.0, "new fabric": 10.0, "new picture": 0.5}
    for name, seconds in best.items():
        yield Figure(f"{name}, wall", 1e3 * seconds, "ms", aim=aims.get(name))


def drawing(quick: bool) -> Iterator[Figure]:
    """A seat's picture, 960 x 540."""
    from . import seat_picture

    found = seat_picture.times(SCENE, 0, threads=1, rounds=2 if quick else 5)
    yield middle_of("seat picture 960 x 540, set-up, CPU", found.set_up_s, "s", aim=0.5)
    yield middle_of("seat picture 960 x 540, picture, CPU", found.picture_s, "s", aim=0.5)


def reporting(quick: bool) -> Iterator[Figure]:
    """The client's page."""
    from . import report

    rounds = [report.page(sys.executable, SCENE) for _ in range(2 if quick else 4)][1:]  # the first compiles
    yield middle_of("report, wall", [each.wall_s for each in rounds], "s", aim=15.0)
    yield middle_of("report, CPU", [each.cpu_s for each in rounds], "s")


def racing(quick: bool) -> Iterator[Figure]:
    """Light in a room against the general renderer, and how the error falls with work."""
    from . import speed

    aims = {"empty room": (80.0, 250.0), "furnished room": (35.0, 100.0), "rippled screen": (40.0, 130.0)}
    for title, arrays in speed.rooms().items():
        repeats = (4 if quick else 8) if title == "rippled screen" else 8 if quick else 16
        found = speed.race(title, arrays, repeats=repeats, tell=lambda _: None)
        for target, aim in zip(speed.TARGETS, aims[title], strict=True):
            mine = 1e3 * found.ours.cpu_s[target]
            yield Figure(f"{title}, to {target:.1%}, CPU", mine, "ms", error=mine * found.ours.unsure[target])
            for variant in found.theirs:
                wanted = aim if variant == "scalar_rgb" else 0.5 * aim
                ratio, error = found.ratio(variant, target)
                yield Figure(f"{title}, to {target:.1%}, {variant} over it", ratio, "times", error, wanted, more_is_better=True)
        power, error = speed.exponent(found.ours.trials)
        yield Figure(f"{title}, error as paths to the power", power, "", error=error, aim=-0.75)
        power, error = speed.power_of_time(found.ours)
        yield Figure(f"{title}, 1 to 0.3 %, as CPU time to the power", power, "", error=error)
        power, error = speed.power_at_the_end(found.ours.trials)
        yield Figure(f"{title}, most paths, as CPU time to the power", power, "", error=error)


def sharing(quick: bool) -> Iterator[Figure]:
    """Two threads against one, by wall time, which is true on idle processors alone, and by the CPU time that can be shared."""
    from . import scale

    rounds = 9 if quick else 25
    for name, job in scale.light_jobs().items():
        job(1)
        gains = scale.gains_of_two(job, rounds)
        yield middle_of(f"two threads over one, {name}, wall", gains, "times", aim=1.95, more_is_better=True)
        paper = [scale.on_paper(scale.serial_share(lambda job=job: job(1)), 2) for _ in range(rounds)]  # type: ignore[misc]
        yield middle_of(f"two threads over one, {name}, on paper", paper, "times", aim=1.95, more_is_better=True)


def folding(quick: bool) -> Iterator[Figure]:
    """Folds, warm, on one thread."""
    from . import jobs

    for name, job in jobs.fold_jobs().items():
        job()
        yield middle_of(f"{name}, CPU", [1e3 * cpu_of(job) for _ in range(3 if quick else 7)], "ms")


def cpu_of(job: Callable[[], object]) -> float:
    """CPU seconds of a job in this process."""
    began = time.process_time()
    job()
    return time.process_time() - began


PARTS: dict[str, Callable[[bool], Iterator[Figure]]] = {
    "start": starting,
    "answers": answering,
    "pictures": drawing,
    "folds": folding,
    "transport": racing,
    "threads": sharing,
    "report": reporting,
}
