"""`halfgain serve` that lights rooms, judges folds and reports coarsely, for tests of what the page does: python -m tests.live.coarse_serve serve"""

from __future__ import annotations

import sys
from functools import partial

from halfgain.simulate.command import app
from halfgain.simulate.live import server
from halfgain.simulate.live.reports import Reports

from tests.coarse import make_coarse, make_folds_coarse

if __name__ == "__main__":
    make_coarse()
    make_folds_coarse()
    server.Reports = partial(Reports, (sys.executable, "-m", "tests.live.coarse_report"))  # type: ignore[misc, assignment]
    app.main()
