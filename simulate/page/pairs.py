"""What stands before and after the slider: flat against folded, one finish or fabric against another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ...materials.dataclass import dataclass
from ...scenes.changes import Change, refuse
from ...scenes.cloth.hanging import Hang
from ...scenes.cloth.surface import LEVELS, Drape, Level, cloth_of
from ...scenes.errors import SceneError, SceneErrors
from ...scenes.model import Light, Scene
from ..answers.repaint_order import RepaintStep
from ..choices.axes import AS_IS, Axis, Setting
from ..choices.fold_sight import has_folds
from ..choices.variants import VariantText

MOST_PAIRS = 6
FOLDS, OTHER = "folds", "other"


@dataclass(frozen=True)
class PageView:
    """One side of the slider: its name, the scene it shows, and the level of the folds' estimate where it is one of several."""

    label: str
    scene: Scene
    level: str | None = None


@dataclass(frozen=True)
class BeforeAfter:
    """A before and one or more afters.

    kind     FOLDS: pictures of a calm gradient, after at each shape of the cloth; OTHER: pictures of the checkerboard
    title    heading on the page;  about  one sentence for the client
    light    light state of the pictures; None: dark
    measure  the two scenes whose figures are compared on the same light paths
    """

    kind: str
    title: str
    about: str
    before: PageView
    after: tuple[PageView, ...]
    light: Light | None
    measure: tuple[Scene, Scene]


def pairs_of_axes(document: VariantText, axes: Sequence[Axis]) -> list[BeforeAfter]:
    """A pair for each further choice of an axis against its first one, everything else as the scene stands.

    raises SceneErrors with all that the loader refuses, or for more pairs than a page holds
    """
    found: list[BeforeAfter] = []
    errors: list[SceneError] = []
    for axis in axes:
        sides = []
        for choice in axis.choices:
            try:
                sides.append(PageView(_label(document, axis, choice), document.with_changes(choice.changes, choice.label)))
            except SceneErrors as fault:
                errors += [each for each in fault.errors if str(each) not in {str(other) for other in errors}]
        if len(sides) == len(axis.choices):
            found += [_pair(axis, sides[0], side, choice) for side, choice in zip(sides[1:], axis.choices[1:], strict=True)]
    if errors:
        raise SceneErrors(errors)
    if len(found) > MOST_PAIRS:
        raise refuse("halfgain", f"{len(found)} comparisons are too many for one page", allowed=f"at most {MOST_PAIRS}")
    return found


def _label(document: VariantText, axis: Axis, choice: Setting) -> str:
    """A choice's name; the scene as it stands is named by what it has there."""
    scene, name = document.scene, axis.name
    if choice.label != AS_IS:
        return choice.label
    if name in ("fabric", "screen.fabric"):
        return scene.screen.fabric.name
    if name in ("hang", "screen.hang"):
        return scene.screen.hang
    finish = scene.room.finishes.get(name)
    return "as it stands" if finish is None else finish.name


def _pair(axis: Axis, before: PageView, after: PageView, choice: Setting) -> BeforeAfter:
    if any(change.path[:2] in (("screen", "hang"), ("screen", "fold"), ("screen", "hanging")) for change in choice.changes):
        return folds_pair(before, after)
    surface = axis.name in after.scene.room.finishes
    light = _light(choice.changes, after.scene)
    what = "Fabric" if axis.name in ("fabric", "screen.fabric") else axis.name.rsplit(".", 1)[-1].replace("_", " ")
    what = surface_words(axis.name) if surface else what
    state = "" if light is None else f", with {light.name}"
    hung = " The cloth is drawn flat; the figures are for its typical folds." if has_folds(after.scene) else ""
    return BeforeAfter(
        OTHER,
        f"{what[:1].upper()}{what[1:]}: {before.label} against {after.label}",
        f"The same checkerboard picture, seen from the same seat{state}; both sides are shown with the same exposure.{hung}",
        before,
        (after,),
        light,
        (before.scene, after.scene),
    )


def surface_words(surface: str) -> str:
    """A surface's name in a sentence: "left wall", "ceiling"."""
    return f"{surface} wall" if surface in ("front", "back", "left", "right") else surface


def _light(changes: Sequence[Change], scene: Scene) -> Light | None:
    """The light state that a change is about; None where it is about something else."""
    named = {change.path[1] for change in changes if change.path[:1] == ("light",) and len(change.path) > 1}
    return next((light for light in scene.lights if light.name in named), None)


def folds_pair(before: PageView, after: PageView) -> BeforeAfter:
    """Two hangs on a calm light grey picture, the second at each shape its cloth may have."""
    shapes = _shapes(after)
    about = "A calm light grey picture, which hides nothing: the hardest test for a screen that is not flat."
    if len(shapes) > 1:
        about += f" The cloth of a {after.label} screen is estimated at a low, a typical and a high shape."
    return BeforeAfter(
        FOLDS, f"Hang: {before.label} against {after.label}", about, before, shapes, None, (before.scene, after.scene)
    )


def _shapes(view: PageView) -> tuple[PageView, ...]:
    """The shapes that a view's cloth may have: one where it is flat or its folds are stated, else three."""
    scene = view.scene
    if scene.screen.drape.folds or not has_folds(scene):
        return (PageView(view.label, scene),)
    return tuple(PageView(f"{level} folds", at_level(scene, level), level) for level in LEVELS)


def at_level(scene: Scene, level: Level) -> Scene:
    """The scene with its cloth at a level of the estimate, stated as folds; flat where the level has none. Source: `cloth_of`."""
    folds = cloth_of(scene.screen, level).folds
    drape = replace(scene.screen.drape, folds=folds) if folds else Drape()
    return replace(scene, screen=replace(scene.screen, drape=drape))


def flat(scene: Scene) -> Scene:
    """The scene with a flat cloth, on a fixed frame."""
    return replace(scene, screen=replace(scene.screen, hang=Hang.FIXED_FRAME, drape=Drape()))


def usual_pairs(document: VariantText, first_step: RepaintStep | None, fabric: str) -> list[BeforeAfter]:
    """What a page shows when nothing was asked for.

    The scene's own folds against a flat cloth, the surface to repaint first, the fabric that the advice would take; and
    for a scene that has none of these what a roll-up screen would do.
    """
    scene = document.scene
    found = []
    if has_folds(scene):
        found.append(folds_pair(PageView("flat cloth", flat(scene)), PageView(scene.screen.hang, scene)))
    if first_step is not None:
        path, name = ("room", "finish", first_step.surface), first_step.finish.name
        painted = document.with_changes((Change(path, name, "repaint"),), name)
        axis = Axis(first_step.surface, ())
        found.append(_pair(axis, PageView(first_step.before.name, scene), PageView(name, painted), Setting(name)))
    if fabric != scene.screen.fabric.name:
        other = document.with_changes((Change(("screen", "fabric"), fabric, "fabric"),), fabric)
        found.append(
            _pair(Axis("fabric", ()), PageView(scene.screen.fabric.name, scene), PageView(fabric, other), Setting(fabric))
        )
    if not found:
        change = (Change(("screen", "hang"), Hang.MOTORISED, "hang"), Change(("screen", "fold"), [], "hang"))
        found.append(
            folds_pair(PageView(scene.screen.hang, scene), PageView(Hang.MOTORISED, document.with_changes(change, "motorised")))
        )
    return found
