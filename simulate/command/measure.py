"""`halfgain measure`: the numbers at every seat, as a table or as JSON, and as files."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .ledger_option import LedgerFile
from .options import AsJson, ErrorAsked, Full, OutFolder, SceneName, Seed, Threads, Verbose
from .stdout import note
from .tolerance_option import ToleranceOf, Tolerances, limits_asked, sureness_of

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from ..measuring.measure import Measurement
    from ..studies.tolerances.sureness import Sureness

Wide = Annotated[bool, typer.Option("--wide", help="With --out also seats-wide.csv: one row a seat and light state.")]


def measure(
    scene: SceneName,
    as_json: AsJson = False,
    out: OutFolder = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
    ledger: LedgerFile = None,
    wide: Wide = False,
    full: Full = False,
    tolerances: Tolerances = False,
    tolerance: ToleranceOf = None,
    verbose: Verbose = False,
) -> None:
    """Luminance, contrast and wash-out at every seat of a scene.

    --tolerances adds how sure the figures are while paint, gain, lumens, contrast and room are only known roughly: bands, what to
    measure better, and how often the best fabric stays the best. --tolerance paint=0.03 --tolerance "lumens=-20 %..0 %" sets them.
    """
    began = time.perf_counter()
    from ...scenes.load import load_scene
    from .background import imported_beside, interruptible
    from .files import check_out
    from .ledger_option import from_ledger
    from .progress import progress
    from .stdout import say

    loaded = load_scene(scene)
    limits = limits_asked(loaded, tolerances, tolerance)
    inputs = [*loaded.files, *([] if ledger is None else [ledger])]
    check_out(out, _names(loaded, wide), inputs, command="measure")
    with progress(scene, error) as report:

        def run() -> Measurement:
            from ..light.workers import default_threads
            from ..measuring.first_run import compiling_beside
            from ..measuring.measure import measure as run_measure

            many = threads or default_threads()
            if ledger is not None:
                return from_ledger(loaded, ledger, error=error, threads=many)
            with compiling_beside(scene, threads=many, tell=_to_stderr) as ready:

                def before_paths() -> None:
                    ready()
                    if many > 1:
                        imported_beside(_for_json if as_json else _for_table)

                return run_measure(loaded, seed=seed, error=error, threads=many, progress=report, before_paths=before_paths)

        measurement = interruptible(run)
    sure = sureness_of(loaded, limits, error=error, seed=seed, threads=threads)
    text = _json(measurement, sure) if as_json else _table(measurement, full, sure)
    if out is not None:
        _write(measurement, out, inputs, wide, sure)
    if not measurement.met:
        reached = f"{100 * measurement.error_reached:.2g} % was reached, {100 * error:.2g} % asked"
        note(f"halfgain: the cap on paths was met before the error: {reached}")
    if verbose:
        note(_summary(measurement, time.perf_counter() - began))
    say(text)


def _to_stderr(text: str) -> None:
    note(f"halfgain: {text}")


def _for_json() -> None:
    from ..output.measure import document  # noqa: F401


def _for_table() -> None:
    from rich import console, table, text  # noqa: F401

    from ..output.measure.table import report  # noqa: F401


def _json(measurement: Measurement, sure: Sureness | None) -> str:
    from ..output.measure.document import document, to_json

    content = document(measurement)
    if sure is not None:
        from ..output.measure.tolerances import tolerances_document

        content["tolerances"] = tolerances_document(sure)
    return to_json(content)


def _table(measurement: Measurement, full: bool, sure: Sureness | None) -> str:
    from ..output.measure.table import report
    from .talk import console

    text = report(measurement, console(), full=full)
    if sure is None:
        return text
    from ..output.measure.tolerances import tolerances_report

    return f"{text}\n{tolerances_report(measurement, sure, console())}"


def _names(scene: Scene, wide: bool) -> list[str]:
    """Names of the files that `_write` will give, known before anything is measured."""
    from ..choices.fold_sight import has_folds
    from ..output.file_names import file_stems

    stems = file_stems(seat.name for seat in scene.seats)
    maps = [f"screen-{stem}.png" for stem in stems]
    folds = [f"folds-{stem}.{ending}" for stem in stems for ending in ("png", "npz")] if has_folds(scene) else []
    return ["measure.json", "seats.csv", *(["seats-wide.csv"] if wide else []), "plan.png", "section.png", *maps, *folds]


def _write(measurement: Measurement, out: Path, inputs: list[Path], wide: bool, sure: Sureness | None) -> None:
    """All files into a folder; says where they are, and which old maps stand beside them."""
    from ..output.folds.document import folds_files
    from ..output.measure.pictures import pictures
    from ..output.measure.seats_csv import seats_csv, seats_wide_csv
    from .files import write_told

    files = {
        "measure.json": _json(measurement, sure).encode(),
        "seats.csv": seats_csv(measurement).encode(),
        **({"seats-wide.csv": seats_wide_csv(measurement).encode()} if wide else {}),
        **pictures(measurement),
        **folds_files(measurement.scene, measurement.folds),
    }
    write_told(out, files, inputs, command="measure", older="screen-*.png")


def _summary(measurement: Measurement, whole_s: float) -> str:
    return (
        f"halfgain: {measurement.paths:,} paths, {measurement.elapsed_s:.2f} s of light and folds, {whole_s:.2f} s in all, "
        f"error reached {100 * measurement.error_reached:.3g} % (asked {100 * measurement.error_asked:.3g} %)"
    )
