"""Advice on textbook situations, its closed forms, and bad input.

That a situation calls for a rule is common practice, no source; what is computed is checked against closed forms.
"""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from halfgain.scenes.errors import SceneErrors
from halfgain.simulate.choices.advice import Advice, advise, candidates
from halfgain.simulate.choices.aims import aims_of, balanced, beats, better, gather, pareto
from halfgain.simulate.choices.choosing import weighed
from halfgain.simulate.choices.flips import ambient_flip, class_limits, lumens_for, worst_contrast
from halfgain.simulate.choices.floors import Floor, light_evenness
from halfgain.simulate.choices.rules import rules_for
from halfgain.simulate.choices.together import measure_together
from halfgain.simulate.choices.variants import VariantText
from halfgain.simulate.choices.wishes import Wishes, read_prices
from halfgain.simulate.folds.readings import FoldReading, SeatFolds
from halfgain.simulate.output.advise.document import advise_document
from halfgain.simulate.output.advise.table import advise_report, changes
from halfgain.simulate.page.reasons import _light
from halfgain.simulate.page.recommendation import unmet
from rich.console import Console

from ..rooms import ANGULAR, box_object
from .scenes import black, document, library

SOME = ("matt white", "grey 0.8", "silver")


@cache
def advised(name: str, fabrics: tuple[str, ...] = SOME, **wishes: object) -> Advice:
    return advise(library(name), Wishes(**wishes), fabrics=fabrics, error=0.2, threads=1)  # type: ignore[arg-type]


def rule(advice: Advice, words: str):
    return next((found for found in advice.rules if words in found.says), None)


def hang(advice: Advice, name: str):
    return next(each for each in advice.hangs if each.hang == name)


@pytest.mark.long
def test_ultra_short_throw_in_a_bright_room() -> None:
    advice = advised("short-throw-wall", fabrics=("matt white", "silver"))
    flat = rule(advice, "a flat surface for an ultra-short throw")
    assert flat.evidence == "agrees", "waves under a steep beam are visible from mechanics' low estimate on"
    assert hang(advice, "pull-down").folds[0].ratio["typical"] > 1.5
    assert hang(advice, "fixed frame").folds[0].ratio["high"] == 0.0
    assert rule(advice, "rejects light from above").evidence == "no evidence", "no louvred fabric was looked at"
    assert rule(advice, "gain for a bright room") is not None
    assert advice.facts.throw_ratio < 0.4


@pytest.mark.long
def test_dedicated_dark_room() -> None:
    advice = advised("dark-room", use="dedicated")
    assert rule(advice, "fixed frame for a dedicated") is not None
    assert hang(advice, "fixed frame").possible
    assert rule(advice, "gain for a bright room") is None
    assert rule(advice, "grey for a dark picture").evidence == "agrees", "grey sends less light into the room"
    assert rule(advice, "tube motors") is None


@pytest.mark.long
def test_wide_row_of_120_inches() -> None:
    advice = advised("wide-row", fabrics=("matt white", "silver"))
    assert rule(advice, "wide half-gain angle").evidence == "agrees"
    assert advice.facts.farthest_deg > 30.0
    assert rule(advice, "pull-down up to 100 inches") is not None
    even = advice.aims[1]
    assert better(advice.of("matt white"), advice.of("silver"), even)


@pytest.mark.long
def test_a_pull_down_is_allowed_at_smaller_sizes_and_the_evidence_may_disagree() -> None:
    advice = advised("short-throw-wall", fabrics=("matt white", "silver"))
    assert advice.facts.diagonal_in < 100.0
    found = rule(advice, "pull-down up to 100 inches")
    assert found.evidence == "disagrees", "the rule would allow one here, yet its typical folds are seen under a steep beam"


@pytest.mark.long
def test_a_louvred_fabric_serves_an_ultra_short_throw_from_below_under_lamps_and_a_white_ceiling() -> None:
    advice = advised("short-throw-wall", fabrics=("matt white", "louvred short-throw, bright"))
    louvred, white = advice.of("louvred short-throw, bright"), advice.of("matt white")
    for aim in advice.aims[2:]:  # in the dark (the ceiling sends light back), with lamps on, by day
        assert better(louvred, white, aim), aim.title
    assert better(white, louvred, advice.aims[0]), "it costs luminance"
    found = rule(advice, "rejects light from above")
    assert found.evidence == "agrees"
    for state in ("in the dark", "with lamps on", "with day"):
        assert state in found.computed
    assert "light at 45 degrees from above" in found.computed
    assert set(advice.good) >= {"matt white", "louvred short-throw, bright"}, "aims conflict: both stay"


