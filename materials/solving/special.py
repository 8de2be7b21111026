"""Fabrics that a gain and a half-gain angle do not describe: rough diffuse, measured, louvred."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from ..fabric import LOUVRED, MEASURED, ROUGH, Fabric
from ..fabric_error import FabricError
from ..hangs import OPPOSITE, STIFF
from ..holes import Holes, with_holes
from ..lobes.groove_table import Groove
from ..lobes.measured import MeasuredCurve, MeasuredLobe
from ..lobes.profile import MIRROR, SOURCE
from ..lobes.shapes import GrooveLobe, RoughLobe
from ..text.word import check_word
from .pair_checks import checked_tint
from .solve import largest_albedo

QUALITATIVE, SINGLE_FRACTION = "qualitative", "single-fraction"
ROUGH_MODELS = (QUALITATIVE, SINGLE_FRACTION)
ABOUT = {"mirror": MIRROR, "source": SOURCE}
TOWARD_DEG = {"above": 0.0, "left": 90.0, "below": 180.0, "right": 270.0}

# A facet that looks away from the projector is black, one that looks at it white; tilts as such sheets have them:
# common practice, no source.
DARK_TILT_DEG, DARK_REFLECTANCE, BRIGHT_REFLECTANCE = 30.0, 0.05, 0.8
CEILING_DEG = 45.0  # incidence at which light from above is told beside the projector's


def rough_fabric(
    *, name: str, gain: float, roughness_deg: float, model: str, tint: tuple[float, float, float], source: str, holes: Holes
) -> Fabric:
    """Rough diffuse cloth: gain at normal incidence [1], slope of its facets [deg].

    model   qualitative (Oren and Nayar's) or single-fraction (the improved variant)
    tint    linear RGB, any scale; its luminance is set to 1
    raises  FabricError where it would give back more than arrives, in luminance or in a channel of the tint; UnknownWord
            for another model
    Source: Oren and Nayar, SIGGRAPH 94; Fujii's variant; from memory. gain = rho A or rho pi A'; b = B / A or B' / A'.
    """
    check_word("rough_model", model, ROUGH_MODELS)
    sigma = math.radians(roughness_deg)
    square = sigma * sigma
    if model == QUALITATIVE:
        lobe = RoughLobe(gain, 0.45 * square / (square + 0.09) / (1.0 - 0.5 * square / (square + 0.33)))
    else:
        lobe = RoughLobe(gain, sigma, 1.0)
    ceiling = 1.0 - holes.open_area
    most = float(np.max(lobe.albedo(np.radians(np.arange(0.0, 90.0, 0.25)))))
    if most > ceiling + 1e-9:
        raise FabricError(
            "gain",
            gain,
            f"at most {gain * ceiling / most:.4f} at this roughness",
            f"a cloth this rough would give back {most:.4f} of light at grazing incidence",
        )
    fabric = Fabric(
        name=name,
        kind=ROUGH,
        gain=gain,
        half_gain_deg=None,
        albedo=gain,
        albedo_band=(gain, gain),
        albedo_given=True,
        tint=checked_tint(tint, most, ceiling),
        open_area=holes.open_area,
        source=source,
        assumed=(),
        verdict="possible",
        base_gain=0.0,
        lobes=(lobe,),
    )
    return with_holes(fabric, holes)


def measured_fabric(
    *,
    name: str,
    curve: MeasuredCurve,
    about: str | None,
    fall: float,
    tint: tuple[float, float, float],
    source: str,
    holes: Holes,
) -> Fabric:
    """Fabric from a gain curve measured at normal incidence.

    about   mirror or source: where the lobe goes at oblique incidence, which the curve does not say; None: mirror
    fall    q of an entrance fall-off exp(-q sin^2) of both angles [1], see lobes.py; 0: none
    tint    linear RGB, any scale; its luminance is set to 1
    raises  FabricError where the curve gives back more than arrives, by its albedo at normal incidence [1] or, where it
            rises off axis, by a scan of oblique ones; or where a channel of the tint would; UnknownWord for another `about`
    Source: measured.py.
    """
    notes = []
    check_word("lobe_about", about or "mirror", ABOUT)
    if about is None:
        about = "mirror"
        notes.append("lobe_about left out: the curve is taken about the mirror direction at oblique incidence")
    if curve.view_deg[-1] < 90.0:
        notes.append(f"the curve ends at {curve.view_deg[-1]:g} degrees: its last gain is held beyond")
    if not curve.falls:
        notes.append("the measured gain rises in places as one goes off axis")
    lobe = MeasuredLobe(float(curve.gain(0.0)) - curve.tail, curve, ABOUT[about], fall)
    lobes = (lobe,) if lobe.gain > 0.0 else ()
    albedo = curve.tail + lobe.gain * lobe.unit_albedo() if lobes else curve.tail
    ceiling = 1.0 - holes.open_area
    if albedo > ceiling + 1e-9:
        raise FabricError(
            "curve",
            f"{len(curve.gains)} points",
            f"a total of at most {ceiling:g}",
            f"impossible: this curve gives back {albedo:.3f} of the light",
        )
    fabric = Fabric(
        name=name,
        kind=MEASURED,
        gain=float(curve.gain(0.0)),
        half_gain_deg=curve.half_gain_deg(),
        albedo=albedo,
        albedo_band=(albedo, albedo),
        albedo_given=True,
        tint=checked_tint(tint, albedo, ceiling),
        open_area=holes.open_area,
        source=source,
        assumed=tuple(notes),
        verdict="possible",
        base_gain=curve.tail,
        lobes=lobes,
        curve=curve,
    )
    if not curve.falls and largest_albedo(fabric) > ceiling + 1e-4:
        raise FabricError(
            "curve",
            f"{len(curve.gains)} points",
            f"a total of at most {ceiling:g}",
            "impossible: at oblique incidence this curve gives back more light than arrives",
        )
    return with_holes(fabric, holes)


def louvred_fabric(
    *,
    name: str,
    gain: float | None,
    gain_incidence_deg: float | None,
    gain_from: str | None,
    facet_up_deg: float | None,
    facet_down_deg: float | None,
    facet_up_reflectance: float | None,
    facet_down_reflectance: float | None,
    groove_turn_deg: float,
    tint: tuple[float, float, float],
    source: str,
) -> Fabric:
    """Saw-tooth fabric; the facet that looks at the projector gets the reflectance that meets the stated gain.

    gain                   along the normal, for light at gain_incidence_deg [deg] from gain_from [1]; None: by both facets
    gain_from              above, below, left or right; None: below, for a fabric without a stated gain
    facet_*_deg            tilt of the facet that looks up / down [deg]; facet_*_reflectance [1]; None: see `_with_usual_facets`
    groove_turn_deg        the grooves turned from horizontal, anticlockwise as seen from the seats [deg]
    tint                   linear RGB, any scale; its luminance is set to 1
    raises                 FabricError where no reflectance up to 1 meets the gain, where the gain's incidence or side is not
                           named, where a stated reflectance makes another gain, or where neither of the two is stated
    Source: groove_table.py.
    """
    gain_from, incidence = _gain_light(gain, gain_incidence_deg, gain_from)
    toward = math.radians(TOWARD_DEG[gain_from] - groove_turn_deg)
    bright, dark = ("up", "down") if math.cos(toward) > 0.0 else ("down", "up")  # facet A looks up: light from above meets it
    tilt, rho, notes = _with_usual_facets(
        {"up": facet_up_deg, "down": facet_down_deg},
        {"up": facet_up_reflectance, "down": facet_down_reflectance},
        bright=bright,
        dark=dark,
        gain=gain,
        tangent=math.tan(math.radians(incidence)) * abs(math.cos(toward)),
    )

    def grooves(bright_reflectance: float) -> Groove:
        both = {**rho, bright: bright_reflectance}
        return Groove(tilt["up"], tilt["down"], _number(both["up"]), _number(both["down"]), groove_turn_deg)

    def seen(groove: Groove) -> float:
        return float(groove.gain(groove.tangent(incidence, TOWARD_DEG[gain_from]), 0.0)[0])

    groove = _solved(grooves, seen, gain, rho[bright], bright)
    lobe = GrooveLobe(1.0, groove)
    albedo = lobe.unit_albedo()
    fabric = Fabric(
        name=name,
        kind=LOUVRED,
        gain=seen(groove) if gain is None else gain,
        half_gain_deg=None,
        albedo=albedo,
        albedo_band=(albedo, albedo),
        albedo_given=True,
        tint=checked_tint(tint, max(groove.rho_a, groove.rho_b), 1.0),
        open_area=0.0,
        source=source,
        assumed=(),
        verdict="possible",
        base_gain=0.0,
        lobes=(lobe,),
        groove=groove,
        gain_incidence_deg=incidence,
        gain_from=gain_from,
        hangs=STIFF,
    )
    return replace(fabric, assumed=(*notes, louvred_words(fabric)))


def _gain_light(gain: float | None, incidence_deg: float | None, light_from: str | None) -> tuple[str, float]:
    """Where the light comes from that the gain refers to, and its incidence [deg]; head-on from below without a gain.

    raises  FabricError where a gain is stated and one of the two is not
    """
    if gain is not None and (incidence_deg is None or light_from is None):
        key = "gain_incidence_deg" if incidence_deg is None else "gain_from"
        allowed = "0 to 85" if incidence_deg is None else " | ".join(TOWARD_DEG)
        raise FabricError(key, None, allowed, "a louvred fabric names the incidence its gain refers to")
    return light_from or "below", incidence_deg or 0.0


def _with_usual_facets(
    tilt: dict[str, float | None], rho: dict[str, float | None], *, bright: str, dark: str, gain: float | None, tangent: float
) -> tuple[dict[str, float], dict[str, float | None], list[str]]:
    """Tilts [deg] and reflectances [1] by facet with the usual ones put where none is stated, and a note on each of these.

    The bright facet's reflectance stays open: the gain gives it. tangent: of the gain's light across the grooves [1].
    Source: DARK_TILT_DEG and DARK_REFLECTANCE, common practice, no source; `_bright_tilt_deg`.
    """
    notes: list[str] = []
    dark_tilt, bright_tilt, dark_rho = tilt[dark], tilt[bright], rho[dark]
    if dark_tilt is None:
        dark_tilt = DARK_TILT_DEG
        notes.append(f"facet_{dark}_deg not stated: {dark_tilt:g} (common practice, no source)")
    if bright_tilt is None:
        bright_tilt = _bright_tilt_deg(gain, tangent, dark_tilt)
        notes.append(
            f"facet_{bright}_deg not stated: {bright_tilt:.3g}, at which a reflectance of {BRIGHT_REFLECTANCE:g} meets "
            "the gain (common practice, no source)"
        )
    if dark_rho is None:
        dark_rho = DARK_REFLECTANCE
        notes.append(f"facet_{dark}_reflectance not stated: {dark_rho:g} (common practice, no source)")
    return {dark: dark_tilt, bright: bright_tilt}, {bright: rho[bright], dark: dark_rho}, notes


def _number(value: float | None) -> float:
    assert value is not None
    return value


def _bright_tilt_deg(gain: float | None, tangent: float, dark_tilt_deg: float) -> float:
    """Steepest tilt at which a facet of the usual reflectance meets the gain [deg]; 60 without a gain.

    The steeper the facet, the less light it takes from the other side. Source: light that meets it once, groove_table.py.
    """
    if gain is None:
        return 60.0
    tilts = range(75, 10, -1)
    met = [float(Groove(dark_tilt_deg, b, 0.0, BRIGHT_REFLECTANCE).single(-tangent, 0.0)) for b in tilts]
    return float(next((b for b, value in zip(tilts, met, strict=True) if value >= gain), tilts[int(np.argmax(met))]))


def _solved(
    grooves: Callable[[float], Groove], seen: Callable[[Groove], float], gain: float | None, stated: float | None, bright: str
) -> Groove:
    """The groove whose gain is the stated one. Source: false position; the gain is nearly straight in the reflectance."""
    key = f"facet_{bright}_reflectance"
    if gain is None:
        if stated is None:
            raise FabricError("gain", None, "a number above 0", f"is missing: give gain, or {key}")
        return grooves(stated)
    low, high = (0.0, seen(grooves(0.0))), (1.0, seen(grooves(1.0)))
    if not low[1] <= gain <= high[1]:
        raise FabricError(
            "gain",
            gain,
            f"{low[1]:.4f} to {high[1]:.4f} for these facets",
            "no reflectance of the facet towards the projector gives this gain",
        )
    if stated is not None:
        if abs(seen(grooves(stated)) / gain - 1.0) > 0.005:
            raise FabricError(
                key,
                stated,
                "leave it out, or leave the gain out",
                f"with it the gain would be {seen(grooves(stated)):.4g}, not the stated {gain:g}",
            )
        return grooves(stated)
    middle = 0.0
    for _ in range(60):
        middle = low[0] + (gain - low[1]) * (high[0] - low[0]) / max(high[1] - low[1], 1e-300)
        value = seen(grooves(middle))
        if abs(value - gain) <= 1e-12 * gain:
            break
        low, high = ((middle, value), high) if value < gain else (low, (middle, value))
    return grooves(middle)


def louvred_gain(fabric: Fabric, *, incidence_deg: float, light_from: str) -> float:
    """Gain along the normal of a louvred fabric for light at an incidence [deg] from above, below, left or right [1].

    Source: `Groove.gain`, all bounces.
    """
    assert fabric.groove is not None
    tangent = fabric.groove.tangent(incidence_deg, TOWARD_DEG[light_from])
    return float(fabric.groove.gain(tangent, 0.0)[0])


def rejection(fabric: Fabric, *, ceiling_deg: float = CEILING_DEG) -> float:
    """Gain of a louvred fabric for the projector's light over that for light from the other side at `ceiling_deg` [deg] [1].

    Source: definition made here: both at equal illuminance of the screen, seen along the normal.
    """
    assert fabric.gain_from is not None
    against = louvred_gain(fabric, incidence_deg=ceiling_deg, light_from=OPPOSITE[fabric.gain_from])
    return fabric.gain / max(against, 1e-300)


def louvred_words(fabric: Fabric) -> str:
    """One sentence on a louvred fabric: the gain, its incidence, light from the other side, rejection."""
    other = OPPOSITE[str(fabric.gain_from)]
    against = louvred_gain(fabric, incidence_deg=CEILING_DEG, light_from=other)
    return (
        f"louvred: gain {fabric.gain:.3g} along the normal for light at {fabric.gain_incidence_deg:g} degrees from "
        f"{fabric.gain_from}; {against:.3g} for light at {CEILING_DEG:g} degrees from {other}: "
        f"{rejection(fabric):.3g} to 1"
    )
