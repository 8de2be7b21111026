"""The child that makes a report, a small one: python -m tests.live.coarse_report < question > page."""

from __future__ import annotations

from halfgain.simulate.live import report_child

from tests.small_report import make_small

if __name__ == "__main__":
    make_small()
    report_child.main()
