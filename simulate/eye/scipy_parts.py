"""What the readings of folds ask of scipy: cosine and Fourier transforms.

Importing scipy.fft takes 40 ms, nearly all of it for modules that these functions never enter. So scipy's compiled module is loaded
from its own file, without the packages around it, and called as scipy itself calls it: the same bits. Where it is not as known
(another release), scipy's public functions stand in its place.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from importlib.machinery import EXTENSION_SUFFIXES
from importlib.util import find_spec, module_from_spec, spec_from_file_location
from pathlib import Path
from threading import Lock
from typing import Any, NamedTuple

import numpy as np


class ScipyParts(NamedTuple):
    """scipy's functions for arrays of real numbers, all axes unless said otherwise.

    dctn, idctn     (values) cosine transform of type II and its inverse, orthonormal; the inverse may write to what it is given
    rfft2           (values) over the last two axes
    """

    dctn: Callable[[np.ndarray], np.ndarray]
    idctn: Callable[[np.ndarray], np.ndarray]
    rfft2: Callable[[np.ndarray], np.ndarray]


def compiled(name: str) -> Any:
    """A compiled module of scipy by its full name, from its file alone; kept under that name, so scipy itself will find it.

    raises  ImportError where there is none
    """
    if name in sys.modules:
        return sys.modules[name]
    top, *inner = name.split(".")
    whole = find_spec(top)
    for folder in (whole.submodule_search_locations or ()) if whole else ():
        for suffix in EXTENSION_SUFFIXES:
            path = Path(folder, *inner[:-1], inner[-1] + suffix)
            spec = spec_from_file_location(name, path) if path.exists() else None
            if spec is not None and spec.loader is not None:
                module = module_from_spec(spec)
                spec.loader.exec_module(module)
                return sys.modules.setdefault(name, module)
    raise ImportError(f"no compiled module {name}")


_TYPE_II, _TYPE_III, _ORTHONORMAL, _AS_IT_IS, _ONE_THREAD = 2, 3, 1, 0, 1  # scipy's own numbers for these


def loaded_alone() -> ScipyParts:
    """From the compiled modules.  raises  whatever goes wrong with modules that are not as known"""
    fourier = compiled("scipy.fft._pocketfft.pypocketfft")
    return ScipyParts(
        dctn=lambda values: fourier.dct(values, _TYPE_II, (0, 1), _ORTHONORMAL, None, _ONE_THREAD, None),
        idctn=lambda values: fourier.dct(values, _TYPE_III, (0, 1), _ORTHONORMAL, values, _ONE_THREAD, None),
        rfft2=lambda values: fourier.r2c(values, (values.ndim - 2, values.ndim - 1), True, _AS_IT_IS, None, _ONE_THREAD),
    )


def public() -> ScipyParts:
    """From scipy as it is documented."""
    from scipy.fft import dctn, idctn, rfft2

    return ScipyParts(
        dctn=lambda values: dctn(values, norm="ortho"),
        idctn=lambda values: idctn(values, norm="ortho", overwrite_x=True),
        rfft2=rfft2,
    )


def as_known(parts: ScipyParts) -> bool:
    """True where the parts give the textbook answers for small arrays: what a changed meaning of an argument would not."""
    ones = np.ones((2, 2), np.float32)
    corner = np.array([[1.0, 0.0], [0.0, 0.0]], np.float32)
    asked = (
        (parts.dctn(ones), 2.0 * corner),
        (parts.idctn(corner.copy()), 0.5 * ones),
        (parts.rfft2(np.stack([ones, corner])), np.stack([4.0 * corner, ones])),
    )
    return all(answer.shape == known.shape and bool(np.allclose(answer, known)) for answer, known in asked)


_one_at_a_time = Lock()


@cache
def scipy_parts() -> ScipyParts:
    """scipy's functions, the quickest way that they can be had."""
    with _one_at_a_time, suppress(Exception):
        alone = loaded_alone()
        if as_known(alone):
            return alone
    return public()
