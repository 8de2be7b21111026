"""Hangs compared: the folds come first, nothing else rests on estimated folds, and sizes are judged by throw and angle."""

from __future__ import annotations

from functools import cache

import numpy as np
from halfgain.simulate.choices.axes import axes_of
from halfgain.simulate.choices.comparison import Comparison, compare
from halfgain.simulate.choices.variants import variants_of
from halfgain.simulate.output.compare.document import compare_document
from halfgain.simulate.output.compare.table import compare_report
from halfgain.simulate.output.folds.sentence import fold_sentence
from rich.console import Console

from .scenes import document


@cache
def hangs_and_sizes() -> Comparison:
    axes = axes_of(hang=("pull-down", "fixed frame"), size=("width 2.0 m", "width 2.4 m"))
    optics = "throw_ratio = [1.8, 2.1]\nlens_shift = [0.1, 0.9]"
    return compare(axes, variants_of(document(projector=optics, gap=0.05), axes), error=0.2)


def test_light_is_that_of_flat_cloths_and_no_ranking_turns_out_of_estimated_folds() -> None:
    found = hangs_and_sizes()
    assert found.taken_flat
    assert found.turns == ()
    rolled, framed = found.paired[0], found.paired[2]
    assert found.variants[0].scene.screen.hang == "pull-down"
    assert np.array_equal(rolled.seats.checkerboard(0), framed.seats.checkerboard(0)), (
        "the same size, flat: the same light to the bit"
    )
    assert compare_document(found)["light_of_flat_cloth"] is True


def test_the_folds_are_judged_all_the_same_and_told_before_any_other_figure() -> None:
    found = hangs_and_sizes()
    assert not found.folds[0].flat
    assert found.folds[2].flat
    said = compare_report(found, Console(width=100))
    assert said.index("What the folds do") < said.index("Throw and size") < said.index("In short")
    assert "times what an eye can just see" in fold_sentence(found.folds[0])


def test_each_size_is_judged_by_throw_and_by_the_angle_it_fills() -> None:
    """4.45 m from lens to screen: ratio 2.225 on 2.0 m, beyond the zoom; 1.854 on 2.4 m, within it."""
    told = compare_document(hangs_and_sizes())["variants"]
    fits = [each["throw"]["feasible"] for each in told]
    assert fits == [False, True, False, True]
    assert told[0]["throw"]["remedies"] == [{"key": "projector.lens_m", "axis": "out", "to_m": 4.25}], "2.1 x 2.0 + 0.05 m"
    assert told[1]["throw"]["remedies"] == []
    small, large = (min(each["picture_width_deg"].values()) for each in told[:2])
    assert 15.0 < small < large < 60.0


def test_stated_folds_stay_in_the_light() -> None:
    stated = '[[screen.fold]]\nkind = "wave"\nwavelength_mm = 150\namplitude_mm = 3'
    folded = document(fabric=f'fabric = "matt white"\n{stated}', gap=0.05)
    axes = axes_of(hang=("pull-down", "fixed frame"))
    found = compare(axes, variants_of(folded, axes), error=0.2)
    assert not found.taken_flat
