"""scipy without parts of numpy that it only touches: it works, they are not loaded, and they come when they are asked for."""

from __future__ import annotations

import subprocess
import sys


def _told(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_scipy_works_and_numpys_unused_parts_stay_out() -> None:
    # Expected: what the readings of folds call, with their textbook answers
    code = """
import sys
from halfgain.simulate.command.lean_scipy import lean_scipy
lean_scipy()
import numpy as np
from scipy.fft import dctn, idctn
from scipy.ndimage import label
from scipy.linalg import solve_banded
from scipy.optimize import least_squares
from scipy.special import ndtri
from scipy.stats import chi2
x = np.arange(12.0).reshape(3, 4)
print(least_squares(lambda x: x - 2.0, [0.0]).x.tolist(), ndtri(0.5), round(chi2.ppf(0.95, 1), 3))
print(np.allclose(idctn(dctn(x)), x), label(np.eye(3))[1], solve_banded((0, 0), np.full((1, 2), 2.0), np.ones(2)).tolist())
print("numpy.f2py" in sys.modules, "numpy.testing" in sys.modules)
import numpy.testing
numpy.testing.assert_allclose(1.0, 1.0)
print(numpy.testing is sys.modules["numpy.testing"])
"""
    assert _told(code) == "[2.0] 0.0 3.841\nTrue 3 [0.5, 0.5]\nFalse False\nTrue\n"


def test_what_is_loaded_already_stays() -> None:
    code = """
import numpy.testing as true, numpy
from halfgain.simulate.command.lean_scipy import lean_scipy
lean_scipy()
import scipy.special
print(numpy.testing is true, hasattr(numpy.testing, "assert_allclose"))
"""
    assert _told(code) == "True True\n"


def test_scipy_is_not_touched_where_nobody_asks_for_it() -> None:
    # Expected: where its packages are imported, and not before, is the first finder asked and gone
    code = """
import sys
from halfgain.simulate.command.lean_scipy import lean_scipy
lean_scipy()
first = sys.meta_path[0]
import json.tool, scipy
print("scipy._lib._docscrape" in sys.modules, first in sys.meta_path)
import scipy.special
print(sys.modules["scipy._lib._docscrape"].FunctionDoc.__module__, first in sys.meta_path)
"""
    assert _told(code) == "False True\nhalfgain.simulate.command.lean_scipy False\n"
