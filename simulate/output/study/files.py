"""The files of a finished study: results, variants, failures, manifest, pictures; each appears whole, the list of digests last."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from ....scenes.leavings import work_folder
from ...studies.outcome import StudyResult
from ...studies.study import Study
from ...studies.study_indices import METHOD, has_indices, indices_of
from ..csv_text import csv_text
from ..digests import digest_list
from ..measure.document import to_json
from ..own_kind import check_replaceable, kind_called
from ..writing import write_folder
from .document import study_document
from .rows import write_csv, write_parquet

DIGESTS, INDICES, DRAWS = "study.sha256", "indices.csv", "draws.csv"


def names(study: Study, *, parquet: bool, pictures: Iterable[str] = ()) -> list[str]:
    """Names of the files to come."""
    indices = [INDICES] if study.design.method == METHOD and study.drawn else []
    return [
        *indices,
        *([DRAWS] if study.spreads else []),
        "results.parquet" if parquet else "results.csv",
        "variants.csv",
        "failed.csv",
        "study.json",
        DIGESTS,
        *pictures,
    ]


def write_study(
    result: StudyResult, out: Path, *, parquet: bool, pictures: Mapping[str, bytes], inputs: Iterable[Path]
) -> list[str]:
    """All files into the study's folder; their names.

    raises  OSError, NotReplaced as `write_folder`, ImportError where Parquet is asked for and pyarrow is missing
    """
    table = "results.parquet" if parquet else "results.csv"
    out.mkdir(parents=True, exist_ok=True)
    check_replaceable(out, {table: kind_called(table)}, inputs)
    with work_folder(out) as work:
        (write_parquet if parquet else write_csv)(result, work / table)
        with (work / table).open("rb+") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            os.fsync(file.fileno())
        os.replace(work / table, out / table)
    files = {
        "variants.csv": variants_csv(result).encode(),
        "failed.csv": failed_csv(result).encode(),
        **({INDICES: indices_csv(result).encode()} if has_indices(result) else {}),
        **({DRAWS: draws_csv(result.plan.study).encode()} if result.plan.study.spreads else {}),
        **pictures,
        "study.json": to_json(study_document(result)).encode(),
    }
    listed = f"{digest}  {table}\n".encode() + digest_list(files)
    write_folder(out, {**files, DIGESTS: listed}, inputs=inputs)
    return [table, *files, DIGESTS]


def variants_csv(result: StudyResult) -> str:
    """One row a variant: factors, light paths, whether the error was met, content key (empty where it failed)."""
    rows: list[list[object]] = [["variant", *result.factors, "light_paths", "met", "content"]]
    for place, shown in enumerate(result.shown()):
        key = result.keys[place].decode()
        if key:
            part, where = result.store[key]
            rows.append([place + 1, *shown, int(part.paths[where]), bool(part.met[where]), key])
        else:
            rows.append([place + 1, *shown, "", "", ""])
    return csv_text(rows)


def draws_csv(study: Study) -> str:
    """One row a draw, which every combination of levels has alike: for each factor that is spread the share of its spread [1]."""
    spreads = list(study.spreads)
    draws = study.draws()[: study.draws_each, spreads]
    return csv_text(
        [
            ["draw", *(f"share of {study.factors[i].name}" for i in spreads)],
            *([n, *row] for n, row in enumerate(draws.tolist(), 1)),
        ]
    )


def failed_csv(result: StudyResult) -> str:
    """One row a failed variant: factors, and why there are no figures, all that is wrong."""
    shown = result.shown() if result.failed else []
    rows: list[list[object]] = [["variant", *result.factors, "failed"]]
    rows += [[number, *shown[number - 1], why.replace("\n", "; ")] for number, why in result.failed.items()]
    return csv_text(rows)


def indices_csv(result: StudyResult) -> str:
    """Sobol indices: one row a combination of levels, figure and drawn factor; first-order and total, each with its error [1]."""
    study = result.plan.study
    held = [name for i, name in enumerate(result.factors) if i not in study.drawn]
    columns = ("seat", "state", "figure", "factor", "first", "first_standard_error", "total", "total_standard_error")
    rows: list[list[object]] = [[*held, *columns]]
    for each in indices_of(result):
        rows.append([*each.held, *each.row, each.factor, *each.first[:2], *each.total[:2]])
    return csv_text(rows)
