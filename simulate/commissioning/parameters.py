"""What may differ from the design, each with what is held of it before any reading, and where that is from."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ...scenes.change import surface_key
from ...scenes.geometry import film_area, raster
from ...scenes.model import Scene
from ..answers.answers import Answers
from ..measuring.colour import luminance
from ..measuring.flatten import BORDER
from ..measuring.targets import DARK
from .meters import Meter
from .parameter import Parameter, ParameterKind
from .predictor import METERS, Predictor
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
        *(_ambient(predictor, name) for name in predictor.states if name in used),
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
    unknown = f"in_use is left out: usually {USUAL_IN_USE:g} of the rated output, {PRACTICE}"
    stated = projector.light_output_lm * (projector.in_use if projector.in_use is not None else 1.0)
    return Parameter(
        key="lumens",
        kind=ParameterKind.LUMENS,
        what="",
        title="light output in use",
        unit="lm",
        mean=0.0 if known else math.log(USUAL_IN_USE),
        deviation=IN_USE if known else IN_USE_UNKNOWN,
        source=f"in_use is a judgement, {PRACTICE}" if known else unknown,
        stated=stated,
        reference=stated,
    )


def _gain(scene: Scene) -> Parameter:
    gain = scene.screen.fabric.gain
    source = f"from roll to roll, {PRACTICE}"
    return Parameter("gain", ParameterKind.GAIN, "", "gain of the fabric", "", 0.0, GAIN, source, gain, reference=gain)


def _reflectances(answers: Answers) -> list[Parameter]:
    """One a surface that paths meet, its lightest channel as the number; of two with one finish part of the doubt is the finish's."""
    scene = answers.scene
    finishes = {name: finish.name for name, finish in scene.room.finishes.items()}
    finishes[BORDER] = scene.screen.border_finish.name
    hit = set(np.unique(answers.facts.surface).tolist())
    found = []
    for i, surface in enumerate(answers.arrays.surfaces[:-1]):
        lightest = float(answers.reflectance[i].max())
        if i in hit and _LEAST_REFLECTANCE < lightest < 1.0 - _LEAST_REFLECTANCE:
            luminous = float(luminance(answers.reflectance[i]))
            found.append(_reflectance(i, surface, finishes[surface], lightest, luminous))
    return found


def _reflectance(i: int, surface: str, finish: str, lightest: float, luminous: float) -> Parameter:
    return Parameter(
        key=f"reflectance.{surface}",
        kind=ParameterKind.REFLECTANCE,
        what=surface,
        title=f"reflectance of {surface} ({finish})",
        unit="",
        mean=math.log(lightest / (1.0 - lightest)),
        deviation=PAINT,
        source=f"sheets of finishes and rooms differ, {PRACTICE}",
        stated=luminous,
        place=i,
        reference=luminous,
        lightest=lightest,
        paint=finish,
    )


def _evenness(predictor: Predictor) -> Parameter:
    stated = 1.0 - predictor.stated.fall
    known = stated < 1.0
    return Parameter(
        key="corner_to_centre",
        kind=ParameterKind.EVENNESS,
        what="",
        title="corner over centre of the projector's light",
        unit="",
        mean=stated if known else USUAL_EVEN,
        deviation=EVEN if known else EVEN_UNKNOWN,
        source=PRACTICE if known else f"corner_to_centre is left out: usually about {USUAL_EVEN:g}, {PRACTICE}",
        stated=stated if known else None,
    )


def _native(scene: Scene) -> Parameter:
    stated, source = scene.projector.native_contrast, f"from projector to projector, {PRACTICE}"
    return Parameter(
        "native_contrast", ParameterKind.NATIVE, "", "native contrast", ":1", math.log(stated), NATIVE, source, stated
    )


def _film(scene: Scene) -> float:
    """Share of the raster that a film's own picture takes [1]; 1 where the picture is all of it. Source: `levels_of`."""
    return 1.0 if scene.projector.film is None else film_area(scene).area_m2 / raster(scene).area_m2


def _lens(scene: Scene) -> Parameter:
    """The lens's own checkerboard contrast; it is put after the native one, of which it holds a part."""
    own, native = scene.projector.checkerboard_contrast, scene.projector.native_contrast
    contrast, deviation, words = min(USUAL_LENS, 0.5 * native), LENS_UNKNOWN, "checkerboard_contrast is left out: usually about"
    if own is not None and own < native:
        contrast, deviation, words = own, LENS, "dust and age of a lens of"
    elif own is not None:
        contrast, words = 0.9 * native, "no lens is without straying light; at best"
    return Parameter(
        key="lens_contrast",
        kind=ParameterKind.LENS,
        what="",
        title="checkerboard contrast of the lens alone",
        unit=":1",
        mean=math.log(contrast),
        deviation=deviation,
        source=f"{words} {contrast:g}, {PRACTICE}",
        stated=own,
        film=_film(scene),
    )


def _ambient(predictor: Predictor, name: str) -> Parameter:
    place = predictor.states.index(name)
    stated = float(predictor.stated.ambient[place])
    plain = stated <= 0.0
    dark = f"standby lights, a gap in a blind, {PRACTICE}"
    return Parameter(
        key=f"ambient.{name}",
        kind=ParameterKind.AMBIENT,
        what=name,
        title="stray light in the dark room, at the screen" if name == DARK else f"ambient light at the screen, {name}",
        unit="lx",
        mean=0.0 if plain else math.log(stated),
        deviation=(STRAY_LX if name == DARK else LAMPS_LX) if plain else LAMPS,
        source=dark if name == DARK else f"lamps and daylight vary, {PRACTICE}",
        stated=stated,
        place=place,
        plain=plain,
    )


def _meter(meter: Meter, site: SiteReadings) -> Parameter:
    calibration = site.calibration[meter]
    return Parameter(
        key=f"meter.{meter.value}",
        kind=ParameterKind.METER,
        what=meter.value,
        title=f"{meter.value} meter, reads over what is there",
        unit="",
        mean=0.0,
        deviation=calibration.uncertainty,
        source=calibration.source,
        stated=1.0,
        place=METERS.index(meter),
    )


def scene_key(scene: Scene, parameter: Parameter) -> str:
    """The key of the scene file that a reflectance stands under. raises SceneErrors for a surface that is none"""
    return surface_key(scene, parameter.what)
