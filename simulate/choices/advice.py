"""Advice on hang and fabric: measured evidence, trade rules beside it, a set of good choices, and what would change them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ...materials.fabric import Fabric
from ...materials.library import load_library
from ...materials.text.nearest import nearest
from ...scenes.changes import Change
from ...scenes.cloth.hanging import Hang
from ...scenes.errors import SceneError, SceneErrors
from ...scenes.model import Scene
from ..answers.allowed import default_allowed
from ..answers.answers import Answers
from ..answers.repaint import surface_areas
from ..answers.repaint_order import repaint_order
from ..answers.through_cloth import as_backed
from ..light.progress import Progress
from ..measuring.measure import Measurement
from .advised import Advice, HangAdvice, Repaint
from .aims import Aim, FabricEvidence, aims_of, beats, gather, pareto, roles_of
from .choosing import FabricOnHang, pair_for, weighed
from .flips import AmbientFlip, ambient_flip, class_limits, lumens_for
from .floors import Floor, Shortfall, by_make, by_measure, hangs_for, serving
from .fold_sight import without_estimates
from .hangs import hang_advice
from .rules import RuleInputs, every_rule, rules_for
from .together import Paired, measure_together
from .variants import VariantText
from .wishes import Wishes

NO_SHEETS = ("perfect diffuser", "painted white wall")  # in the library, yet nothing that hangs


def known_fabrics(document: VariantText) -> Mapping[str, Fabric]:
    """The built-in fabrics with those of the scene's own library files. raises LibraryErrors where such a file is wrong"""
    return load_library([document.folder / name for name in document.table.get("libraries", [])]).fabrics


def candidates(
    document: VariantText, names: Sequence[str], wishes: Wishes
) -> tuple[dict[str, Fabric], dict[str, tuple[Shortfall, ...]]]:
    """Fabrics to look at (the user's list, else the whole library and the scene's own) and those that cannot be, with the reason.

    raises SceneErrors for unknown names, with the nearest spelling
    """
    library = known_fabrics(document)
    errors = []
    for name in names:
        if name not in library:
            near = nearest(name, library)
            hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
            errors.append(SceneError("--fabric", 0, "", name, f"is no fabric of the library{hint}"))
    if errors:
        raise SceneErrors(errors)
    chosen = {name: library[name] for name in names or library if names or name not in NO_SHEETS}
    if not names:
        chosen.setdefault(document.scene.screen.fabric.name, document.scene.screen.fabric)
    short = {name: by_make(document.scene, fabric, wishes) for name, fabric in chosen.items()}
    return {name: fabric for name, fabric in chosen.items() if not short[name]}, {name: why for name, why in short.items() if why}


def advise(
    document: VariantText,
    wishes: Wishes,
    *,
    fabrics: Sequence[str] = (),
    seed: int = 1,
    error: float = 0.01,
    threads: int = 1,
    progress: Progress | None = None,
    answers: Answers | None = None,
    all_folds: bool = True,
) -> Advice:
    """Advice for a scene: every fabric measured flat in this room on the same light paths, every hang's folds judged.

    fabrics   names to choose among; none: the library;  error  asked relative standard error of each fabric's figures [1]
    progress  called after each round of the main measurement with a Step: the paths so far and the worst error reached [1]
    answers   a ledger of the scene, for what to repaint; None: one is traced
    all_folds  False: the folds of hangs are judged with the balanced fabric alone, not with every listed one
    raises    SceneErrors for unknown fabrics, or where none is left
    Source: evidence from together.py, aims.py and fold_sight.py; rules from rules.py.
    """
    chosen, short = candidates(document, fabrics, wishes)
    if not chosen:
        raise SceneErrors([_none_left(short)])
    scenes = {name: _flat(document, name, fabric) for name, fabric in chosen.items()}
    paired = measure_together(list(scenes.values()), seed=seed, error=error, threads=threads, progress=progress)
    lux = _lux_of_states(paired[0].measurement)
    aims = aims_of(sorted(lux, key=lambda name: lux[name]))
    evidence = [gather(name, each, aims) for name, each in zip(scenes, paired, strict=True)]
    short |= {each.name: missed for each in evidence if (missed := by_measure(each, aims))}
    serve, waived = serving(evidence, short)
    good = pareto(serve, aims)
    middle = weighed(good, aims, wishes)
    roles = roles_of(good, middle, aims)
    listed = [each for each in good if each.name in roles]
    hangs = hang_advice(document, listed if all_folds else [middle], wishes, threads)
    facts = _facts(document.scene, wishes, evidence, aims, hangs, middle)
    return Advice(
        scene=document.scene,
        wishes=wishes,
        aims=tuple(aims),
        evidence=tuple(evidence),
        good=tuple(each.name for each in good),
        balanced=middle.name,
        roles=roles,
        beaten=_beaten(serve, good, aims),
        short=short,
        waived=waived,
        pairs={each.name: _pair(each, hangs, document.scene.screen.hang, wishes) for each in (listed if all_folds else [middle])},
        hangs=tuple(hangs),
        rules=tuple(rules_for(facts)),
        silent_rules=tuple(found for found in every_rule(facts) if not found.applies),
        flips=_flips(good, listed, aims),
        limits={each.name: class_limits(each) for each in listed},
        lumens={each.name: lumens_for(each, each.value(aims[0])) for each in listed},
        repaint=_repaint(document, listed, aims, answers, wishes, seed=seed, error=error, threads=threads),
        facts=facts,
    )


