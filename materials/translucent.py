"""Light through a cloth: its diffuse transmittance and the reflectance of its back, judged by energy."""

from __future__ import annotations

from dataclasses import replace

from .fabric import Fabric
from .fabric_error import FabricError
from .lobes.perforation import BACK_REFLECTANCE

EXACT = 1e-6  # energy is judged to within that [1]


def usual_back(passes: float) -> float:
    """Reflectance of a cloth's back that nothing is said of [1]; `passes` is what goes through it. Source: BACK_REFLECTANCE and energy."""
    return min(BACK_REFLECTANCE, 1.0 - passes)


def with_transmittance(fabric: Fabric, transmittance: float | None, back_reflectance: float | None) -> Fabric:
    """The fabric with what comes through it told; unchanged where nothing is stated.

    transmittance     share of the light that comes out of the other side diffusely, beside what goes straight through holes [1]
    back_reflectance  of the sheet's back [1]; None: BACK_REFLECTANCE, less where energy allows less
    raises            FabricError where a side would give away more light than falls on it
    Source: energy: on either side reflectance + transmittance + open area <= 1. Transmittance / pi is one number for all pairs of
    directions and both ways, so the two sides are reciprocal (Helmholtz).
    """
    if back_reflectance is not None and transmittance is None:
        raise FabricError(
            "back_reflectance",
            back_reflectance,
            "beside transmittance",
            "it means nothing for a cloth that lets no light through",
        )
    if transmittance is None:
        return fabric
    passes = transmittance + fabric.open_area
    holes = f" and an open area of {fabric.open_area:.4g}" if fabric.open_area > 0.0 else ""
    if fabric.albedo + passes > 1.0 + EXACT:
        most = max(0.0, 1.0 - fabric.albedo - fabric.open_area)
        said = f"with a reflectance of {fabric.albedo:.4g}{holes} more light leaves the cloth than falls on it"
        raise FabricError("transmittance", transmittance, f"at most {most:.4g}", said)
    if back_reflectance is not None and back_reflectance + passes > 1.0 + EXACT:
        said = f"with a transmittance of {transmittance:.4g}{holes} more light leaves the cloth than falls on its back"
        raise FabricError("back_reflectance", back_reflectance, f"at most {1.0 - passes:.4g}", said)
    back = usual_back(passes) if back_reflectance is None else back_reflectance
    note = f"transmittance {transmittance:.3g}: what falls on its back comes through, unless black cloth hangs behind it"
    guess = (f"reflectance of its back {back:.3g}: common practice, no source",) if back_reflectance is None else ()
    low, high = fabric.albedo_band
    return replace(
        fabric,
        transmittance=transmittance,
        back_reflectance=back,
        albedo_band=(min(low, 1.0 - passes), min(high, 1.0 - passes)),
        assumed=(note, *guess, *fabric.assumed),
    )


def letting_through_as(fabric: Fabric, other: Fabric) -> Fabric | None:
    """A fabric with the transmittance and the back of another; None where energy forbids it. Source: `with_transmittance`."""
    if other.transmittance is None:
        return fabric
    try:
        made = with_transmittance(replace(fabric, assumed=()), other.transmittance, other.back_reflectance)
    except FabricError:
        return None
    return replace(made, assumed=fabric.assumed)