@pytest.mark.long
def test_a_bright_room_calls_for_gain_in_every_light_state() -> None:
    advice = advised("light-lounge", fabrics=("matt white", "pearl", "silver"))
    found = rule(advice, "gain for a bright room")
    assert found.evidence == "agrees"
    for light in library("light-lounge").scene.lights:
        assert f"with {light.name}" in found.computed
    assert rule(advice, "grey for a dark picture") is None
    assert any("grey for a dark picture" in each.says for each in advice.silent_rules)


def test_speakers_behind_the_screen_choose_among_perforated_and_woven_fabrics() -> None:
    fabrics = ("matt white", "micro-perforated white", "woven acoustic")
    advice = advise(library("dark-room"), Wishes(speakers_behind=True), fabrics=fabrics, error=0.2, threads=1, all_folds=False)
    assert [short.floor for short in advice.short["matt white"]] == [Floor.NO_OPEN_AREA]
    assert "matt white" in advice.refused
    assert {each.name for each in advice.evidence} == {"micro-perforated white", "woven acoustic"}
    assert all(advice.of(name).fabric.open_area > 0.0 for name in advice.good)


@pytest.mark.long
def test_every_rule_of_the_trade_is_told_whether_it_applies_or_not() -> None:
    said = (
        "pull-down up to 100 inches",
        "tube motors",
        "free of any wall",
        "fixed frame for a dedicated",
        "wall must be clear",
        "flat surface for an ultra-short",
        "rejects light from above",
        "gain for a bright room",
        "grey for a dark picture",
        "wide half-gain angle",
        "small children or dust",
    )
    for advice in (advised("dark-room", use="dedicated"), advised("short-throw-wall", fabrics=("matt white", "silver"))):
        every = [each.says for each in (*advice.rules, *advice.silent_rules)]
        assert len(every) == len(said)
        for words in said:
            assert sum(words in each for each in every) == 1, words
        for each in advise_document(advice)["rules"] + advise_document(advice)["rules_that_do_not_apply"]:
            assert each["source"] == "common practice, no source"
            assert each["because"]


@pytest.mark.long
def test_what_would_change_the_advice_names_the_figures_at_which_it_turns() -> None:
    advice = advised("light-lounge", fabrics=("matt white", "pearl", "silver"))
    told = changes(advice)
    for start in ("With matt white the worst seat keeps", "Paint:", "With matt white the dimmest seat has 48 cd/m2"):
        assert any(line.startswith(start) for line in told), start
    flip = advice.flips[0] if advice.flips else None
    assert flip is None or any(line.startswith("Ambient light: below") for line in told)


@pytest.mark.long
def test_living_room_where_the_wall_must_be_clear() -> None:
    advice = advised("light-lounge", use="living-room", clear_wall=True, children=True)
    assert not hang(advice, "fixed frame").possible
    assert hang(advice, "tab-tensioned").possible
    assert rule(advice, "motorised or pull-down").evidence == "disagrees", "their folds show; tension rolls up as well"
    assert rule(advice, "small children") is not None


@pytest.mark.long
def test_a_dedicated_room_with_a_clear_wall_contradicts_the_rule_of_the_frame() -> None:
    facts = replace(advised("dark-room", use="dedicated").facts, wishes=Wishes(use="dedicated", clear_wall=True))
    frame = next(found for found in rules_for(facts) if "fixed frame for a dedicated" in found.says)
    assert frame.evidence == "disagrees"


@pytest.mark.long
def test_free_hanging_calls_for_tension_and_where_no_fold_shows_the_evidence_disagrees() -> None:
    facts = replace(advised("short-throw-wall", fabrics=("matt white", "silver")).facts, wishes=Wishes(free_hanging=True))
    assert next(found for found in rules_for(facts) if "calls for tension" in found.says).evidence == "agrees"
    unseen = {name: replace(fold, seats=tuple(_faint(seat) for seat in fold.seats)) for name, fold in facts.folds.items()}
    found = rules_for(replace(facts, folds=unseen))
    assert next(each for each in found if "calls for tension" in each.says).evidence == "disagrees"
    assert next(each for each in found if "flat surface" in each.says).evidence == "disagrees"


