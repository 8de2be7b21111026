"""The search for the worst place of a pattern against looking at every window of every size, in turn in one process.

    python -m benchmarks.fold_search

CPU seconds on one thread; both sides make the same answers of the matched filter, so the ratio tells what the search alone saves.
"""

from __future__ import annotations

import math
import time

import numpy as np
from halfgain.simulate.eye.pattern import without_smooth
from halfgain.simulate.eye.sight import Grid, Sight
from halfgain.simulate.eye.single import answers, single_feature
from halfgain.simulate.eye.threshold import worst_place
from halfgain.simulate.eye.waves import Search

WIDTH, HEIGHT, AWAY, LIGHT = 2.4, 1.35, 3.5, 100.0


def patterns(right: np.ndarray, up: np.ndarray) -> dict[str, np.ndarray]:
    """Patterns about 1 (rows, columns) over places [m]: waves, a patch of waves, a mix, a bar, a curled edge."""
    rng = np.random.default_rng(0)
    mix = sum(
        0.002 * np.cos(2 * np.pi * (right * math.cos(t) + up * math.sin(t)) / wave)
        for t, wave in zip(rng.uniform(0, 3, 20), rng.uniform(0.05, 0.5, 20), strict=True)
    )
    bell = np.exp(-((right - 0.6) ** 2 + (up - 0.3) ** 2) / (2 * 0.15**2))
    return {
        "even waves, 300 mm": 1 + 0.01 * np.cos(2 * np.pi * right / 0.3),
        "growing waves, 200 mm": 1 + 0.01 * right / 1.2 * np.cos(2 * np.pi * right / 0.2),
        "patch of waves, 60 mm": 1 + 0.01 * bell * np.cos(2 * np.pi * right / 0.06),
        "twenty waves": 1 + mix,
        "one bar, 50 mm": 1 + 0.01 * (np.abs(right - 0.5) < 0.025),
        "curled edges, 30 mm": 1 + 0.2 * np.maximum(0.0, (np.abs(right) - 1.17) / 0.03),
        "flat": 1 + 0.0 * right,
    }


def every_window(pattern: np.ndarray, sight: Sight, grid: Grid) -> float:
    """The larger channel's ratio with no window left out. Source: `Search.worst_of`."""
    rest = without_smooth(pattern).astype(np.float32)
    found = answers(rest, None, sight, grid)
    if not found.energy:
        return 0.0
    search = Search(rest, sight, grid, found)
    ratios = [search.worst_of(k, np.arange(len(each.row))).ratio for k, each in enumerate(search.levels)]
    return max(single_feature(found).ratio, *ratios)


def main() -> None:
    """Print a line a pattern and size of map."""
    for columns in (240, 640):
        rows = round(columns * 9 / 16)
        right = WIDTH * ((np.arange(columns) + 0.5) / columns - 0.5)
        up = HEIGHT * (0.5 - (np.arange(rows) + 0.5) / rows)
        scale = np.full((rows, columns), math.degrees(1 / AWAY))
        sight, grid = Sight(LIGHT, scale, scale), Grid(right, up)
        for name, pattern in patterns(*np.meshgrid(right, up)).items():
            seconds: tuple[list[float], list[float]] = ([], [])
            for _ in range(5):
                for which, kept in enumerate(seconds):
                    began = time.process_time()
                    ratio = every_window(pattern, sight, grid) if which == 0 else worst_place(pattern, sight, right, up).ratio
                    kept.append(time.process_time() - began)
                    if which == 0:
                        whole = ratio
            slow, quick = (1e3 * min(each) for each in seconds)
            print(
                f"{columns} x {rows}, {name}: every window {slow:.1f} ms, ratio {whole:.3f}; search {quick:.1f} ms, ratio {ratio:.3f}; "
                f"{slow / quick:.1f} times"
            )


if __name__ == "__main__":
    main()
