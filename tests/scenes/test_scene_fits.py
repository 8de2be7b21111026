"""What does not fit is told with a remedy, and a remedy that is followed makes it fit."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from halfgain.scenes.fits import clear_lens, misfits
from halfgain.scenes.load import SceneErrors, scene_from_text
from halfgain.scenes.model import Scene
from halfgain.scenes.parts import Optics
from halfgain.scenes.remedy import Remedy, length_text, rounded_within
from halfgain.scenes.throw import throw
from halfgain.scenes.warning import WarningCode
from scene_texts import GOOD, edit

WIDE_ROOM = (("width_m = 4.2", "width_m = 90"), ("depth_m = 6.0", "depth_m = 90"), ("height_m = 2.5", "height_m = 40"))


def followed(scene: Scene, remedies: tuple[Remedy, ...]) -> Scene:
    """The scene with what the remedies say, as somebody types it who reads two to four decimals."""
    for move in remedies:
        typed = move._replace(to_m=float(length_text(move.to_m)))
        if typed.key == "projector.casing.wall_m":
            scene = scene.change(typed.key, typed.to_m)
        elif typed.key == "projector.lens_m":
            scene = replace(scene, projector=replace(scene.projector, lens_m=typed.of_lens(scene.projector.lens_m)))
        else:
            assert typed.key == "screen.width_m"
            screen = replace(scene.screen, width_m=typed.to_m, height_m=typed.to_m / scene.screen.aspect)
            scene = replace(scene, screen=screen)
    return scene


def misfitting(seed: int) -> Scene:
    """The sound scene in a hall, with a random lens, throw and shift."""
    rng = random.Random(seed)
    low = rng.choice([0.12, 0.25, 0.233, 0.5, 1.2])
    zoom = [low, low if rng.random() < 0.5 else round(low * rng.uniform(1.0, 1.8), 3)]
    shift = [rng.choice([0.0, 0.1, 0.37]), rng.choice([0.0, 0.6, 1.13])]
    lens = [round(rng.uniform(-3, 3), 5), round(rng.uniform(0.2, 12), 5), round(rng.uniform(0.3, 6), 5)]
    return scene_from_text(
        edit(
            *WIDE_ROOM,
            ("[1.3, 2.1]", f"{zoom}"),
            ("[0.1, 0.6]", f"{shift}"),
            ("[0.0, 3.9, 2.2]", f"{lens}"),
            ("width_m = 2.4", f"width_m = {rng.choice([1.0, 1.771, 2.214, 3.2])}"),
            ("bottom_m = 0.75", f"bottom_m = {rng.uniform(0.5, 2):.4f}"),
            (
                '[[room.object]]\nname = "sofa"\nbox = { min_m = [-1.0, 3.2, 0.0], max_m = [1.0, 4.1, 0.85] }\nfinish = "dark upholstery"\n',
                "",
            ),
        )
    )


def test_following_the_advice_makes_the_throw_and_the_shift_fit() -> None:
    tried = 0
    for seed in range(300):
        scene = misfitting(seed)
        found = throw(scene)
        if found.feasible:
            assert found.remedies == ()
            continue
        tried += 1
        after = throw(followed(scene, found.remedies))
        assert after.feasible is True, (seed, found.lines, after.lines)
        assert after.remedies == ()
    assert tried > 200


def test_the_advice_is_as_near_as_a_tape_measure_allows() -> None:
    """Ratio 0.25 on 2.2136 m, 80 mm off the wall: 0.6334 m out, so 0.634; a zoom from 1.6 on 2.4 m: 3.94 m."""
    short = scene_from_text(
        edit(
            ("[1.3, 2.1]", "[0.25, 0.25]"),
            ("width_m = 2.4", "width_m = 2.2136"),
            ("= 0.10", "= 0.08"),
            ("3.9, 2.2]", "0.55, 2.2]"),
        )
    )
    assert [move.to_m for move in throw(short).remedies if move.axis == "out"] == [0.634]
    assert any("at least 0.634 m out from the wall" in line for line in throw(short).lines)
    long = scene_from_text(edit(("[1.3, 2.1]", "[1.603, 2.1]")))
    assert [move.to_m for move in throw(long).remedies] == [3.95], "3.947 m, rounded outwards"


@pytest.mark.parametrize("limits", [(1.0, 2.0), (1.2341, 1.2349), (1.23451, 1.23459), (1.2345671, 1.2345672)])
@pytest.mark.parametrize("near", [0.0, 1.5, 9.0])
def test_rounding_stays_between_the_limits(limits: tuple[float, float], near: float) -> None:
    assert limits[0] - 1e-9 <= rounded_within(*limits, near) <= limits[1] + 1e-9


def test_a_misfit_is_the_first_warning_and_carries_its_remedy() -> None:
    scene = scene_from_text(edit(("[1.3, 2.1]", "[1.6, 2.1]"), ("in_use = 0.7\n", "")))
    first = scene.warnings[0]
    assert first.code is WarningCode.DOES_NOT_FIT
    assert first.remedies == (Remedy("projector.lens_m", "out", 3.94),)
    assert "at least 3.94 m out" in first.text
    assert followed(scene, first.remedies).projector.lens_m == (0.0, 3.94, 2.2)


def test_where_the_room_is_too_short_the_remedy_is_the_width() -> None:
    scene = scene_from_text(edit(("[1.3, 2.1]", "[2.6, 3.1]")))
    first = scene.warnings[0]
    assert [(move.key, move.to_m) for move in first.remedies] == [("screen.width_m", 2.26)], "5.899 m / 2.6 = 2.2688 m"
    smaller = followed(scene, first.remedies)
    back = replace(smaller, projector=replace(smaller.projector, lens_m=(0.0, 5.999, 2.2)))
    assert throw(back).ratio >= 2.6


def test_a_lens_without_room_for_its_shift_is_told_and_an_ultra_short_one_of_its_offset() -> None:
    scene = scene_from_text(edit(("[1.3, 2.1]", "[0.12, 0.13]"), ("3.9, 2.2]", "0.4, 0.3]"), ("[0.1, 0.6]", "[0, 0]")))
    first = scene.warnings[0]
    assert first.code is WarningCode.DOES_NOT_FIT
    assert "leave lens_shift out" in first.text
    tall = scene_from_text(
        edit(("[0.0, 3.9, 2.2]", "[2.05, 3.9, 2.2]"), ("right_m = 0.0", "right_m = -0.8"), ("[0.1, 0.6]", "[0.1, 0.1]"))
    )
    assert {move.axis for warning in tall.warnings for move in warning.remedies} == {"right", "up"}


def test_a_lens_set_where_the_warning_says_clears_the_heads() -> None:
    for up in (0.9, 1.0, 1.1, 1.2, 1.25):
        scene = scene_from_text(edit(("[0.0, 3.9, 2.2]", f"[0.0, 4.2, {up}]")))
        told = [warning for warning in scene.warnings if warning.code is WarningCode.IN_BEAM]
        assert told
        optics, remedy = Optics(scene.screen, scene.projector), told[0].remedies[0]
        assert remedy == clear_lens(optics, scene.room, scene.seats)
        after = scene_from_text(edit(("[0.0, 3.9, 2.2]", f"[0.0, 4.2, {length_text(remedy.to_m)}]")))
        assert not [warning for warning in after.warnings if warning.code is WarningCode.IN_BEAM]
        below = scene_from_text(edit(("[0.0, 3.9, 2.2]", f"[0.0, 4.2, {remedy.to_m - 0.01:.2f}]")))
        assert [warning for warning in below.warnings if warning.code is WarningCode.IN_BEAM], "the least height that does"


def test_a_throw_that_fits_has_no_misfit() -> None:
    scene = scene_from_text(GOOD)
    assert list(misfits(Optics(scene.screen, scene.projector), scene.room)) == []


def test_the_distance_of_a_cabinet_is_refused_with_what_to_write() -> None:
    with pytest.raises(SceneErrors, match=r"give it as wall_m in \[projector.casing\]"):
        scene_from_text(edit(("[0.0, 3.9, 2.2]", "[0.0, 3.9, 2.2]\ncabinet_to_wall_m = 0.2")))


def by_wall(wall: str, lens: str = "[0.0, 0.4]", inside: str = "lens_cm = [25, 32, 20]", zoom: str = "[0.15, 0.17]") -> str:
    """An ultra-short throw 2.0 m wide, 30 mm off the wall, given by how far its casing stands off the wall."""
    return edit(
        ("[0.0, 3.9, 2.2]", lens),
        ("lens_shift = [0.1, 0.6]", f"lens_shift = [0.1, 1.2]\n[projector.casing]\nsize_cm = [50, 36, 22]\n{inside}\n{wall}"),
        ("[1.3, 2.1]", zoom),
        ("width_m = 2.4", "width_m = 2.0"),
        ("= 0.10", "= 0.03"),
    )


@pytest.mark.parametrize("lens", ["[0.0, 0.4]", "[0.0, 0.34, 0.4]"])
def test_the_wall_to_the_casing_says_how_far_out_the_lens_is(lens: str) -> None:
    # Expected: 20 mm to the casing and 320 mm in it; the scene that says 0.34 m itself, but for the casing's own word
    scene = scene_from_text(by_wall("wall_mm = 20", lens))
    assert scene.projector.lens_m == pytest.approx((0.0, 0.34, 0.4), abs=1e-12)
    same = throw(scene_from_text(by_wall("", "[0.0, 0.34, 0.4]")))
    assert throw(scene).lines == same.lines
    assert throw(scene).feasible


def test_a_throw_by_the_casing_is_mended_by_the_casing() -> None:
    # Expected: ratio 0.16 to 0.17 on 2.0 m, 30 mm off the wall: lens 0.35 to 0.37 m out, casing 30 to 50 mm off the wall
    for wall, to in (("wall_mm = 120", 0.05), ("wall_m = 0", 0.03)):
        scene = scene_from_text(by_wall(wall, zoom="[0.16, 0.17]"))
        (remedy,) = throw(scene).remedies
        assert (remedy.key, remedy.axis, remedy.to_m) == ("projector.casing.wall_m", "", pytest.approx(to, abs=1e-9))
        words = f"its casing would have to be at {'most' if to == 0.05 else 'least'} {to:.2f} m off the wall"
        assert any(words in line for line in throw(scene).lines)
        (warning,) = (each for each in scene.warnings if each.code is WarningCode.DOES_NOT_FIT)
        assert warning.remedies == (remedy,)
        assert throw(followed(scene, (remedy,))).feasible


def test_a_casing_that_would_have_to_stand_in_the_wall_wants_another_screen() -> None:
    # Expected: a casing 0.45 m deep before the lens cannot bring it to 0.37 m; the screen's width is what can change
    scene = scene_from_text(by_wall("wall_m = 0", inside="lens_cm = [25, 36, 20]", zoom="[0.10, 0.12]"))
    (warning,) = (each for each in scene.warnings if each.code is WarningCode.DOES_NOT_FIT)
    assert [move.key for move in warning.remedies] == ["screen.width_m"]
    assert any("m into the wall" in line for line in throw(scene).lines)


@pytest.mark.parametrize(
    ("wall", "lens", "inside", "said"),
    [
        ("wall_mm = 20", "[0.0, 0.4]", "", "projector.casing.wall_mm: wants lens_m beside it"),
        ("wall_mm = 20", "[0.0, 0.5, 0.4]", "lens_cm = [25, 32, 20]", "the second number does not agree with the casing"),
        ("", "[0.0, 0.4]", "lens_cm = [25, 32, 20]", "projector.lens_m: should be a list of 3 numbers"),
        ("wall_mm = -5", "[0.0, 0.4]", "lens_cm = [25, 32, 20]", "projector.casing.wall_mm"),
        ('wall_m = "near"', "[0.0, 0.4]", "lens_cm = [25, 32, 20]", "projector.casing.wall_m"),
    ],
)
def test_a_casing_by_the_wall_that_says_too_little_or_two_things_is_refused(wall: str, lens: str, inside: str, said: str) -> None:
    with pytest.raises(SceneErrors) as refused:
        scene_from_text(by_wall(wall, lens, inside))
    assert said in str(refused.value)
