"""scipy's compiled functions, loaded alone: the public functions' bits, none of the packages, and those wherever anything is amiss."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import numpy as np
import pytest
from halfgain.simulate.eye import scipy_parts
from halfgain.simulate.eye.scipy_parts import ScipyParts, as_known, loaded_alone, public

ASKED: dict[str, Callable[[ScipyParts, np.ndarray], np.ndarray]] = {
    "cosines": lambda parts, x: parts.dctn(x),
    "cosines back": lambda parts, x: parts.idctn(x.copy()),
    "spectra": lambda parts, x: parts.rfft2(np.stack([x[:12, :14], x[2:14, 3:17]])),
}


@pytest.mark.parametrize("shape", [(17, 24), (90, 133), (144, 256)])
@pytest.mark.parametrize("what", ASKED)
def test_the_bits_are_those_of_scipys_public_functions(what: str, shape: tuple[int, int]) -> None:
    values = np.random.default_rng(3).normal(size=shape).astype(np.float32)
    alone, expected = (ASKED[what](parts, values) for parts in (loaded_alone(), public()))
    assert alone.dtype == expected.dtype
    assert np.array_equal(alone, expected)


def test_no_package_of_scipy_is_loaded_and_all_can_be_loaded_afterwards() -> None:
    code = """
import sys
from halfgain.simulate.eye.scipy_parts import as_known, loaded_alone, public, scipy_parts
scipy_parts()
print([name for name in ("scipy.fft", "scipy.ndimage", "scipy.special") if name in sys.modules])
print(as_known(public()), as_known(loaded_alone()))
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert told == "[]\nTrue True\n"


@pytest.fixture
def _asked_anew() -> None:
    scipy_parts.scipy_parts.cache_clear()


def _raises() -> ScipyParts:
    raise ImportError("no such file")


def _of_another_meaning() -> ScipyParts:
    return public()._replace(dctn=lambda values: 2.0 * values)


def _of_another_shape() -> ScipyParts:
    return public()._replace(rfft2=lambda values: values[:1])


@pytest.mark.usefixtures("_asked_anew")
@pytest.mark.parametrize("alone", [_raises, _of_another_meaning, _of_another_shape])
def test_what_is_not_as_known_gives_way_to_the_public_functions(
    alone: Callable[[], ScipyParts], monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = public()
    monkeypatch.setattr(scipy_parts, "loaded_alone", alone)
    monkeypatch.setattr(scipy_parts, "public", lambda: wanted)
    try:
        assert scipy_parts.scipy_parts() is wanted
    finally:
        scipy_parts.scipy_parts.cache_clear()


def test_a_module_that_is_not_there_is_an_import_error() -> None:
    with pytest.raises(ImportError, match=r"scipy\.fft\._nothing"):
        scipy_parts.compiled("scipy.fft._nothing")
    with pytest.raises(ImportError, match="nopackage"):
        scipy_parts.compiled("nopackage.part")


def test_every_function_is_asked_before_it_is_trusted() -> None:
    """Each of them broken in turn is noticed."""
    good = public()
    assert as_known(good)
    for name in ScipyParts._fields:
        broken = getattr(good, name)
        assert not as_known(good._replace(**{name: lambda *given, broken=broken: broken(*given) * 1.5})), name
