"""What the client's page, advice and a comparison cost: python -m benchmarks.report [--other PYTHON] [--scene SCENE] [--rounds N].

CPU seconds of `halfgain report`, `advise` and `compare` with two threads, start and imports included, the kernels compiled before. With
--other the same of another release, by the interpreter that has it, in turn: read the ratio, since other work on the machine slows both.
Then, in this process, what seat pictures save that share their rays.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from .start_up import Used, timed

COMMANDS = {
    "page": ("report",),
    "advice": ("advise",),
    "comparison": ("compare", "--fabric", "matt white", "--fabric", "pearl", "--finish", "back=0.1", "--finish", "back=0.8"),
}


def page(python: str, scene: str) -> Used:
    """What one page takes, by the entry point of the command line, which asks for linear algebra on one thread."""
    return spent_on("page", python, scene)


def spent_on(what: str, python: str, scene: str) -> Used:
    """What one of COMMANDS takes on a scene, its files written."""
    name, *more = COMMANDS[what]
    with tempfile.TemporaryDirectory() as folder:
        return timed([name, scene, *more, "--threads", "2", "--out", str(Path(folder) / "page")], python=python)


def pictures_cpu(scene_name: str) -> tuple[float, float]:
    """CPU time [s] of one seat's pictures of three stages of one room: one by one, and sharing rays."""
    from halfgain.scenes.load import load_scene
    from halfgain.simulate.views.alike import seat_pictures_alike
    from halfgain.simulate.views.content import load_content
    from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

    scene = load_scene(scene_name).with_hang("fixed frame")
    painted = scene.with_finish("ceiling", 0.05)
    stages = [set_the_stage(scene, load_content(name, 16 / 9)) for name in ("gradient", "checkerboard")]
    stages.append(set_the_stage(painted, load_content("checkerboard", 16 / 9)))
    camera = seat_camera(scene, 0, width=672, height=378)
    seat_pictures_alike(stages, camera)  # compiled and warm
    start = time.process_time()
    for stage in stages:
        seat_picture(stage, camera)
    apart = time.process_time() - start
    start = time.process_time()
    seat_pictures_alike(stages, camera)
    return apart, time.process_time() - start


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--other", help="interpreter of another release")
    parser.add_argument("--scene", default="light-lounge")
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args()
    who = {"this": sys.executable} | ({"other": asked.other} if asked.other else {})
    for what in COMMANDS:
        for python in who.values():
            spent_on(what, python, asked.scene)  # compiles
        for _ in range(asked.rounds):
            spent = {name: spent_on(what, python, asked.scene).cpu_s for name, python in who.items()}
            ratio = f"; other over this {spent['other'] / spent['this']:.2f}" if "other" in spent else ""
            print(f"{what}, CPU s: " + ", ".join(f"{name} {s:.1f}" for name, s in spent.items()) + ratio, flush=True)
    for _ in range(asked.rounds):
        apart, together = pictures_cpu(asked.scene)
        print(
            f"three pictures of a seat, CPU s: one by one {apart:.2f}, together {together:.2f}; ratio {apart / together:.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
