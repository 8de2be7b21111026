"""Sizes, loads, clearances and hours against sums, straight lines and the half-life law."""

from __future__ import annotations

import math

import halfgain as hg
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.ordering.ageing import FoldCheck, hours_until, light_ages, light_left
from halfgain.simulate.ordering.clearance import beam_clearance
from halfgain.simulate.ordering.mounting import fixing_load, screen_sizes
from halfgain.simulate.ordering.order import order
from halfgain.simulate.ordering.trades import Trade, TradeReason, trades

from tests.rooms import room
from tests.scenes.scene_texts import edit

MOUNT = (
    'hang = "fixed frame"',
    'hang = "motorised"\n[screen.mount]\ncase_height_mm = 140\ncase_width_m = 2.8\nrecess_cm = 5\nweight_kg = 20\nfixings = 4',
)
AGEING = (
    "lens_shift = [0.1, 0.6]",
    "lens_shift = [0.1, 0.6]\n[projector.ageing]\nhalf_light_h = 5000\nrun_h = 1000\nweek_h = 10",
)


def test_drop_leader_and_free_wall_are_what_is_left_of_wall_and_ceiling() -> None:
    """2.5 m high: 0.75 m below, 1.35 m of white, 0.08 m of border, 0.14 - 0.05 m of case; 4.2 m wide: 2.8 m of case, 0.2 m off the middle."""
    found = screen_sizes(scene_from_text(edit(MOUNT, ("right_m = 0.0", "right_m = 0.2"))))
    assert found.upper_edge == pytest.approx(2.10)
    assert found.drop_to_white == pytest.approx(0.40)
    assert found.drop_to_lower_edge == pytest.approx(1.75)
    assert found.leader == pytest.approx(0.40 - 0.08 - 0.09)
    assert (found.left_free, found.right_free) == (pytest.approx(0.9), pytest.approx(0.5))
    assert (found.overall_width, found.overall_height) == (pytest.approx(2.56), pytest.approx(1.51))
    assert found.white_diagonal == pytest.approx(math.hypot(2.4, 1.35))


def test_fixings_share_the_weight_and_a_stated_load_too_small_for_it_is_told() -> None:
    """20 kg on four fixings: 4.90 daN each at standard gravity."""
    load = fixing_load(scene_from_text(edit(MOUNT)))
    assert load is not None
    assert load.share_n == pytest.approx(20 * 9.80665 / 4)
    assert (load.stated_n, load.enough) == (None, None)
    for stated, enough in ((48, False), (50, True)):
        found = fixing_load(scene_from_text(edit((MOUNT[0], f"{MOUNT[1]}\nfixing_load_n = {stated}"))))
        assert found is not None
        assert found.enough is enough
    assert fixing_load(scene_from_text(edit())) is None


@pytest.mark.parametrize(
    ("lens", "bottom", "clear"),
    [
        (2.2, 0.75, (0.10 + 3.8 * (1.86 - 0.75) / (2.2 - 0.75), 3.9)),  # hung high: clear near the lens
        (1.0, 0.75, None),  # on a table: whoever stands before it stands in it
        (2.3, 1.9, (0.0, 3.9)),  # all of it above the head
    ],
)
def test_a_standing_head_is_below_the_beam_where_the_straight_line_to_the_lower_edge_is_above_it(
    lens: float, bottom: float, clear: tuple[float, float] | None
) -> None:
    scene = scene_from_text(
        edit(
            ("[0.0, 3.9, 2.2]", f"[0.0, 3.9, {lens}]"),
            ("bottom_m = 0.75", f"bottom_m = {bottom}"),
            ("height_m = 2.5", "height_m = 4"),
        )
    )
    found = beam_clearance(scene)
    assert (found.clear_from_m, found.clear_to_m) == (pytest.approx(clear) if clear else (None, None))
    assert found.lowest_m == pytest.approx(min(lens, bottom))
    front = next(each for each in found.over if each.seat == "front")
    assert front.above_floor_m == pytest.approx(bottom + (lens - bottom) * (3.3 - 0.1) / 3.8)
    assert front.above_eye_m == pytest.approx(front.above_floor_m - 1.1)
    assert [each.seat for each in found.over] == ["front"], "the rear seat is behind the lens"


