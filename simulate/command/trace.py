"""`halfgain trace`: the light paths of a scene, kept in a file that answers for other finishes, fabrics and pictures."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import AsJson, ErrorAsked, SceneName, Seed, Threads, place_to_write
from .stdout import note

LedgerOut = Annotated[
    Path, typer.Option("--ledger", metavar="FILE", help="Where to keep the light paths (.npz).", parser=place_to_write)
]


def _reflectance(value: float) -> float:
    from ..answers.trace import LIGHTEST

    if not 0.0 < value <= LIGHTEST:
        raise typer.BadParameter(f"{value:g} is not allowed; allowed above 0 to {LIGHTEST}")
    return value


Lightest = Annotated[
    float,
    typer.Option(
        "--lightest",
        metavar="R",
        callback=_reflectance,
        help="The lightest finish to be tried later; light paths go on long enough for it.",
    ),
]


def trace(
    scene: SceneName,
    ledger: LedgerOut,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    lightest: Lightest = 0.85,
    threads: Threads = None,
    as_json: AsJson = False,
) -> None:
    """Trace a scene's light paths once and keep them.

    measure, finishes and levels then answer from the file for any finish, fabric, light output, contrast, lamps, picture,
    seats or lens; what moves light paths (room, objects, screen, raster, folds; with folds the lens) is refused.
    """
    from ...scenes.load import load_scene
    from ..output.own_kind import LEDGER
    from ..output.writing import write_file
    from .background import interruptible
    from .files import check_file
    from .progress import stages
    from .stdout import say

    loaded = load_scene(scene)
    check_file(ledger, LEDGER, loaded.files)

    def run() -> tuple[bytes, dict[str, float]]:
        from ..answers.ledger_file import to_bytes
        from ..answers.trace import traced_answers
        from ..light.workers import default_threads

        answers = traced_answers(loaded, seed=seed, error=error, lightest=lightest, threads=threads or default_threads())
        kept = answers.stage.kept
        data = to_bytes(kept)
        return data, {"paths": kept.paths, "bytes": len(data), "survival": kept.survival}

    with stages(f"{scene}, light paths") as told:
        told("tracing")
        data, found = interruptible(run)
    write_file(ledger, data, inputs=loaded.files)
    each = found["bytes"] / found["paths"]
    note(f"halfgain: wrote {ledger}: {found['paths']:,} paths, {each:.0f} bytes each, survival {found['survival']:g}")
    if as_json:
        from ..output.measure.document import to_json

        head = {"format": "halfgain.trace/1", "scene": {"title": loaded.title, "sha256": loaded.sha256}, "ledger": str(ledger)}
        say(to_json({**head, **found, "seed": seed, "error_asked": error, "lightest": lightest}))
