"""What may differ from the design, each with what is held of it before any reading, and where that is from."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ...scenes.change import surface_key
from ...scenes.model import SURFACES, Scene
from ..answers.answers import Answers
from ..measuring.flatten import BORDER
from ..measuring.targets import DARK
from .meters import Meter
from .parameter import Kind, Parameter
from .predictor import METERS, Knobs, Predictor
from .site_reading import SiteReadings

PRACTICE = "common practice, no source"
# Standard deviations before any reading: of logarithms, of the logit of a reflectance, of lx. Why each is as wide as it is:
IN_USE = 0.15  # a stated in_use was a guess, or of another lamp hour
IN_USE_UNKNOWN, USUAL_IN_USE = 0.35, 0.7  # rated down to a third of it
GAIN = 0.08  # from roll to roll, and from the sheet to the roll
PAINT = 0.4  # 0.05 is 0.023 to 0.10 in 95 of 100 rooms, 0.5 is 0.31 to 0.69, 0.8 is 0.65 to 0.90
PAINT_SHARED = 0.5  # of that variance is the paint's own, the same wherever it is
NATIVE = 0.25
LENS, LENS_UNKNOWN, USUAL_LENS = 0.35, 0.7, 300.0  # a sheet's own contrast has a clean lens
EVEN, EVEN_UNKNOWN, USUAL_EVEN = 0.07, 0.15, 0.85
STRAY_LX, LAMPS, LAMPS_LX = 0.05, 0.4, 1.0  # signs, standby lights, a gap in a blind; lamps are dimmed otherwise than stated
OTHER_PAINT = 2.0  # logit: what another finish altogether may be; 0.5 is anything from 0.12 to 0.88
_LEAST_REFLECTANCE = 1e-3  # below it there is no paint to be lighter or darker


def parameters_of(predictor: Predictor, site: SiteReadings) -> list[Parameter]:
    """All that readings of a scene could bear on: the projector's, the fabric's, the room's, the lamps', the meters'."""
    scene = predictor.answers.scene
    used = {each.light for each in site.readings}
    return [
        _lumens(predictor),
        _gain(scene),
        *_reflectances(predictor.answers),
        _evenness(predictor),
        _native(scene),
        _lens(scene),
        *(_ambient(scene, predictor, name) for name in predictor.states if name in used),
        *(_meter(meter, site) for meter in METERS if any(each.meter is meter for each in site.readings)),
    ]


def prior_covariance(parameters: Sequence[Parameter]) -> np.ndarray:
    """(k, k) of all t beforehand; surfaces of one paint share PAINT_SHARED of their variance."""
    deviation = np.array([each.deviation for each in parameters])
    same = np.array([[bool(a.paint) and a.paint == b.paint for b in parameters] for a in parameters])
    correlation = np.where(same, PAINT_SHARED, 0.0)
    np.fill_diagonal(correlation, 1.0)
    return correlation * np.outer(deviation, deviation)


def _lumens(predictor: Predictor) -> Parameter:
    projector = predictor.answers.scene.projector
    known = projector.in_use is not None
    stated = projector.light_output_lm * (projector.in_use if projector.in_use is not None else 1.0)
    words = (
        f"in_use is a judgement, {PRACTICE}"
        if known
        else f"in_use is left out: usually {USUAL_IN_USE:g} of the rated output, {PRACTICE}"
    )
    return Parameter(
        "lumens",
        Kind.LUMENS,
        "",
        "light output in use",
        "lm",
        0.0 if known else math.log(USUAL_IN_USE),
        IN_USE if known else IN_USE_UNKNOWN,
        words,
        stated,
        lambda t: stated * math.exp(t),
        lambda knobs, t: knobs._replace(lumens=math.exp(t)),
        lambda slopes, t: slopes["lumens"],
    )


def _gain(scene: Scene) -> Parameter:
    gain = scene.screen.fabric.gain
    return Parameter(
        "gain",
        Kind.GAIN,
        "",
        "gain of the fabric",
        "",
        0.0,
        GAIN,
        f"from roll to roll, {PRACTICE}",
        gain,
        lambda t: gain * math.exp(t),
        lambda knobs, t: knobs._replace(gain=math.exp(t)),
        lambda slopes, t: slopes["gain"],
    )


def _reflectances(answers: Answers) -> list[Parameter]:
    """One a surface, its lightest channel as the number; of two with one finish part of the doubt is the finish's."""
    scene = answers.scene
    finishes = {name: scene.room.finish[name].name for name in SURFACES}
    finishes |= {box.name: box.finish.name for box in scene.room.objects}
    finishes[BORDER] = scene.screen.border_finish.name
    hit = set(np.unique(answers.facts.surface).tolist())
    found = []
    for i, surface in enumerate(answers.arrays.surfaces[:-1]):
        lightest, luminous = float(answers.reflectance[i].max()), float(_luminous(answers.reflectance[i]))
        if i in hit and _LEAST_REFLECTANCE < lightest < 1.0 - _LEAST_REFLECTANCE:
            found.append(_reflectance(i, surface, finishes[surface], lightest, luminous))
    return found


def _luminous(channels: np.ndarray) -> float:
    from ..measuring.colour import luminance

    return float(luminance(channels))