def test_a_lens_below_the_picture_leaves_heads_free_near_a_high_screen() -> None:
    scene = scene_from_text(
        edit(("[0.0, 3.9, 2.2]", "[0.0, 3.9, 1.0]"), ("bottom_m = 0.75", "bottom_m = 2.0"), ("height_m = 2.5", "height_m = 4"))
    )
    found = beam_clearance(scene)
    assert (found.clear_from_m, found.clear_to_m) == (0.0, pytest.approx(0.10 + 3.8 * (2.0 - 1.86) / (2.0 - 1.0)))


def test_the_light_halves_in_the_hours_stated_and_falls_to_a_minimum_by_the_same_law() -> None:
    """Half-life: a quarter is left after two of them; 100 to 25 cd/m2 takes two."""
    assert light_left(0.0, 4000.0) == 1.0
    assert light_left(4000.0, 4000.0) == pytest.approx(0.5)
    assert light_left(8000.0, 4000.0) == pytest.approx(0.25)
    assert hours_until(100.0, 25.0, 4000.0) == pytest.approx(8000.0)
    assert hours_until(30.0, 37.8, 4000.0) == 0.0
    with pytest.raises(ValueError, match="allowed above 0"):
        light_left(1.0, 0.0)


def test_hours_start_from_the_white_that_measure_reads_of_the_projectors_own_light() -> None:
    scene = scene_from_text(edit(AGEING))
    found = light_ages(scene, 60.0)
    assert found is not None
    read = min((each.direct["centre"].value, each.name) for each in measure(scene, error=0.1).seats)
    assert (found.white_cd_m2, found.seat) == (pytest.approx(read[0], rel=1e-6), read[1])
    own = next(each for each in found.lasts if each.asked.value == 60.0)
    assert own.hours == pytest.approx(5000.0 * math.log2(read[0] / 60.0), rel=1e-6)
    assert own.years == pytest.approx(own.hours / (10 * 365.25 / 7))
    assert [each.asked.value for each in found.lasts] == sorted(each.asked.value for each in found.lasts)
    assert found.left == pytest.approx(0.5 ** (1000 / 5000))
    assert light_ages(scene_from_text(edit())) is None


def present(scene: Scene) -> dict[Trade, set[TradeReason]]:
    return {each.trade: set(each.reasons) for each in trades(scene)}


def test_trades_follow_from_motor_height_recess_and_weight() -> None:
    low = present(room(lens="[0.0, 4.5, 0.8]", bottom=0.3, screen_width=1.6))
    assert low == {Trade.CABLING: {TradeReason.SIGNAL}}
    hung = present(scene_from_text(edit(MOUNT)))
    assert hung[Trade.ELECTRICIAN] == {TradeReason.MOTOR, TradeReason.SUPPLY_OVERHEAD}
    assert hung[Trade.FIXING] == {TradeReason.SCREEN_OVERHEAD, TradeReason.PROJECTOR_OVERHEAD}
    assert hung[Trade.CEILING] == {TradeReason.RECESS}
    assert hung[Trade.CABLING] == {TradeReason.SIGNAL, TradeReason.CONTROL}, (
        "a motor wants its control; frames and pull-downs have none"
    )
    assert hung[Trade.SECOND] == {TradeReason.WIDE}
    heavy = present(scene_from_text(edit((MOUNT[0], MOUNT[1].replace("weight_kg = 20", "weight_kg = 30")))))
    assert heavy[Trade.SECOND] == {TradeReason.WIDE, TradeReason.HEAVY}


def test_folds_are_judged_again_by_how_the_cloth_hangs() -> None:
    assert order(scene_from_text(edit())).fold_checks == (FoldCheck.FRAME, FoldCheck.RETENSION)
    assert FoldCheck.AFTER_DAYS in order(scene_from_text(edit(MOUNT))).fold_checks


def test_what_does_not_fit_stands_open() -> None:
    assert order(scene_from_text(edit())).open == ()
    found = hg.order(scene_from_text(edit(("[1.3, 2.1]", "[1.8, 2.1]"))))
    assert [str(warning.code) for warning in found.open] == ["does-not-fit"]
    with pytest.raises(hg.Error, match="no height of a head"):
        hg.order("black-box", standing_m=0.2)
