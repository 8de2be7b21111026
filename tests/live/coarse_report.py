"""The child that makes a report, a small one: python -m tests.live.coarse_report < question > page.

The room in 3-D is left out: it takes as long as all the rest, and tests/page look at it.
"""

from __future__ import annotations

from contextlib import nullcontext
from types import SimpleNamespace

from halfgain.simulate.live import report_child
from halfgain.simulate.page.room_picture import RoomPicture

from tests.small_report import make_small

UNDRAWN = SimpleNamespace(lit=lambda _: None, picture=lambda: RoomPicture(None, "nothing is drawn here", 1.0))

if __name__ == "__main__":
    make_small()
    report_child.drawn_beside = lambda *_, **__: nullcontext(UNDRAWN)  # type: ignore[assignment]
    report_child.main()