def _none_left(short: Mapping[str, Sequence[Shortfall]]) -> SceneError:
    """The complaint where no fabric can be here: the first floor that each misses, and which fabrics would do."""
    first = next(iter(short.values()))[0].floor
    if all(why[0].floor is first for why in short.values()) and first in _ALLOWED:
        return SceneError("--fabric", 0, "", list(short), *_ALLOWED[first])
    return SceneError(
        "--fabric", 0, "", list(short), "none of these can be here", "fabrics without louvres, with an open area where asked"
    )


_ALLOWED = {
    Floor.NO_OPEN_AREA: ("none of these lets sound pass", "fabrics with an open area (perforated or woven)"),
    Floor.WRONG_SIDE: (
        "the projector lights all of these from their dark side",
        "fabrics without louvres, or with louvres for that side",
    ),
    Floor.NO_HANG: ("none of these is made for a hang that is possible here", "fabrics that roll up"),
}


def _pair(evidence: FabricEvidence, hangs: Sequence[HangAdvice], planned: Hang, wishes: Wishes) -> FabricOnHang:
    allowed = hangs_for(evidence.fabric, wishes)
    return pair_for(evidence.name, [each for each in hangs if each.hang in allowed], planned, wishes)


def _flips(good: Sequence[FabricEvidence], short: Sequence[FabricEvidence], aims: Sequence[Aim]) -> tuple[AmbientFlip, ...]:
    """Where the fabrics that lead in the dark and in the brightest state change places with the shortlisted, each pair once."""
    leads = [max(good, key=lambda each: float(each.worst[aim][0])) for aim in (aims[2], aims[-1])]
    pairs = {(a.name, b.name): (a, b) for a in leads for b in short if a is not b}
    seen: dict[frozenset[str], AmbientFlip] = {}
    for a, b in pairs.values():
        flip = ambient_flip(a, b)
        if flip is not None:
            seen.setdefault(frozenset((flip.first, flip.second)), flip)
    return tuple(sorted(seen.values(), key=lambda flip: flip.screen_lx.value))


def _flat(document: VariantText, name: str, fabric: Fabric, extra: tuple[Change, ...] = ()) -> Scene:
    """The scene with a flat cloth of this fabric."""
    changes = [*extra, Change(("screen", "hang"), Hang.FIXED_FRAME, Hang.FIXED_FRAME), Change(("screen", "fold"), [], "flat")]
    if fabric != document.scene.screen.fabric:
        changes.append(Change(("screen", "fabric"), name, f'--fabric "{name}"'))
    return document.with_changes(changes, name)


def _beaten(evidence: Sequence[FabricEvidence], good: Sequence[FabricEvidence], aims: Sequence[Aim]) -> dict[str, str]:
    """For every fabric left out one that beats it, of the good ones where there is one."""
    kept = {each.name for each in good}
    found = {}
    for each in evidence:
        if each.name not in kept:
            found[each.name] = next(other.name for other in [*good, *evidence] if other is not each and beats(other, each, aims))
    return found


def _lux_of_states(measurement: Measurement) -> dict[str, float]:
    """Ambient light at the screen [lx] in each light state, stated or by its lamps and windows."""
    return {state.name: state.values["ambient_lx"].value for state in measurement.seats[0].states}


def _facts(
    scene: Scene,
    wishes: Wishes,
    evidence: Sequence[FabricEvidence],
    aims: Sequence[Aim],
    hangs: Sequence[HangAdvice],
    middle: FabricEvidence,
) -> RuleInputs:
    measurement: Paired = middle.paired
    found = measurement.measurement
    lux = found.illuminance_lx["mean"]
    folds = {each.hang: fold for each in hangs for fold in each.folds if fold.fabric == middle.name and not fold.flat}
    return RuleInputs(
        wishes=wishes,
        throw_ratio=found.throw.ratio,
        diagonal_in=math.hypot(scene.screen.width_m, scene.screen.height_m) / 0.0254,
        farthest_deg=max(place.view_angle_deg for place in found.geometry),
        bright=max(_lux_of_states(found).values(), default=0.0) / lux,
        evidence=evidence,
        aims=aims,
        folds=folds,
    )


def _repaint(
    document: VariantText,
    listed: Sequence[FabricEvidence],
    aims: Sequence[Aim],
    answers: Answers | None,
    wishes: Wishes,
    *,
    seed: int,
    error: float,
    threads: int,
) -> Repaint | None:
    """The first step of `repaint_order` with each shortlisted fabric; None where no dark finish is worth it."""
    scene = document.scene
    allowed = default_allowed(scene)
    if not allowed:
        return None
    if answers is None:
        answers = Answers.of(as_backed(without_estimates(scene)), seed=seed, threads=threads).precise(error).answers
    steps = repaint_order(answers, allowed)
    if not steps:
        return None
    surface, finish = steps[0].surface, steps[0].finish.name
    area = surface_areas(answers)[surface]
    paint = (Change(("room", "finish", surface), finish, f"{surface} = {finish}"),)
    scenes = [_flat(document, each.name, each.fabric, paint) for each in listed]
    after = measure_together(scenes, seed=seed, error=error, threads=threads)
    contrast = aims[2]
    return Repaint(
        surface,
        finish,
        area,
        area * wishes.prices[finish] if finish in wishes.prices else None,
        {each.name: each.value(contrast).value for each in listed},
        {each.name: gather(each.name, new, aims).value(contrast).value for each, new in zip(listed, after, strict=True)},
    )


__all__ = ["Advice", "HangAdvice", "Repaint", "advise", "candidates", "known_fabrics"]
