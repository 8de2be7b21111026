"""From the two or three numbers of a specification sheet to a fabric."""

from __future__ import annotations

from ..fabric import DIFFUSE, RETRO, Fabric
from ..fabric_error import FabricError
from ..holes import Holes, with_holes
from ..lobes.profile import MIRROR, SOURCE, Profile, standard
from .judge import MOST_WHITE, NO_FALL_OFF_DEG, UNSTATED_FROM_DEG, judge_pair, open_diffuse_band
from .pair import DEFAULT_ALBEDO_CAP, DEFAULT_BASE_SHARE, GAUSSIAN, profile_of_albedo
from .pair_checks import StatedPair, check_diffuse, check_lobe, check_numbers, checked_kind, checked_tint, entrance_fall

__all__ = ["FabricError", "fabric_from_pair", "largest_albedo", "profile_of_albedo"]


def fabric_from_pair(
    *,
    name: str,
    gain: float,
    half_gain_deg: float | None = None,
    kind: str | None = None,
    albedo: float | None = None,
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0),
    open_area: float = 0.0,
    source: str = "",
    half_gain_up_deg: float | None = None,
    lobe: str = GAUSSIAN,
    base_gain: float | None = None,
    entrance_half_deg: float | None = None,
    holes: Holes | None = None,
) -> Fabric:
    """Fabric of a stated gain that falls to exactly half at the stated angle.

    gain               peak gain [1], light and view along the normal, holes included
    half_gain_deg      half-gain angle [deg], above 0 and below 90; None: diffuse
    kind               diffuse, angular-reflective or retro-reflective; None: diffuse without an angle, else angular; a gain
                       alone is taken as diffuse, but its albedo counts as open (see judge.open_diffuse_band)
    albedo             share given back at normal incidence [1]; None: a stated default
    tint               linear RGB, any scale; its luminance is set to 1
    open_area          share of holes [1]; or `holes` with their geometry
    half_gain_up_deg   half-gain angle up and down [deg] where half_gain_deg holds across only
    lobe               one of pair.LOBES
    base_gain          the diffuse part of the gain [1], instead of the albedo
    entrance_half_deg  incidence at which a retro lobe, seen from the light, is half as high [deg]; None: no fall-off
    raises             FabricError for what energy or the words forbid
    Source: pair.py, profile.py and judge.py.
    """
    notes: list[str] = []
    doubts: list[str] = []
    holes = holes or Holes(open_area)
    alone = kind is None and half_gain_deg is None and albedo is None
    kind_assumed = kind is None and half_gain_deg is not None
    kind = checked_kind(kind, half_gain_deg)
    if kind_assumed:
        notes.append("kind left out: taken as angular-reflective, a lobe about the mirror direction")
    check_numbers(gain, half_gain_deg, albedo, holes.open_area)
    ceiling = 1.0 - holes.open_area
    if half_gain_deg is None:
        profile, band, verdict = _diffuse(gain, albedo, holes.open_area)
        if alone:
            band = open_diffuse_band(gain=gain, largest_albedo=ceiling)
            notes += _gain_alone(gain, band)
    else:
        fall = entrance_fall(kind, half_gain_deg, entrance_half_deg)
        pair = StatedPair(gain, half_gain_deg, half_gain_up_deg, lobe, fall, albedo, base_gain, ceiling)
        profile, band, verdict = _lobed(pair, SOURCE if kind == RETRO else MIRROR, notes, doubts)
    fabric = Fabric(
        name=name,
        kind=kind,
        gain=gain,
        half_gain_deg=half_gain_deg,
        albedo=profile.albedo,
        albedo_band=band,
        albedo_given=albedo is not None or base_gain is not None or (kind == DIFFUSE and not alone),
        tint=checked_tint(tint, profile.albedo, ceiling),
        open_area=holes.open_area,
        source=source,
        assumed=tuple(notes),
        verdict=verdict,
        base_gain=profile.base,
        lobes=profile.lobes,
        half_gain_up_deg=half_gain_up_deg,
        doubts=tuple(doubts),
        kind_assumed=kind_assumed,
    )
    _check_oblique(fabric, ceiling)
    return with_holes(fabric, holes)


_Solved = tuple[Profile, tuple[float, float], str]


def _diffuse(gain: float, albedo: float | None, open_area: float) -> _Solved:
    """Profile of the stated gain, the ends of the albedo that its numbers leave open [1], and the verdict on them."""
    check_diffuse(gain, albedo, open_area)
    return Profile(gain, ()), (gain, gain), "possible"


def _gain_alone(gain: float, band: tuple[float, float]) -> list[str]:
    """What a gain without half-gain angle, kind and albedo leaves open, and what its number cannot be."""
    found = [
        f"a gain alone is stated: taken as diffuse, so that the albedo is {gain:g}; a soft lobe that nobody stated would leave "
        f"{band[0]:.3f} to {band[1]:.3f} open (half-gain angle {UNSTATED_FROM_DEG:g} degrees or more: common practice, no source)"
    ]
    if band[1] > MOST_WHITE:
        found.append(f"no cloth gives back {band[1]:.3f} of the light, whites some 0.9 (common practice, no source): expect less")
    return found


def _lobed(pair: StatedPair, axis: int, notes: list[str], doubts: list[str]) -> _Solved:
    """The same for a lobe about an axis, MIRROR or SOURCE."""
    check_lobe(pair)
    band, verdict = _judged(pair, notes, doubts)
    return _unit_profile(pair, band, notes).scaled(pair.gain, axis), band, verdict


