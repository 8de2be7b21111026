"""Advice on hang and fabric: measured evidence, trade rules beside it, a set of good choices, and what would change them."""
from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from ...materials.fabric import Fabric
from ...materials.library import load_library
from ...materials.nearest import nearest
from ...scenes.changes import Change
from ...scenes.cloth.hanging import Hang
from ...scenes.cloth.notes import flat_words
from ...scenes.errors import SceneError, SceneErrors
from ...scenes.model import Scene
from ..answers.allowed import default_allowed
from ..answers.answers import Answers
from ..answers.repaint import surface_areas
from ..answers.repaint_order import repaint_order
from ..showing import Showing
from .aims import Aim, FabricEvidence, Role, aims_of, beats, better, gather, pareto, roles_of
from .choosing import Pair, pair_for, weighed
from .flips import AmbientFlip, ambient_flip, class_limits, lumens_for
from .floor_words import shortfall_words
from .floors import Floor, Shortfall, by_make, by_measure, hangs_for, possible, serving
from .fold_sight import FoldSight, fold_sight, with_hang, without_estimates
from .rules import Facts, RuleFound, every_rule, rules_for
from .together import Paired, measure_together
from .variants import Document
from .wishes import HANGS, Wishes

NO_SHEETS = ("perfect diffuser", "painted white wall")  # in the library, yet nothing that hangs
Progress = Callable[[int, float], None]


@dataclass(frozen=True)
class HangAdvice:
    """A hang: can it be here, and what speaks for and against it; folds by fabric."""

    hang: Hang
    possible: bool
    reasons: tuple[str, ...]
    folds: tuple[FoldSight, ...]


@dataclass(frozen=True)
class Repaint:
    """One surface painted dark, and whether the lead turns.

    area_m2  what is to be painted [m2];  price  in the list's currency, None where the list lacks the finish
    before, after  checkerboard contrast in the dark at the worst seat [1], by name of each shortlisted fabric
    """

    surface: str
    finish: str
    area_m2: float
    price: float | None
    before: dict[str, float]
    after: dict[str, float]

    @property
    def lead_before(self) -> str:
        """Fabric with the most contrast as the room stands."""
        return max(self.before, key=lambda name: self.before[name])

    @property
    def lead_after(self) -> str:
        """Fabric with the most contrast once it is painted."""
        return max(self.after, key=lambda name: self.after[name])


@dataclass(frozen=True, eq=False, repr=False)
class Advice(Showing):
    """All of it; `evidence` holds every fabric measured, `good` those that meet the floors and no other beats, `balanced` the one to take.

    beaten   by name of a fabric left out: the fabric that beats it
    short    by name of a fabric that does not serve: the floors that it misses;  waived  floors that no fabric meets, and so not asked
    pairs    by shortlisted fabric whose folds were judged: the hang to take with it, and the price of both
    roles    what each shortlisted fabric is best at
    rules, silent_rules  the trade's rules that apply here, and those that do not
    limits   by fabric and contrast of a class [1]: most ambient light at the screen [lx] that leaves it, see `class_limits`
    lumens   by fabric: light output [lm] at which the dimmest seat has CINEMA_CD_M2, see `lumens_for`
    """

    scene: Scene
    wishes: Wishes
    aims: tuple[Aim, ...]
    evidence: tuple[FabricEvidence, ...]
    good: tuple[str, ...]
    balanced: str
    roles: Mapping[str, tuple[Role, ...]]
    beaten: Mapping[str, str]
    short: Mapping[str, tuple[Shortfall, ...]]
    waived: tuple[Floor, ...]
    pairs: Mapping[str, Pair]
    hangs: tuple[HangAdvice, ...]
    rules: tuple[RuleFound, ...]
    silent_rules: tuple[RuleFound, ...]
    flips: tuple[AmbientFlip, ...]
    limits: Mapping[str, Mapping[float, float]]
    lumens: Mapping[str, float]
    repaint: Repaint | None
    facts: Facts

    def __repr__(self) -> str:
        return f"<Advice for {self.scene.title!r}: {self.balanced}; not beaten: {', '.join(self.good)}>"

    @property
    def refused(self) -> dict[str, str]:
        """Why fabrics do not serve, in words, by name; floors that were waived are not among the reasons."""
        asked = {name: [short for short in missed if short.floor not in self.waived] for name, missed in self.short.items()}
        return {name: "; ".join(map(shortfall_words, missed)) for name, missed in asked.items() if missed}

    @property
    def take(self) -> Pair:
        """The one answer: the advised fabric on its hang."""
        return self.pairs[self.balanced]

    def of(self, name: str) -> FabricEvidence:
        """The evidence of a fabric by name. raises StopIteration for a fabric that was not looked at"""
        return next(each for each in self.evidence if each.name == name)


def known_fabrics(document: Document) -> Mapping[str, Fabric]:
    """The built-in fabrics with those of the scene's own library files. raises LibraryErrors where such a file is wrong"""
    return load_library([document.folder / name for name in document.table.get("libraries", [])]).fabrics


