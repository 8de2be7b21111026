"""`halfgain serve` that lights rooms, judges folds, draws charts and reports coarsely: python -m tests.live.coarse_serve serve

For tests of what the page does.
"""

from __future__ import annotations

import sys
from functools import partial

import numpy as np
from halfgain.simulate.command import app
from halfgain.simulate.live import charts as shown
from halfgain.simulate.live import server
from halfgain.simulate.live.reports import Reports
from halfgain.simulate.views.charts import CHARTS

from tests.coarse import make_coarse, make_folds_coarse

STEP = 4


def make_charts_coarse() -> None:
    """One pixel in sixteen of the charts that have many: what they are, on average, and fewer for the page to draw."""

    def few(chart: str, aspect: float) -> np.ndarray:
        return drawn[chart](aspect)[::STEP, ::STEP]

    drawn = dict(CHARTS)
    for name in ("letters", "grid"):
        CHARTS[name] = partial(few, name)
    shown._LEAST //= STEP


if __name__ == "__main__":
    make_coarse()
    make_folds_coarse()
    make_charts_coarse()
    server.Reports = partial(Reports, (sys.executable, "-m", "tests.live.coarse_report"))  # type: ignore[misc, assignment]
    app.main()