def _faint(seat: SeatFolds) -> SeatFolds:
    """The seat with folds at a tenth of every threshold."""
    levels = {
        level: FoldReading(replace(each.visible, ratio=0.1), replace(each.warp, acuity_ratio=0.1, peak_to_peak_arcmin=0.1))
        for level, each in seat.levels.items()
    }
    return replace(seat, levels=levels)


def test_speakers_behind_leave_fabrics_with_holes() -> None:
    kept, short = candidates(library("dark-room"), ("matt white", "woven acoustic"), Wishes(speakers_behind=True))
    assert list(kept) == ["woven acoustic"]
    assert list(short) == ["matt white"]
    with pytest.raises(SceneErrors, match="none of these lets sound pass"):
        advise(library("dark-room"), Wishes(speakers_behind=True), fabrics=("matt white",))


def test_unknown_fabrics_are_refused_with_the_nearest_spelling() -> None:
    with pytest.raises(SceneErrors, match="did you mean silver"):
        candidates(library("dark-room"), ("slver",), Wishes())


def test_left_to_itself_it_looks_at_every_sheet_and_at_the_scenes_own_fabric() -> None:
    kept, _ = candidates(library("wide-row"), (), Wishes())
    assert "painted white wall" not in kept
    assert "matt white" in kept
    assert library("wide-row").scene.screen.fabric in kept.values()


def test_a_fabric_of_the_scenes_own_that_serves_best_is_repainted_with_too() -> None:
    """The brightest diffuse one that can be, so nothing beats its white: it is in no library, and the room wants paint."""
    own = document(fabric='[screen.fabric]\nkind = "diffuse"\ngain = 1.0')
    advice = advise(own, Wishes(), error=0.2, threads=1, all_folds=False)
    assert "own fabric" in advice.roles
    assert advice.repaint is not None
    assert advice.repaint.after["own fabric"] > advice.repaint.before["own fabric"]


@pytest.mark.long
def test_nobody_in_the_good_set_is_beaten_and_everybody_outside_is() -> None:
    advice = advised("light-lounge", use="living-room", clear_wall=True, children=True)
    good = [advice.of(name) for name in advice.good]
    assert not any(beats(a, b, advice.aims) for a in good for b in good if a is not b)
    for name, by in advice.beaten.items():
        assert beats(advice.of(by), advice.of(name), advice.aims)
    assert set(advice.good) | set(advice.beaten) | set(advice.refused) == set(SOME)
    assert advice.balanced == weighed(good, advice.aims, advice.wishes).name == balanced(good, advice.aims).name


def test_identical_fabrics_are_both_kept() -> None:
    aims = aims_of([])
    scene = document().scene
    both = [gather(name, each, aims) for name, each in zip("ab", measure_together([scene, scene], error=0.2), strict=True)]
    assert [each.name for each in pareto(both, aims)] == ["a", "b"]


def _evidence(scene: VariantText):
    return gather("x", measure_together([scene.scene], error=0.2)[0], aims_of([]))


def test_class_limits_in_a_black_room_are_the_closed_form() -> None:
    # Source: Ea / E0 = (1 - C / Cn) / (C - 1) for a diffuse screen (derived, physics 3); even patches, Cn = 500:
    # 0.0106329 for 80 : 1, 0.0183673 for 50 : 1, 0.0692857 for 15 : 1
    found = _evidence(black(native=500.0))
    lux = found.paired.measurement.illuminance_lx["mean"]
    for limit, share in ((80.0, 0.0106329), (50.0, 0.0183673), (15.0, 0.0692857)):
        assert class_limits(found)[limit] / lux == pytest.approx(share, rel=1e-4)


def test_lumens_for_a_target_are_by_hand() -> None:
    # Source: L = g E / pi: 48 cd/m2 at gain 0.9 on 2.4 x 1.35 m needs 48 pi / 0.9 x 3.24 lm
    found = _evidence(black())
    assert lumens_for(found, found.value(aims_of([])[0])) == pytest.approx(48.0 * np.pi / 0.9 * 2.4 * 1.35, rel=1e-6)


