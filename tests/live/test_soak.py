"""Memory of the server stays flat while several pages change everything for a long time; its rooms are coarse, so that many are made.

Here it runs for so many changes; the ten-minute soak is run by hand: HALFGAIN_SOAK_S=600 pytest -n 0 tests/live/test_soak.py -s
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import theilslopes

from .talking import Served, heard, tell

SECONDS, CHANGES = float(os.environ.get("HALFGAIN_SOAK_S", "0")), 150
PAGES, GEOMETRY = 3, 4  # a new geometry every fourth change
FILLED = 70  # changes, after which all that is kept has been filled: eight geometries
MOST_GROWTH = (
    0.06  # from then to the end; a leak of maps or of answers, some 5 MB a geometry, would be five times as much in CHANGES
)
RETURNED = (
    "65536"  # bytes from which the C library gives memory back at once: what lies fallow among small pieces would hide a leak
)


def _resident_mb(process: int) -> float:
    line = next(row for row in Path(f"/proc/{process}/status").read_text().splitlines() if row.startswith("VmRSS"))
    return int(line.split()[1]) / 1024.0


def _edits(k: int) -> list[list[object]]:
    """Repaints and lumens all the time, now and then a fabric, a seat, a screen: every way that something is kept."""
    found: list[list[object]] = [
        ["set", "room.finish.ceiling", 0.1 + 0.01 * (k % 80)],
        ["set", "projector.light_output_lm", 800 + k % 500],
    ]
    if k % 5 == 0:
        found.append(["set", "screen.fabric", ("pearl", "silver", "matt white", "grey 0.8")[k // 5 % 4]])
    if k % GEOMETRY == 0:
        found.append(["set", "screen.bottom_m", 0.3 + 0.01 * (k // GEOMETRY % 30)])
    return found


@pytest.mark.long
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read from /proc")
def test_memory_is_flat_under_changes_from_several_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MALLOC_MMAP_THRESHOLD_", RETURNED)
    with Served("black-box", coarse=True) as served:
        pages = [served.page().__enter__() for _ in range(PAGES)]
        text = heard(pages[0], "hello")["first"]["text"]
        began, k, found = time.monotonic(), 0, []
        while time.monotonic() - began < SECONDS or k < CHANGES:
            page = pages[k % PAGES]
            k += 1
            wants = ["numbers", "folds", "view"]
            tell(
                page,
                "ask",
                number=k,
                slot="ab"[k // PAGES % 2],
                text=text,
                name="x.toml",
                edits=_edits(k),
                wants=wants,
                show=("white", "grid")[k % 2],
            )
            heard(page, "light", number=k, **({} if k % GEOMETRY else {"fine": True}))  # else the next question comes in between
            found.append(_resident_mb(served.process.pid))
            if k % 40 == 0:  # a page goes and another comes
                page.close()
                pages[(k - 1) % PAGES] = served.page().__enter__()
        for page in pages:
            page.close()
    late = np.array(found[FILLED:])
    slope = float(theilslopes(late).slope)  # a step of the allocator's counts for nothing, what grows on and on counts whole
    growth = slope * len(late) / late.mean()
    took = f"{k} changes in {time.monotonic() - began:.0f} s"
    print(
        f"{took}; resident MB: {found[0]:.0f} at first, {late.mean():.0f} once filled, {late[-1]:.0f} at the end; growth {growth:.3f}"
    )
    assert growth < MOST_GROWTH