def largest_albedo(fabric: Fabric) -> float:
    """Largest directional albedo of all incidences, from a scan of 19 angles and 8 azimuths [1].

    Source: brdf.directional_albedos; compiles the kernels, so it is asked only of lobes that theory does not cover.
    """
    import numpy as np

    from ..lobes.brdf import directional_albedos

    t, p = np.meshgrid(np.radians([*range(0, 90, 5), 88.0]), np.radians(np.arange(0, 360, 45)))
    directions = np.stack([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)], axis=-1).reshape(-1, 3)
    return float(np.max(directional_albedos(fabric.arrays(), directions)))


def _check_oblique(fabric: Fabric, ceiling: float) -> None:
    """Half-vector lobes may give back more at oblique incidence; base + F bounds them, a scan settles the rest."""
    reflectance = [lobe.reflectance for lobe in fabric.lobes if hasattr(lobe, "reflectance")]
    if reflectance and fabric.base_gain + sum(reflectance) > ceiling:
        most = largest_albedo(fabric)
        if most > ceiling + 1e-6:
            raise FabricError(
                "gain",
                fabric.gain,
                f"at most about {fabric.gain * ceiling / most:.4g} for this lobe",
                f"impossible: a half-vector lobe of this gain gives back {most:.3f} of the light at oblique incidence",
            )


def _judged(pair: StatedPair, notes: list[str], doubts: list[str]) -> tuple[tuple[float, float], str]:
    """Albedo band and verdict of a pair. raises FabricError where it is impossible"""
    judgement = judge_pair(gain=pair.gain, half_gain_deg=pair.even_half_gain_deg, largest_albedo=pair.ceiling)
    open_area = 1.0 - pair.ceiling
    if judgement.verdict == "impossible":
        holes = f" with an open area of {open_area:g}" if open_area > 0.0 else ""
        raise FabricError(
            "gain",
            pair.gain,
            f"at most {judgement.largest_gain:.4f} at {pair.angles}{holes}",
            f"impossible: it would give back more light than arrives; {judgement.reason}",
        )
    if judgement.verdict == "implausible":
        doubts.append(f"implausible: {judgement.reason}")
    if pair.half_gain_deg >= NO_FALL_OFF_DEG:
        notes.append(f"no measurable fall-off: half-gain angle {pair.half_gain_deg:g} degrees")
    return (judgement.albedo_low, judgement.albedo_high), judgement.verdict


def _unit_profile(pair: StatedPair, band: tuple[float, float], notes: list[str]) -> Profile:
    """The profile of peak 1 that the stated numbers and the stated defaults fix."""
    low, high = band
    if pair.base_gain is not None:
        profile = pair.shape.profile(pair.base_gain / pair.gain)
        if pair.gain * profile.albedo > pair.ceiling + 1e-9:
            raise FabricError(
                "base_gain",
                pair.base_gain,
                f"an albedo of at most {pair.ceiling:g}",
                f"impossible: it would give back {pair.gain * profile.albedo:.3f} of the light",
            )
        return profile
    if pair.albedo is not None and not low - 1e-9 <= pair.albedo <= high + 1e-9:
        raise FabricError(
            "albedo",
            pair.albedo,
            f"{low:.4f} to {high:.4f}",
            f"no falling gain curve of gain {pair.gain:g} and {pair.angles} has this albedo",
        )
    usual, smooth = _usual_profile(pair, band), True
    if pair.shape.plain:
        cap = DEFAULT_ALBEDO_CAP * pair.ceiling
        wanted = pair.albedo if pair.albedo is not None else cap if low <= cap else 0.5 * (low + pair.ceiling)
        if pair.albedo is None and pair.gain * usual.albedo <= cap:
            profile = usual
        else:
            profile, smooth = profile_of_albedo(pair.shape.half_gain_rad, min(max(wanted, low), high) / pair.gain)
    else:
        profile = usual if pair.albedo is None else pair.shape.of_albedo(pair.albedo / pair.gain, pair.gain)
    if pair.albedo is None:
        words = f"gain and half-gain angle leave {low:.3f} to {high:.3f} open"
        notes.append(f"albedo not stated: {pair.gain * profile.albedo:.3f} assumed (common practice, no source); {words}")
    if not smooth:
        usual_albedo = pair.gain * standard(pair.shape.half_gain_rad, DEFAULT_BASE_SHARE).albedo
        shape = "a flat-topped lobe on a wide base" if pair.gain * profile.albedo > usual_albedo else "a spike on a ledge"
        notes.append(f"an albedo of {pair.gain * profile.albedo:.3f} is beyond the usual lobes: {shape} is assumed")
    return profile


def _usual_profile(pair: StatedPair, band: tuple[float, float]) -> Profile:
    """The lobe on the usual base share; on the largest smaller one that stays below the albedo cap, for other lobes."""
    shape, cap = pair.shape, DEFAULT_ALBEDO_CAP * pair.ceiling
    usual = shape.profile(DEFAULT_BASE_SHARE)
    if shape.plain or pair.albedo is not None or pair.gain * usual.albedo <= cap:
        return usual
    bare = shape.profile(0.0)
    best = min((bare, usual), key=lambda p: p.albedo)
    if pair.gain * best.albedo > pair.ceiling:
        raise FabricError(
            "gain",
            pair.gain,
            f"at most {pair.ceiling / best.albedo:.4f} for a {pair.lobe} lobe at {pair.angles}",
            "this lobe would give back more light than arrives; a gaussian lobe with a stated albedo reaches further",
        )
    return shape.of_albedo(cap / pair.gain, pair.gain) if pair.gain * best.albedo < cap else best
