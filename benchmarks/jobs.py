"""What is timed when two commits run in turn: short pieces of the work that users wait for, warm, on one thread, by group and name.

A group is made when it is first asked for; what it makes on the way is not timed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Job = Callable[[], Any]


def light_jobs() -> dict[str, Job]:
    """Map, trace and walk of the rooms of `speed`: all of it at about 1 %, and each part alone."""
    from halfgain.simulate.light.ledger import trace
    from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

    from . import speed

    found: dict[str, Job] = {}
    for title, arrays in speed.rooms().items():
        points = speed.nine(measuring_points(arrays))
        ready = prepare(arrays, points)

        def whole(arrays: Any = arrays, points: Any = points) -> None:
            traced_sums(prepare(arrays, points, cells=16), seed=1, low_path=0, paths=512, replications=1)

        def alone(arrays: Any = arrays, ready: Any = ready) -> None:
            trace(arrays.geometry, ready.starts, seed=1, replications=1, low_path=0, paths=512, survival=ready.survival)

        found[f"{title}, to about 1 %"] = whole
        found[f"{title}, map"] = lambda arrays=arrays, points=points: prepare(arrays, points, cells=16)
        found[f"{title}, trace"] = alone
    return found


def answer_jobs() -> dict[str, Job]:
    """Answers from a kept ledger, as in `repaint`."""
    from halfgain.scenes.load import load_scene

    from . import repaint

    return {name: run for name, (run, _) in repaint.jobs_of(load_scene("long-lounge"), 64).jobs.items()}


def picture_jobs() -> dict[str, Job]:
    """A seat's picture of a light room, 480 x 270: set-up and picture."""
    from halfgain.scenes.load import load_scene
    from halfgain.simulate.views.content import load_content
    from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

    scene, content = load_scene("long-lounge"), load_content("white", 16 / 9)
    camera, stage = seat_camera(scene, 1, width=480, height=270), set_the_stage(scene, content)
    return {"seat picture, set-up": lambda: set_the_stage(scene, content), "seat picture": lambda: seat_picture(stage, camera)}


def lamp_jobs() -> dict[str, Job]:
    """Light of lamps: onto the cloth, by one reflection, along the paths."""
    from halfgain.scenes.load import scene_from_text
    from halfgain.simulate.measuring.flatten import flatten
    from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

    from tests.lamps.lit_scene import lit

    arrays = flatten(scene_from_text(lit()))
    points = measuring_points(arrays)
    ready = prepare(arrays, points)
    return {
        "lamps, onto the cloth": lambda: measuring_points(arrays),
        "lamps, along paths": lambda: traced_sums(ready, seed=1, low_path=0, paths=32, replications=2),
    }


def fold_jobs() -> dict[str, Job]:
    """Folds as a seat sees them, and verdicts."""
    from halfgain.scenes.load import load_scene
    from halfgain.simulate.folds.readings import fold_readings

    scene = load_scene("light-lounge")
    return {"fold readings": lambda: fold_readings(scene, [40.0] * len(scene.seats))}


GROUPS: dict[str, Callable[[], dict[str, Job]]] = {
    "light": light_jobs,
    "answers": answer_jobs,
    "pictures": picture_jobs,
    "lamps": lamp_jobs,
    "folds": fold_jobs,
}
