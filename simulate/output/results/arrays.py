"""Results as xarray Datasets: dimensions by name, units as attributes, replicates kept."""

from __future__ import annotations

import math
from functools import singledispatch
from typing import TYPE_CHECKING, Any

import numpy as np

from ...measuring.estimate import exact
from ...measuring.measure import Measurement
from ...measuring.quantities import LIT_ONLY, QUANTITIES, Quantity
from ...measuring.targets import DARK
from ...measuring.tidy import PLACE_FIGURES
from ...studies.outcome import StudyResult
from .frames import NOTEBOOK

if TYPE_CHECKING:
    import xarray


@singledispatch
def to_xarray(result: Any) -> xarray.Dataset:
    """A Dataset of a result. raises TypeError for what has none, ImportError where xarray is missing"""
    raise TypeError(f"{type(result).__name__} has no arrays")


def _xarray() -> Any:
    try:
        import xarray
    except ImportError:
        raise ImportError(f"to_xarray needs xarray: {NOTEBOOK}") from None
    return xarray


@to_xarray.register(StudyResult)
def _(result: StudyResult) -> xarray.Dataset:
    from ..study.frames import study_arrays

    return study_arrays(result, _xarray())


@to_xarray.register(Measurement)
def _(result: Measurement) -> xarray.Dataset:
    """Dimensions seat, state, surface, replicate, row, column; units and titles as attributes. raises ImportError without xarray

    NAME_replicates holds the values that the errors come from: the mean, the means that leave one replication out, the mean without
    map extrapolation. A difference of two quantities, or of two measurements with the same seed, is made of them replicate by
    replicate and takes its own error from them (delete-one jackknife).
    """
    xarray = _xarray()
    states = [DARK, *(light.name for light in result.scene.lights)]
    data: dict[str, Any] = {}
    for quantity in (*QUANTITIES, *LIT_ONLY):
        _put_quantity(data, result, quantity)
    for place in PLACE_FIGURES:
        values = [getattr(each, place.field) for each in result.geometry]
        numbers = np.array([np.nan if value is None else value for value in values], float)
        data[place.key] = ("seat", numbers, {"units": _units(place.unit), "long_name": place.title})
    surfaces = list(result.seats[0].share)
    for name, part in (("", 0), ("_standard_error", 1), ("_bias_bound", 2)):
        shares = np.array([[reading.share[surface][part] for surface in surfaces] for reading in result.seats])
        data[f"washout_share_ratio{name}"] = (("seat", "surface"), shares, {"units": "1", "long_name": "share of the wash-out"})
    for name in ("white_cd_m2", "direct_cd_m2"):
        maps = np.stack([getattr(each, name) for each in result.maps])
        data[f"map_{name}"] = (("seat", "row", "column"), maps, {"units": "cd/m2", "long_name": "luminance over the picture"})
    coordinates = {"seat": [each.name for each in result.seats], "state": states, "surface": surfaces}
    attributes = {"title": result.scene.title, "scene_sha256": result.scene.sha256, "seed": result.seed, "paths": result.paths}
    return xarray.Dataset(data, coordinates, attributes)


def _units(unit: str) -> str:
    """The unit of the stored number: shares and ratios are plain."""
    return "1" if unit in ("%", ":1", "") else unit


def _put_quantity(data: dict[str, Any], result: Measurement, quantity: Quantity) -> None:
    """A quantity's values, errors and bounds, and its replicates where it has any; in all states where light changes it."""
    attributes = {"units": _units(quantity.unit), "long_name": quantity.title}
    lit, nothing = quantity.lit is not None, exact(math.nan)  # what only a light state has is no number in the dark
    found = np.array([
        [reading.values.get(quantity.key, nothing), *(state.values[quantity.key] for state in reading.states if lit)] for reading in result.seats
    ])  # fmt: skip  # (seat, state, 3)
    dims: Any = ("seat", "state") if lit else "seat"
    for name, part in (("", 0), ("_standard_error", 1), ("_bias_bound", 2)):
        data[quantity.key + name] = (dims, found[..., part] if lit else found[:, 0, part], attributes)
    stack = result.replicates.get(quantity.key)
    if stack is not None:
        dims = ("seat", "state", "replicate") if lit else ("seat", "replicate")
        data[f"{quantity.key}_replicates"] = (dims, stack if lit else stack[:, 0], attributes)
