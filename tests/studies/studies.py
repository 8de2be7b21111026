"""Studies of these tests: small rooms, few variants, and shorthand for running them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from halfgain.simulate.studies.engines.engine import Engine
from halfgain.simulate.studies.engines.here import Here
from halfgain.simulate.studies.outcome import StudyResult
from halfgain.simulate.studies.plan import plan_of
from halfgain.simulate.studies.read import study_of
from halfgain.simulate.studies.run import run_study
from halfgain.simulate.studies.store import Memory, Store

CEILING = {"key": "room.finish.ceiling", "values": [0.05, 0.5, "white ceiling paint"]}
LUMENS = {"key": "projector.light_output_lm", "values": [1000.0, 2000.0]}
FABRIC = {"key": "screen.fabric", "values": ["matt white", "pearl"]}
DEPTH = {"key": "room.depth_m", "values": [6.2, 6.4]}
SEAT = {"key": 'seat."front left".eye_m', "axis": "out", "name": "front left out", "plus_minus": "5 cm"}


def table(*factors: dict[str, Any], scene: Any = "long-lounge", error: float = 0.05, **more: Any) -> dict[str, Any]:
    """A study as a file would parse to."""
    return {"scene": scene, "factor": list(factors), "error": error, **more}


def run(given: dict[str, Any], engine: Engine | None = None, store: Store | None = None) -> StudyResult:
    """A study run here and now."""
    return run_study(plan_of(study_of(given)), engine or Here(), Memory() if store is None else store)


def written(folder: Path, text: str) -> Path:
    """A study file."""
    path = folder / "study.toml"
    path.write_text(text, encoding="utf-8")
    return path
