"""Materials by name or by their numbers, and fits of measured curves."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from halfgain.materials.fabric import Fabric
from halfgain.materials.finish import Finish
from halfgain.scenes.given import FILE, FILES, NUMBER, NUMBER_OR_NUMBERS, NUMBERS, TEXT, Kind, is_list, takes

if TYPE_CHECKING:
    from halfgain.materials.solving.fit_report import FitReport
    from numpy.typing import ArrayLike

_LIGHT = Kind(NUMBER_OR_NUMBERS.fits, "a reflectance, or red, green and blue")


@takes(name=TEXT.optional, libraries=FILES)
def fabric(name: str | None = None, *, libraries: Sequence[str | Path] = (), **keys: Any) -> Fabric:
    """A fabric of the library by name, or one made from the keys of a fabric table.

    Parameters
    ----------
    name : str, optional
        Name in the library; with keys, the new fabric's own name.
    libraries : sequence of paths
        Library files to look in beside the built-in one; their fabrics come first.
    **keys
        As in ``[screen.fabric]`` of a scene: ``gain=1.3, half_gain_deg=35, kind="angular-reflective", albedo=0.8`` ...

    Returns
    -------
    Fabric

    Raises
    ------
    halfgain.Error
        No such name (with the nearest spellings), or numbers that no passive sheet can have.
    """
    from halfgain.materials.fabric_error import FabricError
    from halfgain.materials.fabric_table import FabricTable
    from halfgain.materials.library import LibraryErrors, load_library
    from halfgain.materials.text.problem import problems_of
    from pydantic import ValidationError

    if not keys:
        if name is None:
            raise FabricError("name", None, "a name of the library, or the keys of a fabric", "which fabric?")
        return load_library([Path(each) for each in libraries]).find_fabric(name)
    try:
        table = FabricTable.model_validate(keys)
    except ValidationError as fault:
        raise LibraryErrors(problems_of(fault, model=FabricTable, file="fabric", lines={})) from None
    return table.to_fabric(name or "own fabric")


@takes(libraries=FILES)
def fabric_names(libraries: Sequence[str | Path] = ()) -> tuple[str, ...]:
    """Names of all fabrics in the built-in library and in these library files."""
    from halfgain.materials.library import load_library

    return tuple(sorted(load_library([Path(each) for each in libraries]).fabrics))


@takes(
    name=Kind(lambda value: isinstance(value, str) or _LIGHT.fits(value), f"a name, or {_LIGHT.allowed}"),
    reflectance=_LIGHT.optional,
    libraries=FILES,
)
def finish(
    name: str | float | Sequence[float],
    *,
    reflectance: float | Sequence[float] | None = None,
    libraries: Sequence[str | Path] = (),
) -> Finish:
    """A finish of the library by name, or one of a diffuse reflectance.

    Parameters
    ----------
    name : str, float or three floats
        Name in the library; or a grey reflectance, or linear red, green, blue (BT.709), 0 to 1 [1].
    reflectance : float or three floats, optional
        With a name: the new finish's reflectance [1].
    libraries : sequence of paths
        Library files to look in beside the built-in one.

    Raises
    ------
    halfgain.Error
        No such name, or a reflectance outside 0 to 1.
    """
    from halfgain.materials.library import LibraryErrors, load_library
    from halfgain.materials.text.problem import Problem

    if isinstance(name, str) and reflectance is None:
        return load_library([Path(each) for each in libraries]).find_finish(name)
    given = reflectance if reflectance is not None else name
    values = tuple(float(part) for part in given) if is_list(given) else (float(cast("float", given)),) * 3
    if len(values) != 3 or not all(0.0 <= value <= 1.0 for value in values):
        raise LibraryErrors([Problem("finish", 0, "reflectance", given, "is no reflectance", "one number or three, 0 to 1")])
    plain = f"reflectance {values[0]:g}" if len(set(values)) == 1 else f"reflectance [{', '.join(f'{x:g}' for x in values)}]"
    return Finish(name if isinstance(name, str) else plain, (values[0], values[1], values[2]))


@takes(libraries=FILES)
def finish_names(libraries: Sequence[str | Path] = ()) -> tuple[str, ...]:
    """Names of all finishes in the built-in library and in these library files."""
    from halfgain.materials.library import load_library

    return tuple(sorted(load_library([Path(each) for each in libraries]).finishes))


@takes(
    curve=FILE.optional,
    view_deg=NUMBERS.optional,
    gain=NUMBER_OR_NUMBERS.optional,
    incidence_deg=NUMBERS.optional,
    azimuth_deg=NUMBERS.optional,
    gain_sd=NUMBERS.optional,
    half_gain_deg=NUMBER.optional,
    albedo=NUMBER.optional,
    kind=TEXT.optional,
    family=TEXT.optional,
    open_area=NUMBER,
)
def fit(
    curve: str | Path | None = None,
    *,
    view_deg: ArrayLike | None = None,
    gain: ArrayLike | None = None,
    incidence_deg: ArrayLike | None = None,
    azimuth_deg: ArrayLike | None = None,
    gain_sd: ArrayLike | None = None,
    half_gain_deg: float | None = None,
    albedo: float | None = None,
    kind: str | None = None,
    family: str | None = None,
    open_area: float = 0.0,
) -> FitReport:
    """What a measured gain curve, or the two numbers of a sheet, say of a fabric; ``fit(...).to_fabric("name")`` is the fabric.

    Parameters
    ----------
    curve : path, optional
        A CSV file with the header ``view_deg,gain`` and, if known, ``incidence_deg,azimuth_deg,gain_sd``.
    view_deg, gain : arrays (n,), optional
        The same from code: angles of view from the normal [deg] and luminance factors [1]. A single `gain` with
        `half_gain_deg` is a data sheet's pair instead.
    incidence_deg, azimuth_deg : arrays (n,), optional
        Angle of the light from the normal, azimuth of the view from the light's side [deg]; left out: 0.
    gain_sd : array (n,), optional
        Standard uncertainty of the gains [1].
    half_gain_deg, albedo, kind
        Of a data sheet: half-gain angle [deg], share of light given back [1], "angular-reflective" or "retro-reflective".
    family : str, optional
        Of a curve: the family to take; left out: that of the least information criterion; "measured": the points themselves.
    open_area : float
        Share of holes [1].

    Raises
    ------
    halfgain.Error
        A curve that cannot be read, or angles that must be radians; numbers out of range. An impossible pair is no error
        but a verdict.
    """
    import numpy as np
    from halfgain.materials.fabric import RETRO
    from halfgain.materials.fabric_error import FabricError
    from halfgain.materials.lobes.profile import MIRROR, SOURCE
    from halfgain.materials.solving.curve import GainCurve, read_curve
    from halfgain.materials.solving.fit_report import report_curve, report_pair

    if curve is None and view_deg is None:
        if not isinstance(gain, int | float):
            raise FabricError("gain", gain, "a curve, view_deg and gain, or one gain", "what should be fitted?")
        return report_pair(gain=float(gain), half_gain_deg=half_gain_deg, albedo=albedo, kind=kind, open_area=open_area)
    if curve is not None:
        points = read_curve(curve)
    else:
        view = np.asarray(view_deg, float)
        none = np.zeros(view.shape)
        given = [none if each is None else np.asarray(each, float) for each in (incidence_deg, azimuth_deg)]
        deviation = None if gain_sd is None else np.asarray(gain_sd, float)
        points = GainCurve(view, np.asarray(gain, float), given[0], given[1], deviation)
    axis = None if kind is None else SOURCE if kind == RETRO else MIRROR
    return report_curve(points, axis=axis, open_area=open_area, family=family)
