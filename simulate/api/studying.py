"""Studies: many variants of a scene in one table."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfgain.kinds import PROGRESS
from halfgain.one_blas_thread import in_one_blas_thread
from halfgain.progress import Progress, Step
from halfgain.scenes.given import FOLDER, MAPPING, TEXT, YES_NO, Kind, is_file, takes, whole

if TYPE_CHECKING:
    from halfgain.simulate.studies.outcome import StudyResult


@takes(
    study=Kind(lambda value: is_file(value) or MAPPING.fits(value), "a study file's path, or a mapping"),
    out=FOLDER.optional,
    workers=whole(1).optional,
    cluster=TEXT.optional,
    parquet=YES_NO,
    progress=PROGRESS,
)
@in_one_blas_thread
def study(
    study: str | Path | Mapping[str, Any],
    *,
    out: str | Path | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    parquet: bool = False,
    progress: Progress | None = None,
) -> StudyResult:
    """Many variants of one or more scenes, planned so that light is traced once a geometry; the same bits wherever they run.

    Parameters
    ----------
    study : file, or mapping
        A study file, or what it would parse to; in a mapping scenes may be Scenes, values fabrics and finishes::

            hg.study({"scene": "long-lounge", "factor": [{"key": "room.finish.ceiling", "values": [0.05, 0.8]}]})
    out : folder, optional
        Keeps parts as they come and the files of `halfgain study --out`; a run that was killed goes on there.
    workers : int, optional
        Processes of this machine. Left out: as many as the work is worth; a small study runs in this process.
    cluster : str, optional
        Address of a running Dask scheduler, ``"tcp://host:8786"``.
    parquet : bool
        results.parquet in place of results.csv.
    progress : callable, optional
        Called with a `Step` after each job.

    Returns
    -------
    StudyResult
        ``to_frame()`` is tidy, ``to_xarray()`` has a dimension `variant` with the factors along it; `failed` names what failed.

    Raises
    ------
    halfgain.Error
        A study that cannot be, with everything that is wrong; no scheduler; workers of another version.
    ImportError
        dask or pyarrow are asked for and missing.
    """
    from halfgain.scenes.changes import refuse
    from halfgain.simulate.output.study.files import names, write_study
    from halfgain.simulate.output.study.folder import StudyFolder
    from halfgain.simulate.output.study.pictures import picture_names, study_pictures
    from halfgain.simulate.studies.cost import measured_cost
    from halfgain.simulate.studies.engines.choose import engine_for
    from halfgain.simulate.studies.plan import plan_of
    from halfgain.simulate.studies.read import read_study, study_of
    from halfgain.simulate.studies.run import StudyStep, run_study
    from halfgain.simulate.studies.store import Memory

    if workers is not None and workers < 1:
        raise refuse("workers", f"{workers} is no number of processes", allowed="from 1 up")
    read = study_of(study) if isinstance(study, Mapping) else read_study(study)
    folder = None if out is None else Path(out)
    if folder is not None:
        from halfgain.simulate.output.own_kind import check_replaceable, kind_called

        expected = names(read, parquet=parquet, pictures=picture_names(read))
        check_replaceable(folder, {name: kind_called(name) for name in expected}, read.files)
    planned = plan_of(read)
    cost = measured_cost(planned) if workers is None and cluster is None else None
    engine = engine_for(planned, cost, workers=workers, cluster=cluster)
    store = Memory() if folder is None else StudyFolder(folder)

    def tell(now: StudyStep) -> None:
        if progress is not None:
            progress(Step(f"variants, {now.done:,} of {now.whole:,}" + (f", {now.failed:,} failed" if now.failed else "")))

    try:
        result = run_study(planned, engine, store, progress=tell)
    finally:
        engine.close()
    if folder is not None:
        write_study(result, folder, parquet=parquet, pictures=study_pictures(result), inputs=read.files)
    return result
