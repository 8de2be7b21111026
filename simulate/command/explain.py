"""`halfgain explain`: how a seat's luminance and contrast come about, on one page in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from .options import AsJson, ErrorAsked, SceneName, Seed, Threads

if TYPE_CHECKING:
    from ..measuring.measure import Measurement


def explain(
    scene: SceneName,
    seat: Annotated[str, typer.Option("--seat", metavar="NAME", help="The seat, by name or number.")] = "1",
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
    as_json: AsJson = False,
) -> None:
    """One seat's luminance and contrast derived step by step, to say to a client."""
    from ...scenes.load import load_scene
    from .background import interruptible
    from .progress import progress
    from .seats import seat_index
    from .stdout import say

    loaded = load_scene(scene)
    index = seat_index(loaded, seat)
    with progress(scene, error) as report:

        def run() -> Measurement:
            from ..light.workers import default_threads
            from ..measuring.measure import measure

            return measure(loaded, seed=seed, error=error, threads=threads or default_threads(), progress=report)

        measurement = interruptible(run)
    from ..output.measure.explanation import explanation

    text = explanation(measurement, index)
    if not as_json:
        say(text)
        return
    from ..output.measure.document import document, to_json

    whole = document(measurement)
    kept = {
        key: whole[key]
        for key in ("version", "seed", "paths", "error", "scene", "screen", "throw", "warnings", "notes", "cautions")
    }
    say(to_json({"format": "halfgain.explain/1", **kept, "seat": whole["seats"][index], "page": text.splitlines()}))
