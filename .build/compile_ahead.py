"""Machine code of what first commands run, made by running them: no list of kernels is kept, so none can be out of date.

Run by backend.py with a wheel's modules: python compile_ahead.py FOLDER measure|all
Two processes take one job after the other; a kernel that both need is compiled by one while the other waits
(`halfgain.materials.kernels.cache`). Types decide what is compiled, not how finely the light is worked out, so it is coarse.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Hashable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

BOXES = ("long-lounge", "light-lounge")  # a flat screen in grey light, and folds, spilt light and colours
COMMANDS = ("levels", "finishes", "picture --size 64x36 --out seen", "report --out told")  # whose light `measure` has not
COARSE = 0.2  # relative standard error
# put into a box of the library, none of which has any
LAMPS = """
[[lamp]]
name = "bulb of its own"
kind = "bulb"
place_cm = [40, 200, 190]
light_output_lm = 400

[[window]]
name = "window of its own"
surface = "back"
right_cm = [-40, 40]
up_cm = [120, 180]
outdoor_lx = 1000

[[light]]
name = "lit by both"
lamps = { "bulb of its own" = 1.0 }
windows = { "window of its own" = 1.0 }
"""


def jobs(what: str) -> list[Callable[[], object]]:
    """What is run, the longest first."""
    from halfgain.scenes.library import scene_names
    from halfgain.simulate.measuring.first_run import compile_walk

    boxes = [partial(each, scene) for each in (compile_walk, measured) for scene in BOXES]
    if what == "measure":
        return boxes
    scenes = (*BOXES, *(name for name in scene_names() if name not in BOXES))
    measuring = [
        partial(measured, scene, more) for scene, more in (*((each, LAMPS) for each in BOXES), *((each, "") for each in scenes))
    ]
    return [*boxes, *measuring, *(partial(command, scene, each) for scene in scenes for each in COMMANDS)]


def measured(scene: str, more: str = "") -> None:
    """What `halfgain measure` does in a scene of the library, with more in its file."""
    from halfgain.scenes.library import scene_path
    from halfgain.scenes.load import scene_from_text
    from halfgain.simulate.measuring.measure import measure

    measure(scene_from_text(scene_path(scene).read_text(encoding="utf-8") + more, scene), error=COARSE, threads=1)


def command(scene: str, words: str) -> None:
    """What another command does in a scene."""
    from halfgain.simulate.command.commands import run_command

    name, *options = words.split()
    coarse = () if name == "picture" else ("--error", f"{COARSE}")
    if run_command([name, scene, *options, *coarse, "--threads", "1"]):
        raise SystemExit(f"halfgain {name} {scene} did not end well")


def record_into(folder: Path) -> None:
    """Let this process compile for the level that packages are made for, and keep it as a package would."""
    from halfgain.materials.kernels import kernel, packaged
    from halfgain.materials.kernels.cache import Versions

    if not packaged.fits_here():
        raise SystemExit(f"this processor lacks some of what {packaged.LEVEL} has")
    os.environ["NUMBA_CPU_NAME"] = packaged.LEVEL  # read when numba is imported
    os.environ["NUMBA_CPU_FEATURES"] = ",".join(f"+{each}" for each in sorted(packaged.FEATURES))

    class Recorded(Versions):
        def name(self, kinds: Hashable, processor: Hashable) -> str:  # not for this very one
            return super().name(kinds)

        def keep(self, name: str, content: bytes) -> None:
            if content != kernel.NUMBAS:  # nothing for a package: numba compiles it anyway
                super().keep(name, content)

    def recorded(function: Callable[..., Any]) -> Versions | None:
        source = packaged.packaged_source(function.__module__) if function.__closure__ is None else None
        return None if source is None else Recorded(function, folder, source)

    kernel.versions_of = recorded


def write_imports(folder: Path) -> None:
    """What the texts of all modules that were run import, so that no start has to parse them."""
    from halfgain.materials.kernels import cache

    for module in sorted(name for name in sys.modules if name.startswith("halfgain.")):
        cache.text_hash(module)
    if (folder / cache.IMPORTS).exists():  # of the other process
        cache.remember((folder / cache.IMPORTS).read_bytes())
    cache.write_imports(folder)


def do_jobs(folder: Path, what: str) -> None:
    """Do those that the other process has not taken."""
    record_into(folder)
    taken = folder / ".taken"
    taken.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as own:
        os.chdir(own)
        for number, job in enumerate(jobs(what)):
            try:
                (taken / str(number)).touch(exist_ok=False)
            except FileExistsError:
                continue
            job()
        os.chdir(folder)


def main(folder: Path, what: str, rest: Sequence[str]) -> None:
    """Do all jobs with a second process, which ends first."""
    folder.mkdir(exist_ok=True)
    if rest:
        do_jobs(folder, what)
        write_imports(folder)
        return
    other = subprocess.Popen([sys.executable, "-P", __file__, folder, what, "beside"])
    try:
        do_jobs(folder, what)
    finally:
        status = other.wait()
    if status:
        raise SystemExit(f"the other process left with status {status}")
    write_imports(folder)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3:])
