"""`halfgain study`: many variants of a scene, planned so that light is traced once a geometry, run by many processes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .files import check_out
from .options import AsJson, Folder, out_to
from .stdout import note

if TYPE_CHECKING:
    from ..studies.cost import Cost
    from ..studies.engines.engine import Engine
    from ..studies.outcome import StudyResult
    from ..studies.plan import StudyPlan

MOST_WORKERS = 256
StudyFile = Annotated[Path, typer.Argument(metavar="STUDY.toml", help="A study file.")]
PlanOnly = Annotated[bool, typer.Option("--plan", help="Only say what would be done, and what it costs.")]
AsParquet = Annotated[bool, typer.Option("--parquet", help="results.parquet in place of results.csv; needs pyarrow.")]
Cluster = Annotated[
    str | None, typer.Option("--cluster", metavar="ADDRESS", help="Run on this Dask scheduler; needs dask[distributed].")
]
Out = Annotated[Folder, out_to("results, variants, failures, study.json and pictures")]


def _workers_in_range(value: int | None) -> int | None:
    if value is not None and not 1 <= value <= MOST_WORKERS:
        raise typer.BadParameter(f"{value} is not allowed; allowed 1 to {MOST_WORKERS}")
    return value


Workers = Annotated[
    int | None,
    typer.Option(
        "--workers",
        metavar="N",
        callback=_workers_in_range,
        help=f"Processes, 1 to {MOST_WORKERS}; left out: as many as fit the work.",
    ),
]


def study(
    study_file: StudyFile,
    plan: PlanOnly = False,
    workers: Workers = None,
    cluster: Cluster = None,
    as_json: AsJson = False,
    parquet: AsParquet = False,
    out: Out = None,
) -> None:
    """Many variants of one or more scenes: grids, lists, samples and tolerances over any key of the scene file.

    The plan and its cost are told before anything runs. With --out the run goes on where one that was killed stopped, and finds
    again what an earlier study there has in common with it.
    """
    from ..studies.plan import plan_of
    from ..studies.read import read_study
    from .stdout import say

    read = read_study(study_file)
    if parquet:
        from ..output.study.rows import arrow_or_why

        _needed(arrow_or_why)
    if out is not None:
        from ..output.study.files import names
        from ..output.study.folder import PARTS
        from ..output.study.pictures import picture_names
        from ..output.writing import check_folder

        check_out(out, names(read, parquet=parquet, pictures=picture_names(read)), read.files)
        check_folder(out / PARTS)
    planned = plan_of(read)
    engine = _engine(planned, workers, cluster, out, as_json=as_json, only=plan)
    if plan or engine is None:
        return
    result = _run(planned, engine, out)
    text = _told(result, as_json)
    if out is not None:
        from ...materials.text.plain import plain_path
        from ..output.study.files import write_study
        from ..output.study.pictures import study_pictures

        written = write_study(result, out, parquet=parquet, pictures=study_pictures(result), inputs=read.files)
        note(f"halfgain: wrote {len(written)} files to {plain_path(out)}: {', '.join(written)}; parts beside them in parts")
    say(text)


def _needed(ask: object) -> None:
    """Turns a package that is missing into a clear line. raises BadInput"""
    from .errors import BadInput

    try:
        ask()  # type: ignore[operator]
    except ImportError as fault:
        raise BadInput(str(fault)) from None


def _engine(
    planned: StudyPlan, workers: int | None, cluster: str | None, out: Path | None, *, as_json: bool, only: bool
) -> Engine | None:
    """Tell the plan and its cost, and choose where it runs; None where only the plan was asked for."""
    from ..output.study.table import plan_report
    from ..studies.cost import measured_cost
    from .background import interruptible
    from .stdout import say
    from .talk import console

    cost = interruptible(lambda: measured_cost(planned))
    engine = _where(planned, cost, workers, cluster)
    kept = 0
    if out is not None and (out / "parts").is_dir():
        from ..output.study.folder import StudyFolder as Kept

        kept = len(Kept(out))
    if only and as_json:
        from ..output.measure.document import to_json
        from ..output.study.document import plan_document

        document = plan_document(planned)
        document["cost"] = (
            None if cost is None else {"worker_s": cost.of(planned.counts), **{f"{k}_s": v for k, v in cost._asdict().items()}}
        )
        say(to_json({"format": "halfgain.study-plan/1", **document}))
        return None
    text = plan_report(planned, cost, engine.workers, console(), kept=kept)
    if only:
        say(text)
        return None
    for told in text.splitlines():
        note(told)
    return engine


def _where(planned: StudyPlan, cost: Cost | None, workers: int | None, cluster: str | None) -> Engine:
    """The engine. raises BadInput where no scheduler answers, or dask is missing"""
    from ..studies.engines.choose import engine_for
    from ..studies.job import StudyError
    from .errors import BadInput

    try:
        return engine_for(planned, cost, workers=workers, cluster=cluster)
    except (StudyError, ImportError) as fault:
        raise BadInput(str(fault)) from None


def _run(planned: StudyPlan, engine: Engine, out: Path | None) -> StudyResult:
    from ..output.study.folder import StudyFolder as Kept
    from ..studies.job import StudyError
    from ..studies.run import StudyStep, run_study
    from ..studies.store import Memory
    from .background import interruptible
    from .errors import BadInput
    from .progress import stages

    store = Memory() if out is None else Kept(out)
    if isinstance(store, Kept) and store.damaged:
        note(f"halfgain: parts that are damaged are done again: {', '.join(store.damaged[:3])}")
    with stages(planned.study.title) as tell:

        def step(now: StudyStep) -> None:
            left = f", {_left(now.left_s)} left" if now.left_s == now.left_s else ""
            failed = f", {now.failed:,} failed" if now.failed else ""
            tell(f"{now.done:,} of {now.whole:,} variants{failed}{left}")

        try:
            return interruptible(lambda: run_study(planned, engine, store, progress=step))
        except StudyError as fault:
            raise BadInput(str(fault)) from None
        finally:
            engine.close()


def _left(seconds: float) -> str:
    if seconds < 90.0:
        return f"{max(1.0, seconds):.0f} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 5400.0 else f"{seconds / 3600.0:.1f} h"


def _told(result: StudyResult, as_json: bool) -> str:
    if as_json:
        from ..output.measure.document import to_json
        from ..output.study.document import study_document

        return to_json(study_document(result))
    from ..output.study.table import study_report
    from .talk import console

    return study_report(result, console())