@pytest.mark.filterwarnings("error")
def test_where_the_middle_lies_in_a_shadow_evenness_is_asked_for_as_of_even_light() -> None:
    post = box_object("post", [-0.05, 2.2, 1.2], [0.05, 2.3, 1.42], 0.3)
    shaded, free = (_evidence(document(**each)) for each in ({"lens": "[0.0, 4.5, 1.4]", "objects": post}, {}))
    assert shaded.paired.measurement.illuminance_lx["centre"] == 0.0
    assert light_evenness(shaded) == 1.0
    assert light_evenness(free) == 1.0


def test_an_ambient_flip_lies_where_contrasts_cross_and_diffuse_fabrics_in_a_black_room_have_none() -> None:
    aims = aims_of([])
    # a lobe wins little in the dark (the same lens) but keeps its seats bright; a lighter room sends more back
    grey = document(fabric='[screen.fabric]\nkind = "diffuse"\ngain = 0.3').scene
    first = gather("grey", measure_together([grey], error=0.05)[0], aims)
    second = gather("lobe", measure_together([document(fabric=ANGULAR).scene], error=0.05)[0], aims)
    flip = ambient_flip(first, second)
    assert flip is not None
    at = flip.screen_lx.value
    assert worst_contrast(first, at)[0] == pytest.approx(worst_contrast(second, at)[0], rel=1e-4)
    ahead = {"grey": first, "lobe": second}[flip.first]
    behind = {"grey": first, "lobe": second}[flip.second]
    assert worst_contrast(ahead, 0.9 * at)[0] > worst_contrast(behind, 0.9 * at)[0]
    assert worst_contrast(ahead, 1.1 * at)[0] < worst_contrast(behind, 1.1 * at)[0]
    greys = [_evidence(black(fabric=f'[screen.fabric]\nkind = "diffuse"\ngain = {gain}')) for gain in (0.4, 0.8)]
    assert ambient_flip(*greys) is None or abs(worst_contrast(greys[0], 5.0)[0] / worst_contrast(greys[1], 5.0)[0] - 1) < 1e-9


def test_prices_are_read_and_added(tmp_path: Path) -> None:
    file = tmp_path / "prices.csv"
    file.write_text("name,price\nmotorised,700\nmatt white,250.5\n")
    prices = read_prices(file, {"matt white": None})
    assert Wishes(prices=prices).price("motorised", "matt white") == 950.5
    assert Wishes(prices=prices).price("fixed frame", "matt white") is None


BAD_PRICES = [
    ("", "is empty"),
    ("fabric,price\n", "the header is wrong"),
    ("name,price\nmatt whit,3\n", "did you mean matt white"),
    ("name,price\nmatt white,-3\n", "is no price"),
    ("name,price\nmatt white,nan\n", "is no price"),
    ("name,price\nmatt white,3,4\n", "has 3 cells"),
    ("name,price\nmatt white,3\nmatt white,4\n", "has a price already"),
]


@pytest.mark.parametrize(("text", "says"), BAD_PRICES)
def test_bad_price_lists_are_refused_with_file_and_line(text: str, says: str, tmp_path: Path) -> None:
    file = tmp_path / "prices.csv"
    file.write_text(text)
    with pytest.raises(SceneErrors) as caught:
        read_prices(file, {"matt white": None})
    assert says in str(caught.value)


def test_where_no_fabric_is_bright_enough_table_and_page_say_so() -> None:
    """20 lm on 3.24 m2 are 1.8 cd/m2 of matt white at most: no fabric comes near 37.8."""
    dim = advise(black(lumens=20.0), Wishes(), fabrics=("matt white", "grey 0.8"), error=0.2, threads=1)
    assert dim.waived == (Floor.TOO_DARK,)
    told = " ".join(advise_report(dim, Console(width=80, file=io.StringIO())).split())
    assert "meet the floors that any fabric meets here" in told
    assert "meet the floors and" not in told
    assert unmet(dim) == (
        "No fabric gives every seat the least white of a cinema here: more light output is the first thing to buy.",
    )
    assert _light(SimpleNamespace(advice=dim), dim.balanced).endswith(unmet(dim)[0])
    bright = advise(black(), Wishes(), fabrics=("matt white", "grey 0.8"), error=0.2, threads=1)
    assert unmet(bright) == ()
    assert "meet the floors and" in " ".join(advise_report(bright, Console(width=80, file=io.StringIO())).split())