def _reflectance(i: int, surface: str, finish: str, lightest: float, luminous: float) -> Parameter:
    mean = math.log(lightest / (1.0 - lightest))

    def ratio(t: float) -> float:
        return 1.0 / (1.0 + math.exp(-t)) / lightest

    def put(knobs: Knobs, t: float) -> Knobs:
        reflectance = knobs.reflectance.copy()
        reflectance[i] = ratio(t)
        return knobs._replace(reflectance=reflectance)

    return Parameter(
        f"reflectance.{surface}",
        Kind.REFLECTANCE,
        surface,
        f"reflectance of {surface} ({finish})",
        "",
        mean,
        PAINT,
        f"sheets of finishes and rooms differ by about a tenth, {PRACTICE}",
        luminous,
        lambda t: luminous * ratio(t),
        put,
        lambda slopes, t: slopes["reflectance"][i] * (1.0 - ratio(t) * lightest),
        finish,
    )


def _evenness(predictor: Predictor) -> Parameter:
    stated = 1.0 - predictor.stated.fall
    known = stated < 1.0
    words = PRACTICE if known else f"corner_to_centre is left out: usually about {USUAL_EVEN:g}, {PRACTICE}"
    return Parameter(
        "corner_to_centre",
        Kind.EVENNESS,
        "",
        "corner over centre of the projector's light",
        "",
        stated if known else USUAL_EVEN,
        EVEN if known else EVEN_UNKNOWN,
        words,
        stated if known else None,
        lambda t: t,
        lambda knobs, t: knobs._replace(fall=1.0 - t),
        lambda slopes, t: -slopes["fall"],
    )


def _native(scene: Scene) -> Parameter:
    stated = scene.projector.native_contrast
    return Parameter(
        "native_contrast",
        Kind.NATIVE,
        "",
        "native contrast",
        ":1",
        math.log(stated),
        NATIVE,
        f"from projector to projector, {PRACTICE}",
        stated,
        math.exp,
        lambda knobs, t: knobs._replace(black=math.exp(-t)),
        lambda slopes, t: -math.exp(-t) * slopes["black"],
    )


def _lens(scene: Scene) -> Parameter:
    """The lens's own checkerboard contrast, as ln of the veil: what it adds to black at half the picture lit."""
    own, native = scene.projector.checkerboard_contrast, scene.projector.native_contrast
    known = own is not None and own < native
    contrast = own if own is not None and known else min(USUAL_LENS, 0.5 * native)
    veil = 1.0 / contrast - 1.0 / native
    words = f"dust and age, {PRACTICE}" if known else f"checkerboard_contrast is left out: usually about {contrast:g}, {PRACTICE}"
    return Parameter(
        "lens_contrast",
        Kind.LENS,
        "",
        "checkerboard contrast of the lens alone",
        ":1",
        math.log(veil),
        LENS if known else LENS_UNKNOWN,
        words,
        own,
        lambda t: 1.0 / (math.exp(t) + 1.0 / native),
        lambda knobs, t: knobs._replace(veil=math.exp(t)),
        lambda slopes, t: math.exp(t) * slopes["veil"],
    )


def _ambient(scene: Scene, predictor: Predictor, name: str) -> Parameter:
    k = predictor.states.index(name)
    stated = float(predictor.stated.ambient[k])

    def put(knobs: Knobs, lx: float) -> Knobs:
        ambient = knobs.ambient.copy()
        ambient[k] = lx
        return knobs._replace(ambient=ambient)

    title = "stray light in the dark room, at the screen" if name == DARK else f"ambient light at the screen, {name}"
    if stated > 0.0:
        return Parameter(
            f"ambient.{name}",
            Kind.AMBIENT,
            name,
            title,
            "lx",
            math.log(stated),
            LAMPS,
            f"lamps and daylight vary, {PRACTICE}",
            stated,
            math.exp,
            lambda knobs, t: put(knobs, math.exp(t)),
            lambda slopes, t: math.exp(t) * slopes["ambient"][k],
        )
    deviation = STRAY_LX if name == DARK else LAMPS_LX
    return Parameter(
        f"ambient.{name}",
        Kind.AMBIENT,
        name,
        title,
        "lx",
        0.0,
        deviation,
        f"standby lights, a gap in a blind, {PRACTICE}",
        0.0,
        lambda t: t,
        put,
        lambda slopes, t: slopes["ambient"][k],
    )


def _meter(meter: Meter, site: SiteReadings) -> Parameter:
    i, calibration = METERS.index(meter), site.calibration[meter]

    def put(knobs: Knobs, t: float) -> Knobs:
        meters = knobs.meters.copy()
        meters[i] = math.exp(t)
        return knobs._replace(meters=meters)

    return Parameter(
        f"meter.{meter.value}",
        Kind.METER,
        meter.value,
        f"{meter.value} meter, reads over what is there",
        "",
        0.0,
        calibration.uncertainty,
        calibration.source,
        1.0,
        math.exp,
        put,
        lambda slopes, t: slopes["meters"][i],
    )


def scene_key(scene: Scene, parameter: Parameter) -> str:
    """The key of the scene file that a reflectance stands under. raises SceneErrors for a surface that is none"""
    return surface_key(scene, parameter.what)
