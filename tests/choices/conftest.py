"""Folds of the same scene with the same white are judged once for all tests of advice and comparison, on maps half as fine: most of their work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

import pytest
from halfgain.scenes.model import Scene
from halfgain.simulate.choices import comparison, hangs
from halfgain.simulate.choices.fold_sight import FoldSight, fold_sight

from tests.coarse import make_folds_coarse

_judged = cache(fold_sight)  # on coarse maps, for all modules of this folder; scenes are alike where all in them is


@pytest.fixture(scope="module", autouse=True)
def _folds_once() -> Iterator[None]:
    """Undone after each module: other folders judge folds on whole maps."""

    def kept(scene: Scene, white_cd_m2: Sequence[float], *, threads: int = 1) -> FoldSight:
        return _judged(scene, tuple(white_cd_m2), threads=threads)

    with pytest.MonkeyPatch.context() as patch:
        for asks in (hangs, comparison):
            patch.setattr(asks, "fold_sight", kept)
        make_folds_coarse(patch.setattr)
        yield
