"""study.json: what was studied, how, with which versions, and what came of it; every file of the folder hangs on it."""

from __future__ import annotations

import platform
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from ...measuring.quantities import BY_KEY
from ...studies.factors import Factor, LevelFactor
from ...studies.moves import Moves
from ...studies.outcome import StudyResult
from ...studies.plan import PART, StudyPlan

FORMAT = "halfgain.study/1"
_PACKAGES = ("halfgain", "numpy", "numba", "scipy")
MOVES_WORDS = {
    Moves.PAINT: "nothing: answered from the light paths that are there",
    Moves.FABRIC: "the fabric: the same light paths, put in anew",
    Moves.PLACES: "seats or lens: the same light paths, a new map",
    Moves.PATHS: "walls, things or cloth: light paths of its own",
}
MOVES_CODES = {Moves.PAINT: "paint", Moves.FABRIC: "fabric", Moves.PLACES: "places", Moves.PATHS: "paths"}


def study_document(result: StudyResult) -> dict[str, Any]:
    """The manifest as plain dictionaries, lists and numbers. Nothing in it depends on where or in which order variants ran, but `run`."""
    study = result.plan.study
    done = sum(1 for key in result.keys if key)
    return {
        "format": FORMAT,
        "versions": versions(),
        "code_sha256": result.plan.ask.code,
        **plan_document(result.plan),
        "study": {"file": study.name, "sha256": study.sha256},
        "variants": {
            "count": len(result.keys),
            "with_figures": done,
            "failed": len(result.failed),
            "equal_to_another": result.same,
        },
        "run": {"elapsed_s": result.elapsed_s, "kept_from_before": result.known},
    }


def plan_document(plan: StudyPlan) -> dict[str, Any]:
    """What a plan is: factors, design, scenes, outputs, and what has to be made."""
    study, counts = plan.study, plan.counts
    return {
        "title": study.title,
        "seed": study.seed,
        "error": study.error,
        "design": {
            "combine": study.design.combine, "method": study.design.method, "samples": study.design.samples, "seed": study.design.seed
        },
        "scenes": [
            {"name": base.name, "title": base.document.scene.title, "sha256": base.document.scene.sha256} for base in study.bases
        ],
        "factors": [_factor(factor, moves) for factor, moves in zip(study.factors, plan.moves, strict=True)],
        "outputs": [{"key": key, "title": BY_KEY[key].title, "unit": BY_KEY[key].unit, "better": BY_KEY[key].better} for key in study.outputs],
        "plan": {
            "variants": counts.variants, "geometries": counts.paths, "places": counts.places, "fabrics": counts.fabrics,
            "variants_a_job": PART, "survival": plan.ask.survival,
        },
    }  # fmt: skip


def _factor(factor: Factor, moves: Moves) -> dict[str, Any]:
    own: dict[str, Any] = {"name": factor.name, "moves": MOVES_CODES[moves]}
    if isinstance(factor, LevelFactor):
        return {**own, "kind": "levels", "levels": list(factor.shown)}
    keys = [".".join(path) for path in factor.paths]
    if factor.range is not None:
        return {**own, "kind": factor.kind, "keys": keys, "low": factor.range[0], "high": factor.range[1]}
    ends = {"from": f"{factor.low.value:g}{factor.low.unit}", "to": f"{factor.high.value:+g}{factor.high.unit}"}
    return {**own, "kind": factor.kind, "keys": keys, "about": "the scene's" if factor.value is None else factor.value, **ends}


def versions() -> dict[str, str]:
    """Versions of what makes the figures, and of Python."""
    found = {"python": platform.python_version(), "machine": platform.machine()}
    for name in _PACKAGES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found
