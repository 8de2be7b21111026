"""halfgain: projection screens judged by light simulation. Luminance at every seat, and the contrast that a room leaves.

    import halfgain as hg

    scene = hg.load_scene("light-lounge").with_fabric("pearl").with_finish("ceiling", 0.2)
    print(hg.measure(scene))

What `__all__` names is public and keeps its meaning; all else may move between releases. Names are loaded when first used.
Every error about what was given derives from `halfgain.Error`. Units: metres, degrees, cd/m2, lx, lm; places are [right, out, up].
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from halfgain.checking import check
    from halfgain.fabrics import fabric, fabric_names, finish, finish_names, fit
    from halfgain.hearing import sound
    from halfgain.materials.fabric import Fabric
    from halfgain.materials.finish import Finish
    from halfgain.materials.solving.curve import GainCurve
    from halfgain.materials.solving.fit_report import FitReport
    from halfgain.materials.text.error import Error
    from halfgain.placing import order, place
    from halfgain.progress import Progress, Step
    from halfgain.runs import advise, compare, flatness, measure, open_ledger, save_ledger, trace, warm_up
    from halfgain.scenes.library import scene_names
    from halfgain.scenes.load import load_scene, scene_from_text
    from halfgain.scenes.model import Scene
    from halfgain.seeing import Picture, View, picture, report, view
    from halfgain.serving import serve
    from halfgain.simulate.answers.answers import Answers
    from halfgain.simulate.choices.advice import Advice
    from halfgain.simulate.choices.comparison import Comparison
    from halfgain.simulate.commissioning.check import Check
    from halfgain.simulate.measuring.estimate import Estimate
    from halfgain.simulate.measuring.measure import Measurement
    from halfgain.simulate.measuring.readings import SeatReading
    from halfgain.simulate.ordering.order import Order
    from halfgain.simulate.placing.placement import Placement
    from halfgain.simulate.sound.room import RoomSound
    from halfgain.simulate.studies.outcome import StudyResult
    from halfgain.studying import study

    __version__: str

_HOMES = {
    "halfgain.checking": ("check",),
    "halfgain.fabrics": ("fabric", "fabric_names", "finish", "finish_names", "fit"),
    "halfgain.hearing": ("sound",),
    "halfgain.materials.solving.curve": ("GainCurve",),
    "halfgain.materials.text.error": ("Error",),
    "halfgain.materials.fabric": ("Fabric",),
    "halfgain.materials.finish": ("Finish",),
    "halfgain.materials.solving.fit_report": ("FitReport",),
    "halfgain.placing": ("order", "place"),
    "halfgain.progress": ("Progress", "Step"),
    "halfgain.runs": ("advise", "compare", "flatness", "measure", "open_ledger", "save_ledger", "trace", "warm_up"),
    "halfgain.scenes.library": ("scene_names",),
    "halfgain.scenes.load": ("load_scene", "scene_from_text"),
    "halfgain.scenes.model": ("Scene",),
    "halfgain.seeing": ("Picture", "View", "picture", "report", "view"),
    "halfgain.serving": ("serve",),
    "halfgain.simulate.answers.answers": ("Answers",),
    "halfgain.simulate.choices.advice": ("Advice",),
    "halfgain.simulate.choices.comparison": ("Comparison",),
    "halfgain.simulate.commissioning.check": ("Check",),
    "halfgain.simulate.measuring.estimate": ("Estimate",),
    "halfgain.simulate.measuring.measure": ("Measurement",),
    "halfgain.simulate.measuring.readings": ("SeatReading",),
    "halfgain.simulate.ordering.order": ("Order",),
    "halfgain.simulate.placing.placement": ("Placement",),
    "halfgain.simulate.sound.room": ("RoomSound",),
    "halfgain.simulate.studies.outcome": ("StudyResult",),
    "halfgain.studying": ("study",),
}
_HOME = {name: home for home, names in _HOMES.items() for name in names}

__all__ = [
    "Advice",
    "Answers",
    "Check",
    "Comparison",
    "Error",
    "Estimate",
    "Fabric",
    "Finish",
    "FitReport",
    "GainCurve",
    "Measurement",
    "Order",
    "Picture",
    "Placement",
    "Progress",
    "RoomSound",
    "Scene",
    "SeatReading",
    "Step",
    "StudyResult",
    "View",
    "__version__",
    "advise",
    "check",
    "compare",
    "fabric",
    "fabric_names",
    "finish",
    "finish_names",
    "fit",
    "flatness",
    "load_scene",
    "measure",
    "open_ledger",
    "order",
    "picture",
    "place",
    "report",
    "save_ledger",
    "scene_from_text",
    "scene_names",
    "serve",
    "sound",
    "study",
    "trace",
    "view",
    "warm_up",
]


def __getattr__(name: str) -> Any:
    """A public name from its home, when it is first asked for; then it stands here."""
    if name == "__version__":
        from importlib.metadata import version

        value: Any = version("halfgain")
    elif name in _HOME:
        value = getattr(import_module(_HOME[name]), name)
    else:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
