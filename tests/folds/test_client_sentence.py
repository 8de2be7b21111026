"""What folds do, in words: what is seen, from where, how far it hangs on the cloth; no "times" without what of."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from halfgain.simulate.choices.fold_sight import FoldSight
from halfgain.simulate.eye.verdict import verdict
from halfgain.simulate.output.folds.sentence import BENT, STRIPES, client_sentence

LEVELS = ("low", "typical", "high")


def sight(bright: tuple[float, float, float], warp: tuple[float, float, float]) -> FoldSight:
    """Two seats, the second sees twice as much."""

    def reading(ratio: float, arcmin: float) -> Any:
        return SimpleNamespace(
            visible=SimpleNamespace(ratio=ratio), warp=SimpleNamespace(peak_to_peak_arcmin=arcmin), geometry=verdict(arcmin)
        )

    seats = [
        SimpleNamespace(
            name=name, levels={level: reading(by * b, by * w) for level, b, w in zip(LEVELS, bright, warp, strict=True)}
        )
        for name, by in (("front", 0.5), ("rear", 1.0))
    ]
    return FoldSight("pull-down", "matt white", tuple(seats))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "bright, warp, wanted, unwanted",
    [
        ((0.0, 0.1, 0.2), (0.0, 0.1, 0.2), "No seat sees the folds of the cloth, even if it hangs badly.", STRIPES),
        ((2.0, 35.0, 52.0), (0.1, 0.1, 0.1), "even if the cloth hangs as well as can be expected", BENT),
        ((0.0, 17.0, 26.0), (0.0, 2.0, 3.0), "and not if it hangs well", "just be seen"),
        ((0.0, 0.1, 0.2), (0.1, 1.0, 3.0), BENT, STRIPES),
        ((0.1, 0.3, 1.0), (0.0, 0.0, 0.1), "may just be seen", "bends"),
        ((0.0, 0.3, 0.71), (0.0, 1.1, 2.1), f"are seen, as {BENT} and perhaps as {STRIPES}, if", f"as {STRIPES} and {BENT}"),
        ((0.0, 1.0, 2.1), (0.0, 0.3, 0.71), f"are seen, as {STRIPES} and perhaps as {BENT}, if", f"as {STRIPES} and {BENT}"),
    ],
)
def test_what_is_seen_comes_first(
    bright: tuple[float, float, float], warp: tuple[float, float, float], wanted: str, unwanted: str
) -> None:
    said = client_sentence(sight(bright, warp))
    assert wanted in said
    assert unwanted not in said
    assert said.count("times") == 1
    assert "times the least an eye can see" in said
    assert "From front" not in said


def test_stated_folds_are_one_shape() -> None:
    said = client_sentence(sight((5.0, 5.0, 5.0), (0.1, 0.1, 0.1)), stated=True)
    assert said.startswith("From rear, the worst seat, the folds are seen, as stripes")
    assert "hangs" not in said
    assert " 5 times" in said
