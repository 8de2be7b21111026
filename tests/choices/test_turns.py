"""The case where the ranking of fabrics turns with the paint of one wall, in a library scene."""

from __future__ import annotations

from halfgain.simulate.choices.axes import axes_of
from halfgain.simulate.choices.comparison import compare
from halfgain.simulate.choices.turns import turns
from halfgain.simulate.choices.variants import variants_of

from .scenes import black, library


def test_the_paint_of_the_back_wall_turns_the_ranking_of_fabrics() -> None:
    # Source: seat-weighted return: a retro-reflective sheet sends what comes from behind the seats back to them, a
    # mirroring one what comes from the front (derived; found first by an independent prototype)
    axes = axes_of(fabric=["matt white", "beaded", "silver"], finish=["back=charcoal matt paint", "back=white matt paint"])
    found = compare(axes, variants_of(library("dark-room"), axes), error=0.05, threads=2)
    contrast = {(t.first, t.second, t.seat): t for t in found.turns if t.figure.key == "checkerboard_ratio"}
    for seat in ("rear 1", "rear 4"):
        turn = contrast["beaded", "silver", seat]
        assert (turn.ahead, turn.behind) == ("back charcoal matt paint", "back white matt paint")
        assert turn.by_ahead.value < 0.0 < turn.by_behind.value
    washout = [t for t in found.turns if t.figure.key == "washout_cd_m2" and {t.first, t.second} == {"matt white", "beaded"}]
    assert {t.seat for t in washout} >= {"rear 1", "rear 2", "rear 3", "rear 4"}
    assert all(t.behind == "back white matt paint" for t in washout)


def test_no_ranking_turns_where_the_room_gives_nothing_back() -> None:
    axes = axes_of(fabric=["matt white", "grey 0.8"], light_output=[1000.0, 2000.0])
    found = compare(axes, variants_of(black(), axes), error=0.2)
    assert found.turns == ()
    assert turns(axes[:1], found.paired[:2]) == []
