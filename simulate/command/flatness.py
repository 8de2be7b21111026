"""`halfgain flatness`: how flat the screen must be for every seat of a scene."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from .files import check_out, write_told
from .options import AsJson, Folder, SceneName, Threads, out_to

if TYPE_CHECKING:
    from ..folds.flatness import Flatness
    from ..folds.multiples import Multiple
    from ..light.progress import Step

Out = Annotated[Folder, out_to("flatness.json, flatness.csv, flatness.png and fold-multiples.png")]


def flatness(scene: SceneName, as_json: AsJson = False, out: Out = None, threads: Threads = None) -> None:
    """The largest amplitude of waves in the cloth that no seat sees, by wavelength and direction."""
    from ...scenes.load import load_scene
    from .background import interruptible
    from .progress import stages
    from .stdout import say

    loaded = load_scene(scene)
    check_out(out, ("flatness.json", "flatness.csv", "flatness.png", "fold-multiples.png"), loaded.files, command="flatness")

    def run() -> tuple[Flatness, list[Multiple]]:
        from ..folds.flatness import flatness as find
        from ..folds.multiples import multiples
        from ..light.workers import default_threads
        from ..measuring.flat_white import flat_white

        many = threads or default_threads()
        white = flat_white(loaded)
        found = find(loaded, white, threads=many, progress=told)
        return found, [] if out is None else multiples(loaded, white, threads=many, progress=told)

    with stages(scene) as tell:

        def told(step: Step) -> None:
            tell(str(step))

        found, others = interruptible(run)
    from ..output.folds.flatness_chart import flatness_chart, multiples_chart
    from ..output.folds.flatness_outputs import flatness_csv, flatness_document, flatness_report
    from ..output.measure.document import to_json
    from .talk import console

    document = to_json(flatness_document(loaded, found))
    if out is not None:
        files = {
            "flatness.json": document.encode(),
            "flatness.csv": flatness_csv(found).encode(),
            "flatness.png": flatness_chart(loaded.title, found),
            "fold-multiples.png": multiples_chart(loaded.title, [seat.name for seat in loaded.seats], others),
        }
        write_told(out, files, loaded.files, command="flatness")
    say(document if as_json else flatness_report(loaded, found, console()))
