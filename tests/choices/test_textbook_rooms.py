"""Five rooms of the textbook: what floors and physics make of them, every reason asserted as data.

Which fabric is right for which light, and which hang takes a stiff sheet, is common practice, no source; the numbers are closed forms.
"""

from __future__ import annotations

import math
from functools import cache

import pytest
from halfgain.materials.hangs import Hang
from halfgain.simulate.choices.advice import Advice, advise
from halfgain.simulate.choices.choosing import seen_levels
from halfgain.simulate.choices.floors import Floor, by_make
from halfgain.simulate.choices.wishes import Wishes
from halfgain.simulate.output.advise.document import advise_document
from halfgain.simulate.output.advise.table import conclusion

from .scenes import black, document, library

MATT = 'fabric = "matt white"'
BRIGHT_LOUVRES = "louvred short-throw, bright"


@cache
def ultra_short(*, all_folds: bool = True, **wishes: object) -> Advice:
    """A lens on a sideboard below the picture, a white ceiling, lamps and daylight."""
    prices = {
        Hang.FIXED_FRAME: 900.0,
        Hang.TAB_TENSIONED: 1890.0,
        Hang.PULL_DOWN: 290.0,
        BRIGHT_LOUVRES: 950.0,
        "matt white": 200.0,
    }
    return advise(
        library("short-throw-wall"),
        Wishes(prices=prices, **wishes),
        fabrics=("matt white", BRIGHT_LOUVRES),
        error=0.2,  # type: ignore[arg-type]
        all_folds=all_folds,
    )


def floors(advice: Advice, name: str) -> list[Floor]:
    return [short.floor for short in advice.short.get(name, ())]


def test_under_an_ultra_short_throw_from_below_louvres_serve_on_a_frame() -> None:
    advice = ultra_short(first_aim="contrast")
    assert floors(advice, BRIGHT_LOUVRES) == []
    assert (advice.take.fabric, advice.take.hang) == (BRIGHT_LOUVRES, Hang.FIXED_FRAME)
    rolled = [each for each in advice.hangs if each.hang in (Hang.MOTORISED, Hang.PULL_DOWN)]
    assert all(fold.fabric != BRIGHT_LOUVRES for each in rolled for fold in each.folds), (
        "a stiff sheet does not roll up untensioned"
    )
    pull_down = next(each for each in advice.hangs if each.hang == Hang.PULL_DOWN)
    assert seen_levels(next(fold for fold in pull_down.folds if fold.fabric == "matt white")) == 3
    assert ultra_short(first_aim="white", all_folds=False).take.fabric == "matt white"


def test_where_the_wall_must_be_clear_louvres_roll_up_under_tension_and_the_price_is_of_that_pair() -> None:
    advice = ultra_short(first_aim="contrast", clear_wall=True)
    assert (advice.take.fabric, advice.take.hang, advice.take.price) == (BRIGHT_LOUVRES, Hang.TAB_TENSIONED, 950.0 + 1890.0)
    white = advice.pairs["matt white"]
    assert (white.hang, white.price) == (Hang.TAB_TENSIONED, 200.0 + 1890.0), "not the cheaper pull-down that shows its folds"
    told = advise_document(advice)
    assert told["take"]["price"] == 2840.0
    assert "Take" in conclusion(advice)


def test_louvres_do_not_serve_a_projector_at_the_ceiling() -> None:
    """Lens 4.5 m out and 2.2 m up, the picture's middle 0.7 + 0.675 m up and 1 mm off the wall."""
    advice = advise(document(fabric=MATT, lumens=2000.0), Wishes(), fabrics=("matt white", "louvred short-throw"), error=0.2)
    (short,) = advice.short["louvred short-throw"]
    assert (short.floor, short.side, short.unit) == (Floor.WRONG_SIDE, "below", "deg")
    assert short.got == pytest.approx(-math.degrees(math.atan((2.2 - 1.375) / 4.499)))
    assert advice.take.fabric == "matt white"
    entry = advise_document(advice)["does_not_serve"]["louvred short-throw"][0]
    assert (entry["floor"], entry["wants_light_from"]) == ("light-from-the-wrong-side", "below")


def test_a_narrow_lobe_is_a_hot_spot_in_a_black_room_and_does_not_serve_however_bright() -> None:
    advice = advise(black(fabric=MATT), Wishes(first_aim="white"), fabrics=("matt white", "silver"), error=0.2)
    (short,) = advice.short["silver"]
    assert (short.floor, short.least, short.unit) == (Floor.HOT_SPOT, pytest.approx(75.0), "%")
    assert short.got == pytest.approx(100.0 * advice.of("silver").value(advice.aims[1]).value)
    assert short.got < 75.0
    assert advice.take.fabric == "matt white", "brightest first, yet a floor comes before any aim"
    assert advice.waived == ()


def test_too_little_light_is_told_in_lumens_and_waived_where_no_fabric_has_enough() -> None:
    """Source: L = g E / pi in a black room; 600 lm on 2.4 x 1.35 m."""
    gain = {name: document(fabric=f'fabric = "{name}"').scene.screen.fabric.gain for name in ("matt white", "dark grey")}
    white = {name: g * 600.0 / (2.4 * 1.35) / math.pi for name, g in gain.items()}
    assert white["dark grey"] < 37.8 < white["matt white"]
    advice = advise(black(fabric=MATT, lumens=600.0), Wishes(first_aim="contrast"), fabrics=tuple(gain), error=0.2)
    (short,) = advice.short["dark grey"]
    assert (short.floor, short.least, short.unit) == (Floor.TOO_DARK, 37.8, "cd/m2")
    assert short.got == pytest.approx(white["dark grey"], rel=1e-6)
    assert short.lacking_lm == pytest.approx(600.0 * (37.8 / white["dark grey"] - 1.0), rel=1e-6)
    assert advice.take.fabric == "matt white"
    dim = advise(black(fabric=MATT, lumens=100.0), Wishes(), fabrics=tuple(gain), error=0.2)
    assert dim.waived == (Floor.TOO_DARK,)
    assert set(dim.good) | set(dim.beaten) == set(gain)


def test_speakers_behind_want_holes_and_a_stiff_sheet_a_hang_that_may_be() -> None:
    scene = document(fabric=MATT).scene
    assert [short.floor for short in by_make(scene, scene.screen.fabric, Wishes(speakers_behind=True))] == [Floor.NO_OPEN_AREA]
    from dataclasses import replace

    framed = replace(scene.screen.fabric, hangs=(Hang.FIXED_FRAME,))
    assert [short.floor for short in by_make(scene, framed, Wishes(clear_wall=True))] == [Floor.NO_HANG]
    assert by_make(scene, framed, Wishes()) == ()


def test_no_more_than_five_survive_in_the_headline() -> None:
    lit = '[[light]]\nname = "dim"\nscreen_lx = 2\n[[light]]\nname = "lamps"\nscreen_lx = 20\n[[light]]\nname = "day"\nscreen_lx = 200'
    advice = advise(document(fabric=MATT, lumens=2500.0, lights=lit), Wishes(), error=0.2)
    assert 1 <= len(advice.roles) <= 5
    assert set(advice.pairs) == set(advice.roles)
    assert set(advice.good) == {each.name for each in advice.evidence} - set(advice.beaten) - set(advice.refused)