def candidates(document: Document, names: Sequence[str], wishes: Wishes) -> tuple[dict[str, Fabric], dict[str, tuple[Shortfall, ...]]]:
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
    document: Document,
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
    progress  called after each round of the main measurement with the paths so far and the worst error reached [1]
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
    aims = aims_of([light.name for light in sorted(document.scene.lights, key=lambda light: light.screen_lx)])
    evidence = [gather(name, each, aims) for name, each in zip(scenes, paired, strict=True)]
    short |= {each.name: missed for each in evidence if (missed := by_measure(each, aims))}
    serve, waived = serving(evidence, short)
    good = pareto(serve, aims)
    middle = weighed(good, aims, wishes)
    roles = roles_of(good, middle, aims)
    listed = [each for each in good if each.name in roles]
    hangs = _hangs(document, listed if all_folds else [middle], wishes, threads)
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
    return SceneError("--fabric", 0, "", list(short), "none of these can be here", "fabrics without louvres, with an open area where asked")


_ALLOWED = {
    Floor.NO_OPEN_AREA: ("none of these lets sound pass", "fabrics with an open area (perforated or woven)"),
    Floor.WRONG_SIDE: ("the projector lights all of these from their dark side", "fabrics without louvres, or with louvres for that side"),
    Floor.NO_HANG: ("none of these is made for a hang that is possible here", "fabrics that roll up"),
}


def _pair(evidence: FabricEvidence, hangs: Sequence[HangAdvice], planned: Hang, wishes: Wishes) -> Pair:
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


def _flat(document: Document, name: str, fabric: Fabric, extra: tuple[Change, ...] = ()) -> Scene:
    """The scene with a flat cloth of this fabric."""
    changes = [*extra, Change(("screen", "hang"), Hang.FIXED_FRAME, Hang.FIXED_FRAME), Change(("screen", "fold"), [], "flat")]
    if fabric is not document.scene.screen.fabric:
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


def _hangs(document: Document, short: Sequence[FabricEvidence], wishes: Wishes, threads: int) -> list[HangAdvice]:
    """Every hang: is it possible, its folds with each shortlisted fabric, and its price."""
    found = []
    for hang in HANGS:
        scene = document.with_changes((Change(("screen", "hang"), hang, hang), Change(("screen", "fold"), [], hang)), hang)
        takes = [each for each in short if hang in each.fabric.hangs]
        folds = [_folds(scene, each, threads) for each in takes]
        can_be = possible(hang, wishes)
        reasons = [] if can_be else ["cannot be: the wall must be clear after use, and a frame stays"]
        if folds and all(fold.flat for fold in folds):
            reasons.append(f"the cloth {flat_words(scene.screen)}")
        elif folds:
            reasons += _fold_words(folds)
        stiff = [each.name for each in short if each not in takes]
        if stiff:
            reasons.append(f"not for {', '.join(stiff)}: stiff sheets want a frame or tension (common practice, no source)")
        if wishes.free_hanging and scene.screen.gap_to_wall_m < 0.1:
            reasons.append(f"said to hang free, yet the scene has it {1e3 * scene.screen.gap_to_wall_m:.0f} mm off the wall")
        found.append(HangAdvice(hang, can_be, tuple(reasons), tuple(folds)))
    return found


def _folds(scene: Scene, evidence: FabricEvidence, threads: int) -> FoldSight:
    flat = evidence.paired.measurement
    white = [reading.white["mean"].value for reading in flat.seats]
    return fold_sight(with_hang(flat.scene, scene), white, threads=threads)


def _fold_words(folds: Sequence[FoldSight]) -> list[str]:
    """Fold visibility with the fabric that shows them least and with the one that shows them most."""
    best, worst = min(folds, key=lambda f: f.ratio["high"]), max(folds, key=lambda f: f.ratio["high"])
    return [f"with {each.fabric}: {each.in_words}" for each in ((worst,) if best is worst else (best, worst))]


def _facts(
    scene: Scene,
    wishes: Wishes,
    evidence: Sequence[FabricEvidence],
    aims: Sequence[Aim],
    hangs: Sequence[HangAdvice],
    middle: FabricEvidence,
) -> Facts:
    measurement: Paired = middle.paired
    found = measurement.measurement
    lux = found.illuminance_lx["mean"]
    folds = {
        each.hang: fold for each in hangs for fold in each.folds if fold.fabric == middle.name and not fold.flat
    }
    return Facts(
        wishes=wishes,
        throw_ratio=found.throw.ratio,
        diagonal_in=math.hypot(scene.screen.width_m, scene.screen.height_m) / 0.0254,
        farthest_deg=max(place.view_angle_deg for place in found.geometry),
        bright=max((light.screen_lx for light in scene.lights), default=0.0) / lux,
        evidence=evidence,
        aims=aims,
        folds=folds,
    )


def _repaint(
    document: Document,
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
        answers = Answers.of(without_estimates(scene), seed=seed, threads=threads).precise(error).answers
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


def surely_best(advice: Advice, name: str, aim: Aim) -> bool:
    """True where a fabric is surely ahead of every other in an aim. raises StopIteration as `Advice.of`. Source: `better`."""
    return all(better(advice.of(name), other, aim) for other in advice.evidence if other.name != name)
