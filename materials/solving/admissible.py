"""Fabrics that all meet the same stated numbers: what a sheet leaves open between families of lobes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from ..fabric import ANGULAR, DIFFUSE, MEASURED, PAIR_KINDS, RETRO, Fabric
from ..fabric_error import FabricError
from ..holes import Holes
from ..lobes.measured import MeasuredLobe
from ..lobes.profile import MIRROR, SOURCE
from ..lobes.shapes import HoleLobe
from .judge import UNSTATED_FROM_DEG
from .pair import COSINE_POWER, DEFAULT_BASE_SHARE, GAUSSIAN, HALF_VECTOR, LARGEST_BASE_SHARE
from .solve import fabric_from_pair

ENTRANCE_DEG = 30.0  # beads dim beyond 20 to 30 degrees of incidence (common practice, no source)


def admissible_from_pair(
    *, gain: float, half_gain_deg: float, albedo: float | None = None, kind: str | None = None, **stated: Any
) -> list[tuple[str, Fabric]]:
    """Every family that has this gain and half-gain angle, named; families that energy forbids are left out.

    gain, half_gain_deg  [1], [deg], as `fabric_from_pair` takes them
    albedo   keeps to families and base shares that reach it [1]; None: three base shares of the Gaussian, one of the others
    kind     angular-reflective or retro-reflective; None: both
    stated   what else `fabric_from_pair` takes: name, tint, source, half_gain_up_deg, holes
    returns  (words, fabric) of each; empty where no family is allowed, numbers out of range included
    Source: pair.py.
    """
    stated.setdefault("name", "own fabric")
    found = []
    for one in PAIR_KINDS if kind is None else (kind,):
        for words, choice in _choices(gain, albedo, one, stated.get("half_gain_up_deg") is not None):
            try:
                fabric = fabric_from_pair(gain=gain, half_gain_deg=half_gain_deg, kind=one, **choice, **stated)
            except FabricError:
                continue  # energy, or this lobe, does not allow it
            found.append((f"{one}, {words}" if kind is None else words, fabric))
    return found


def _choices(gain: float, albedo: float | None, kind: str, elliptic: bool) -> Iterator[tuple[str, dict[str, Any]]]:
    """Words and arguments of each family; a stated albedo fixes the base share."""
    shares = (("", DEFAULT_BASE_SHARE), (", no base", 0.0), (", large base", LARGEST_BASE_SHARE))
    families = [(GAUSSIAN, shares), (HALF_VECTOR, shares[:1])]
    if not elliptic:
        families.insert(1, (COSINE_POWER, shares[:1]))
    for lobe, bases in families:
        for words, share in bases if albedo is None else bases[:1]:
            fixed = {"albedo": albedo} if albedo is not None else {"base_gain": share * gain}
            yield f"{lobe} lobe{words}", {"lobe": lobe, **fixed}
    if kind == RETRO and not elliptic:
        fixed = {"albedo": albedo} if albedo is not None else {"base_gain": DEFAULT_BASE_SHARE * gain}
        yield f"gaussian lobe, entrance fall-off {ENTRANCE_DEG:g} degrees", {"entrance_half_deg": ENTRANCE_DEG, **fixed}


def admissible_fabrics(fabric: Fabric) -> list[tuple[str, Fabric]]:
    """Families that meet what is known of a fabric, named; empty where its numbers leave nothing open.

    A pair keeps its gain [1], half-gain angles [deg], kind, tint and holes, and its albedo [1] if that was stated; the kind
    changes too where it was left out. A gain alone is put beside the softest lobe that a sheet may
    leave out. A curve measured at normal incidence is put about the mirror direction and about the light.
    Source: `admissible_from_pair`; a curve at normal incidence does not determine what happens off normal.
    """
    if fabric.kind == MEASURED and fabric.lobes:
        return [
            (f"measured, about the {'mirror direction' if axis == MIRROR else 'light'}", _turned(fabric, axis))
            for axis in (MIRROR, SOURCE)
        ]
    if fabric.kind == DIFFUSE and not fabric.albedo_given:
        soft = soft_lobe(fabric)
        return [("diffuse", fabric), (f"a soft lobe that nobody stated, {UNSTATED_FROM_DEG:g} degrees", soft)]
    if fabric.kind not in PAIR_KINDS or fabric.half_gain_deg is None:
        return []
    return admissible_from_pair(
        gain=fabric.gain,
        half_gain_deg=fabric.half_gain_deg,
        albedo=fabric.albedo if fabric.albedo_given else None,
        kind=None if fabric.kind_assumed else fabric.kind,
        half_gain_up_deg=fabric.half_gain_up_deg,
        name=fabric.name,
        tint=fabric.tint,
        source=fabric.source,
        holes=Holes(fabric.open_area, fabric.perforation),
    )


def soft_lobe(fabric: Fabric) -> Fabric:
    """The fabric of the same gain whose unstated half-gain angle is UNSTATED_FROM_DEG and whose albedo is the least of its band [1].

    Source: judge.open_diffuse_band; what comes back through holes is kept.
    """
    soft = fabric_from_pair(
        name=fabric.name,
        gain=fabric.gain,
        half_gain_deg=UNSTATED_FROM_DEG,
        kind=ANGULAR,
        albedo=fabric.albedo_band[0],
        tint=fabric.tint,
        source=fabric.source,
        holes=Holes(fabric.open_area, fabric.perforation),
    )
    back = [lobe for lobe in fabric.lobes if isinstance(lobe, HoleLobe)]
    albedo = soft.albedo + sum(lobe.gain * lobe.unit_albedo() for lobe in back)
    return replace(soft, lobes=(*soft.lobes, *back), albedo=albedo, hangs=fabric.hangs)


def _turned(fabric: Fabric, axis: int) -> Fabric:
    lobes = tuple(replace(lobe, axis=axis) if isinstance(lobe, MeasuredLobe) else lobe for lobe in fabric.lobes)
    return replace(fabric, lobes=lobes)
