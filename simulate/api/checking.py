"""A finished room against its scene."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfgain.kinds import PROGRESS, SCENE
from halfgain.one_blas_thread import in_one_blas_thread
from halfgain.progress import Progress
from halfgain.runs import AnyScene, as_scene, checked, threads_or
from halfgain.scenes.given import THREADS, Kind, is_file, is_list, takes
from halfgain.simulate.light.progress import say

if TYPE_CHECKING:
    from halfgain.simulate.answers.answers import Answers
    from halfgain.simulate.commissioning.check import Check
    from halfgain.simulate.commissioning.site_reading import SiteReadings


@takes(
    scene=Kind(lambda value: SCENE.fits(value) or hasattr(value, "stage"), f"{SCENE.allowed}, or Answers"),
    readings=Kind(
        lambda value: is_file(value) or is_list(value) or hasattr(value, "to_dict"),
        "a CSV file's path, a data frame or a list of mappings",
    ),
    threads=THREADS,
    progress=PROGRESS,
)
@in_one_blas_thread
def check(
    scene: AnyScene | Answers,
    readings: str | Path | Iterable[Mapping[str, Any]] | Any,
    *,
    seed: int = 1,
    error: float = 0.005,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Check:
    """Readings of a finished room against its scene: which agree, what explains the rest and how surely, and the scene as built.

    Parameters
    ----------
    scene : Scene, or name or file of one, or Answers from `trace` or `open_ledger`
    readings : file, data frame or rows
        A CSV file, a pandas frame, or mappings with its columns: picture, place, seat, light, value, unit ("lx", "fc",
        "cd/m2", "fL"), calibration_percent, repeat_percent (both +- at 95 %), note. Only picture, value and unit must be there.
    seed, error, threads, progress
        As for `measure`; of Answers, their own seed and threads.

    Returns
    -------
    Check
        `compared` reading by reading, `estimates` with intervals, `pairs` that these readings cannot tell apart,
        `corrected` the scene as built.

    Raises
    ------
    halfgain.Error
        A scene that cannot be, or readings that mean nothing, with every row that is wrong.
    """
    from halfgain.simulate.answers.answers import Answers
    from halfgain.simulate.commissioning.check import check as run

    checked(seed, error)
    loaded = scene.scene if isinstance(scene, Answers) else as_scene(scene)
    site = _site(readings, loaded)
    say(progress, "light paths")
    if isinstance(scene, Answers):
        answers = scene
    else:
        from halfgain.simulate.measuring.solver import map_cells

        answers = Answers.of(loaded, seed=seed, paths=32, threads=threads_or(threads), cells=map_cells(error))
    found = answers.precise(error).answers
    say(progress, "what explains the readings")
    return run(found, site)


def _site(readings: Any, scene: Any) -> SiteReadings:
    from halfgain.simulate.commissioning.readings_csv import read_site_csv, read_site_rows

    if isinstance(readings, str | Path):
        return read_site_csv(Path(readings), scene)
    return read_site_rows(readings.to_dict("records") if hasattr(readings, "to_dict") else readings, scene)
