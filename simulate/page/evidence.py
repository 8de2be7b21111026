"""Everything the page stands on, computed once: measurement, advice, finishes, levels, fabric bands, pairs with pictures."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from ...materials.dataclass import dataclass
from ...materials.fabric import Fabric
from ...scenes.model import Scene
from ..answers.allowed import default_allowed
from ..answers.answers import Answers
from ..answers.level_curve import LevelCurve, level_curve
from ..answers.repaint import Plan, RoomCosts, cheapest_repaint, room_costs
from ..answers.repaint_order import RepaintStep, repaint_order
from ..answers.through_cloth import refuse_light_through
from ..choices.advice import Advice, advise
from ..choices.differences import Difference, differences
from ..choices.fold_sight import FoldSight, sight_of
from ..choices.together import measure_together
from ..choices.variants import VariantText
from ..choices.wishes import Wishes
from ..measuring.measure import Measurement, measure
from ..measuring.targets import target_named
from ..studies.tolerances.sureness import Sureness, sureness
from ..studies.tolerances.uncertain import Group, Limits
from ..views.cell_light import cell_light
from .beside import Beside
from .charts import Charts, charts_of
from .drawing_process import RoomDrawing
from .fabric_band import FabricBand, fabric_band
from .pairs import FOLDS, BeforeAfter, flat, usual_pairs
from .room_picture import RoomPicture
from .seat_pictures import CALM, PairPictures, Stages, pair_pictures, pictures_a_seat, seats_to_show
from .sightlines import SightLines, sight_lines

CONTRAST = target_named("intra-frame contrast")
ADVICE_ERROR = 0.02  # the advice is not worth a longer wait than `advise` itself takes
Told = Callable[[str], None]
BothFolds = tuple[FoldSight | None, FoldSight | None]


@dataclass(frozen=True)
class Evidence:
    """What was computed for a page.

    pairs, differences, folds, pictures   one entry a pair;  differences at every seat;  folds of the before and the after side, None
            where the cloth is flat or the pair is about something else
    plan    the least repainting that reaches CONTRAST;  None where no finish is left to choose
    bands   of the scene's fabric, and of the advised one where it is another
    chosen  True where the user asked for the pairs
    shown   seats that get pictures;  sure  how sure it is within tolerances; None where that was not asked
    charts  drawings of what stands above, made while the pictures were; None: drawn when the page is set
    """

    document: VariantText
    measurement: Measurement
    advice: Advice
    costs: RoomCosts
    plan: Plan | None
    steps: tuple[RepaintStep, ...]
    levels: LevelCurve
    bands: tuple[FabricBand, ...]
    sights: tuple[SightLines, ...]
    pairs: tuple[BeforeAfter, ...]
    differences: tuple[tuple[Difference, ...], ...]
    folds: tuple[BothFolds, ...]
    pictures: tuple[PairPictures, ...]
    room: RoomPicture
    chosen: bool
    shown: tuple[int, ...]
    sure: Sureness | None = None
    charts: Charts | None = None

    @property
    def seats(self) -> tuple[str, ...]:
        """Names of the seats."""
        return tuple(reading.name for reading in self.measurement.seats)


def collect(
    document: VariantText,
    asked: Sequence[BeforeAfter],
    wishes: Wishes,
    room: RoomDrawing,
    *,
    seed: int = 1,
    error: float = 0.01,
    threads: int = 1,
    told: Told = lambda _: None,
    limits: Mapping[Group, Limits] | None = None,
) -> Evidence:
    """All evidence for a page.

    asked  the pairs that the user wants to see; none: the usual ones;  room  its drawing, which is made beside
    error  asked relative standard error [1] of the measurement; the advice is content with ADVICE_ERROR
    told   called with what is being done, in words;  limits  tolerances to judge it by, None: none
    raises FloatingPointError when a sum of light is not finite; SceneErrors where light comes through the cloth
    Figures of the measurement are those of `measure` at the same seed and error.
    """
    scene = document.scene
    refuse_light_through(scene)  # before the seats are measured in vain
    with Beside(threads) as beside:
        stages = beside.submit(lambda: _stages(scene, room, seed, threads))
        told("measuring the seats")
        measurement = measure(scene, seed=seed, error=error, threads=threads)
        told("finishes and levels")
        answers = Answers.of(scene, seed=seed, threads=threads).precise(error).answers
        allowed = default_allowed(scene)
        steps = tuple(repaint_order(answers, allowed))
        told("advice: every fabric of the library in this room")
        advice = advise(
            document, wishes, seed=seed, error=max(error, ADVICE_ERROR), threads=threads, answers=answers, all_folds=False
        )
        proposed = advice.of(advice.balanced).fabric
        fabrics = [scene.screen.fabric, *([proposed] if proposed.name != scene.screen.fabric.name else [])]
        pairs = tuple(asked) or tuple(usual_pairs(document, steps[0] if steps else None, proposed.name))
        seats = seats_to_show(measurement, pictures_a_seat(pairs))
        pictures = beside.submit(
            lambda: pair_pictures(pairs, seats, stages=stages(), told=lambda done, all_: told(f"seat pictures, {done} of {all_}"))
        )
        told("comparisons")
        found, folds = _compared(pairs, measurement, seed=seed, error=error, threads=threads)
        sure = None
        if limits is not None:
            told("how sure it is, within the tolerances")
            names = [each.name for each in advice.evidence if each.name not in advice.short] or [
                each.name for each in advice.evidence
            ]
            sure = sureness(
                scene, limits=limits, names=names, wishes=wishes, answers=answers, error=error, seed=seed, threads=threads
            )
        evidence = Evidence(
            document,
            measurement,
            advice,
            room_costs(answers),
            cheapest_repaint(answers, allowed, CONTRAST.low or 100.0) if allowed else None,
            steps,
            level_curve(answers),
            _bands(scene, fabrics, error=error, seed=seed, threads=threads),
            tuple(sight_lines(scene)),
            pairs,
            found,
            folds,
            (),
            RoomPicture(None, "", 1.0),
            bool(asked),
            seats,
            sure,
        )
        told("drawings")
        charts = charts_of(evidence)
        return replace(evidence, pictures=tuple(pictures()), room=room.picture(), charts=charts)


def _stages(scene: Scene, room: RoomDrawing, seed: int, threads: int) -> Stages:
    """Stages with that of the calm picture in the room as it is, whose light the drawing of the room is given."""
    stages = Stages(seed, threads)
    room.lit(cell_light(stages.of(flat(scene), CALM).room))
    return stages


def _compared(
    pairs: Sequence[BeforeAfter], own: Measurement, *, seed: int, error: float, threads: int
) -> tuple[tuple[tuple[Difference, ...], ...], tuple[BothFolds, ...]]:
    """Differences of every pair, and the folds of both sides; a scene that stands in several pairs is measured once.

    own  the measurement of the scene as it stands, whose folds are not read again
    """
    scenes = {id(scene): scene for pair in pairs for scene in pair.measure}
    judged = {id(scene) for pair in pairs if pair.kind == FOLDS for scene in pair.measure if scene is not own.scene}
    together = measure_together(
        list(scenes.values()), seed=seed, error=error, threads=threads, judge_folds=[key in judged for key in scenes]
    )
    paired = dict(zip(scenes, together, strict=True))
    found, folds = [], []
    for pair in pairs:
        first, second = (paired[id(scene)] for scene in pair.measure)
        found.append(tuple(differences(first, second)))
        sights = [
            sight_of(scene, own.folds if scene is own.scene else paired[id(scene)].measurement.folds) for scene in pair.measure
        ]
        both = [sight if pair.kind == FOLDS and not sight.flat else None for sight in sights]
        folds.append((both[0], both[1]))
    return tuple(found), tuple(folds)


def _bands(scene: Scene, fabrics: Sequence[Fabric], *, error: float, seed: int, threads: int) -> tuple[FabricBand, ...]:
    """Bands on a flat cloth: a new fabric on a folded one costs seconds, and the band is far wider than what folds do."""
    answers = Answers.of(flat(scene), seed=seed, threads=threads).precise(error).answers
    return tuple(fabric_band(answers, fabric) for fabric in fabrics)
