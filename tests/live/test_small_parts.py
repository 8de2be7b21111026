"""The desk, the wire, the form and the kept answers of the live page, each alone."""

from __future__ import annotations

import itertools
import threading
from collections import deque
from collections.abc import Generator, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from halfgain.scenes.cloth.surface import cloth_of
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import load_scene, scene_from_text
from halfgain.scenes.model import Film
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.light.projector import OBSTRUCTED
from halfgain.simulate.live.controls import controls
from halfgain.simulate.live.desk import Desk
from halfgain.simulate.live.edits import Edit, edited
from halfgain.simulate.live.figures import LiveFigures
from halfgain.simulate.live.folder import SceneFolder
from halfgain.simulate.live.new_room import FormFault, new_room
from halfgain.simulate.live.places import geometry_key, places_key
from halfgain.simulate.live.rooms import Rooms, moved
from halfgain.simulate.live.together import Together
from halfgain.simulate.live.wire import Ask, Message
from halfgain.simulate.live.work import MOST_MAPS, Solver

from .talking import decoded

FORM = {
    "width_m": 4.0,
    "depth_m": 5.5,
    "height_m": 2.5,
    "screen_width_m": 2.4,
    "light_output_lm": 1800,
    "rows": 2,
    "seats_a_row": 3,
}


@pytest.mark.parametrize(
    ("width", "depth", "height", "rows", "many"), [*itertools.product((2.0, 4.0, 30.0), (2.5, 40.0), (2.0, 12.0), (1, 2, 3), (1, 7))]
)  # fmt: skip
def test_every_form_makes_a_scene_that_loads(width: float, depth: float, height: float, rows: int, many: int) -> None:
    for screen in (0.8, 2.4, 15.0):
        form = {
            **FORM,
            "width_m": width,
            "depth_m": depth,
            "height_m": height,
            "rows": rows,
            "seats_a_row": many,
            "screen_width_m": screen,
        }
        scene = scene_from_text(new_room({**form, "paint": "dark", "title": 'A "room"'}))
        assert len(scene.seats) == rows * many
        assert scene.screen.width_m <= screen


@pytest.mark.parametrize(
    "wrong", [{"width_m": "4"}, {"width_m": 1}, {"rows": True}, {"paint": "pink"}, {"title": 3}, {"depth_m": float("nan")}]
)
def test_a_form_that_cannot_be_is_refused_by_its_key(wrong: dict[str, object]) -> None:
    with pytest.raises(FormFault, match=next(iter(wrong))):
        new_room({**FORM, **wrong})


def test_arrays_come_back_as_they_went() -> None:
    arrays = {
        "a": np.arange(7, dtype=np.uint8),
        "b": np.linspace(0, 1, 6).astype(np.float16).reshape(2, 3),
        "c": np.eye(2, dtype=np.float32),
    }
    data = Message("light", {"number": 3, "words": "ü"}, arrays).encoded()
    assert isinstance(data, bytes)
    found = decoded(data)
    assert found["words"] == "ü"
    for name, array in arrays.items():
        np.testing.assert_array_equal(found[name], array)


def _fault(fault: Exception) -> Message:
    return Message("fault", {"text": str(fault)})


def test_the_desk_serves_pages_in_turn_and_drops_what_was_replaced() -> None:
    desk, got, done = Desk(), [], threading.Event()
    gate = threading.Event()

    def work(name: str, steps: int) -> Iterator[Message]:
        for k in range(steps):
            gate.wait(10)
            yield Message(name, {"k": k})

    def deliver(message: Message) -> None:
        got.append((message.kind, message.head["k"]))
        if message.kind == "last":
            done.set()

    desk.ask((1, "a"), lambda: work("old", 50), deliver, _fault)
    desk.ask((2, "a"), lambda: work("other", 3), deliver, _fault)
    desk.ask((1, "a"), lambda: work("new", 3), deliver, _fault)
    desk.ask((3, "a"), lambda: work("last", 3), deliver, _fault)
    gate.set()
    done.wait(10)
    while len(desk):
        pass
    desk.close()
    assert [each for each in got if each[0] == "old"] == []
    assert sorted(got) == sorted((name, k) for name in ("new", "other", "last") for k in range(3))
    order = [got.index((name, 0)) for name in ("new", "other", "last")]
    assert max(order) < got.index(("other", 1)) or max(order) < 4, "every page has a first answer before any has its last"


def test_a_fault_of_one_question_is_told_and_the_next_is_answered() -> None:
    desk, got, done = Desk(), [], threading.Event()

    def broken() -> Iterator[Message]:
        raise ZeroDivisionError("no")
        yield

    def deliver(message: Message) -> None:
        got.append(message.kind)
        if message.kind == "fine":
            done.set()

    desk.ask((1, "a"), broken, deliver, _fault)
    desk.ask((2, "a"), lambda: iter([Message("fine", {})]), deliver, _fault)
    assert done.wait(10)
    desk.close()
    assert got == ["fault", "fine"]


def _steps(done: list[int], many: int, result: str) -> Iterator[str | None]:
    for k in range(many):
        done.append(k)
        yield None if k + 1 < many else result


def _result(work: Generator[None, None, str], found: list[str]) -> Iterator[None]:
    found.append((yield from work))


def test_a_work_that_several_wait_for_is_done_once() -> None:
    together, done = Together(2), []
    one, two = (together.made("map", lambda: _steps(done, 5, "a map")) for _ in range(2))
    next(one), next(two), next(one)
    one.close()  # its question was replaced
    found = []
    deque(_result(two, found), maxlen=0)
    assert found == ["a map"]
    assert done == list(range(5))
    assert len(together) == 0


def test_a_work_that_is_pushed_out_or_fails_is_made_by_who_is_at_it_and_begun_anew_by_others() -> None:
    together, done = Together(2), []
    first = together.made("a", lambda: _steps(done, 3, "a"))
    next(first)
    for other in "bc":
        next(together.made(other, lambda: _steps([], 3, "other")))
    again = together.made("a", lambda: _steps(done, 3, "a"))
    next(again)
    assert done == [0, 0]
    assert len(together) == 2
    found = []
    deque(_result(first, found), maxlen=0)
    assert found == ["a"]
    broken = together.made("d", lambda: (1 // 0 for _ in range(2)))
    with pytest.raises(ZeroDivisionError):
        next(broken)
    deque(_result(together.made("d", lambda: iter(["d"])), found), maxlen=0)
    assert found == ["a", "d"]


CHANGES = [
    ("room.finish.ceiling", 0.35), ("screen.fabric", "silver"), ("projector.light_output_lm", 900), ("projector.in_use", 0.4),
    ("projector.native_contrast", 700), ("projector.checkerboard_contrast", 90), ("screen.border_finish", 0.4), ("light.lamp.screen_lx", 4.0),
]  # fmt: skip


@pytest.mark.parametrize("name", ["wide-row", "light-lounge"])
def test_what_is_put_in_without_lowering_is_what_a_fresh_trace_has(name: str) -> None:
    """All shortcuts one after the other against answers of the last scene alone, on the same paths: the same figures."""
    text = scene_path(name).read_text(encoding="utf-8")
    rooms = Rooms(seed=1, threads=1)
    first = load_scene(name)
    *_, _ = rooms.figures(first)
    answers = rooms._kept[geometry_key(first)]
    for key, value in CHANGES:
        text = edited(text, [Edit("set", key, value)])
        scene = scene_from_text(text)
        assert geometry_key(scene) == geometry_key(first)
        answers = moved(answers, scene)
    whole = rooms._kept[geometry_key(first)].with_scene(scene)
    for ours, other in zip(answers.quick(), whole.quick(), strict=True):
        np.testing.assert_allclose(ours, other, rtol=1e-9)


@pytest.mark.parametrize("name", ["wide-row", "light-lounge"])
def test_seats_moved_on_the_same_map_read_what_a_map_made_anew_reads(name: str) -> None:
    """Against `with_scene`, which lowers the scene and makes the map of the lit screen again: the same bits."""
    first = load_scene(name)
    answers = Answers.of(first, paths=16)
    answers.quick()
    seat = first.seats[0]
    there = first.change(f'seat."{seat.name}".eye_m', [seat.eye_m[0] + 0.2, seat.eye_m[1] - 0.1, seat.eye_m[2]])
    scene = there.change("room.finish.ceiling", 0.4).change("screen.fabric", "pearl")
    assert geometry_key(scene) == geometry_key(first)
    ours, other = moved(answers, scene), answers.with_scene(scene)
    for a, b in zip(ours.quick(), other.quick(), strict=True):
        np.testing.assert_array_equal(a, b)
    assert ours.stage.kept is answers.stage.kept


def test_seats_whose_heads_stand_in_the_beam_get_a_map_of_their_own() -> None:
    first = load_scene("wide-row")
    answers = Answers.of(first, paths=16)
    lens, seat = first.projector.lens_m, first.seats[0]
    scene = first.change(f'seat."{seat.name}".eye_m', [lens[0], lens[1] - 1.0, lens[2] - 0.12])
    ours, other = moved(answers, scene), answers.with_scene(scene)
    assert ours.arrays.projector.flags[OBSTRUCTED]
    for a, b in zip(ours.quick(), other.quick(), strict=True):
        np.testing.assert_array_equal(a, b)


def test_numbers_get_surer_until_they_are_sure_enough() -> None:
    rooms = Rooms(seed=1, threads=1)
    found = list(rooms.figures(load_scene("black-box").change("room.finish.back", 0.7)))
    assert [each.settled for each in found] == [False] * (len(found) - 1) + [True]
    assert found[-1].error <= 0.005
    assert all(b.paths == 2 * a.paths for a, b in itertools.pairwise(found))


def test_few_geometries_are_kept() -> None:
    rooms = Rooms(seed=1, threads=1)
    scene = load_scene("black-box")
    for k in range(6):
        next(rooms.figures(scene.change("screen.bottom_m", 0.5 + 0.02 * k)))
    assert len(rooms) <= 4


@pytest.mark.usefixtures("coarse")
def test_a_page_whose_map_others_push_out_while_its_rays_are_traced_gets_all_of_its_light(tmp_path: Path) -> None:
    solver = Solver(SceneFolder(tmp_path, ()), seed=1, threads=1)
    text = scene_path("black-box").read_text(encoding="utf-8")

    def ask(width: float) -> Ask:
        return Ask(1, "a", edited(text, [Edit("set", "screen.width_m", width)]), "x.toml", wants=frozenset({"view"}))

    def others() -> None:
        for width in (1.6, 1.7, 1.8):
            each = solver.answers(ask(width))
            while (said := next(each)) is None or said.kind != "light":
                pass

    alone = [said for said in solver.answers(ask(1.5)) if said is not None and said.kind == "light"]
    solver = Solver(SceneFolder(tmp_path, ()), seed=1, threads=1)
    first = solver.answers(ask(1.5))
    while (said := next(first)) is None or said.kind != "light":
        pass
    others()
    assert len(solver._maps) == MOST_MAPS
    while said is not None:
        said = next(first)
    others()
    *_, fine = (said for said in first if said is not None)
    assert (fine.kind, fine.head) == ("light", alone[-1].head)
    for name, part in fine.arrays.items():
        np.testing.assert_array_equal(part, alone[-1].arrays[name])
    assert set(solver._more) <= set(solver._maps)


@pytest.mark.usefixtures("coarse")
def test_light_by_all_rays_comes_to_every_page_that_shows_the_room(tmp_path: Path) -> None:
    """Also where another page of the same room has brought it between: a page waits for its own."""
    solver = Solver(SceneFolder(tmp_path, ()), seed=1, threads=1)
    ask = Ask(1, "a", scene_path("black-box").read_text(encoding="utf-8"), "x.toml", wants=frozenset({"view"}))
    first = solver.answers(ask)
    while (said := next(first)) is None or said.kind != "light":
        pass
    assert not said.head["fine"]
    for answers in (solver.answers(ask), first, solver.answers(ask)):
        fine = [said.head["fine"] for said in answers if said is not None and said.kind == "light"]
        assert fine.count(True) == 1
        assert fine[-1]


LAMP = """
[[lamp]]
name = "pendant"
kind = "bulb"
place_m = [0.4, 2.0, 1.9]
light_output_lm = 800

[[light]]
name = "evening"                # reading
lamps = { pendant = 0.5 }
"""


def test_a_dimmed_lamp_gives_its_share_and_needs_no_new_paths() -> None:
    """Light is in proportion to the dimmer; the file's comment stays."""
    text = scene_path("dark-room").read_text(encoding="utf-8") + LAMP
    rooms, scene = Rooms(seed=1, threads=1), scene_from_text(text)
    *_, bright = rooms.figures(scene)
    kept = rooms._kept[geometry_key(scene)]
    dimmed = edited(text, [Edit("set", 'light."evening".lamps', {"pendant": 0.25})])
    assert "# reading" in dimmed
    darker = scene_from_text(dimmed)
    assert moved(kept, darker).arrays is kept.arrays, "nothing is lowered again"
    *_, dim = rooms.figures(darker)
    assert controls(darker)["dimmed"][0]["lamps"] == {"pendant": 0.25}
    assert controls(darker)["lights"] == [each for each in controls(scene)["lights"]]

    def added(found: LiveFigures) -> float:
        seat = found.seats[0]
        return seat["states"][-1]["values"]["black_cd_m2"][0] - seat["values"]["black_cd_m2"][0]

    assert added(dim) == pytest.approx(0.5 * added(bright), rel=1e-4)
    assert added(bright) > 0.0


@pytest.mark.parametrize("name", ["l-living-room", "attic", "dark-room"])
def test_keys_follow_what_moves_light_and_nothing_else(name: str) -> None:
    """Whatever the room's shape: shell, things, parts, screen, film and folds count; finishes, fabric, lumens and contrasts do not."""
    scene = load_scene(name)
    room, screen, projector = scene.room, scene.screen, scene.projector
    key = geometry_key(scene)
    surface = room.surfaces[0]
    same = [
        replace(scene, room=room.with_finishes({surface: replace(room.finish[surface], reflectance=(0.31, 0.31, 0.31))})),
        replace(scene, projector=replace(projector, light_output_lm=77.0, in_use=0.5, native_contrast=99.0)),
        replace(scene, seats=scene.seats[:1]),
    ]
    moved_lens = replace(scene, projector=replace(projector, lens_m=(0.1, 2.0, 1.5)))
    assert (geometry_key(moved_lens) == key) == cloth_of(screen).flat, "on folded cloth the lens moves the points too"
    assert [geometry_key(each) == key for each in same] == [True] * len(same)
    other = [
        replace(scene, room=replace(room, height_m=room.height_m + 0.1)), replace(scene, screen=replace(screen, bottom_m=screen.bottom_m + 0.1)),
        replace(scene, projector=replace(projector, film=Film(2.0))), replace(scene, screen=replace(screen, border_m=0.2)),
    ]  # fmt: skip
    other += [replace(scene, room=replace(room, objects=room.objects[1:]))] if room.objects else []
    other += [replace(scene, room=replace(room, parts=room.parts[1:]))] if room.parts else []
    other += [replace(scene, room=replace(room, shell=None))] if room.shell is not None else []
    assert [geometry_key(each) != key for each in other] == [True] * len(other)
    assert places_key(same[0]) == places_key(scene)
    assert places_key(moved_lens) != places_key(scene)


def test_a_room_of_another_shape_is_repainted_on_its_paths() -> None:
    """As for boxes: shortcuts and a whole lowering give the same figures."""
    rooms, scene = Rooms(seed=1, threads=1), load_scene("attic")
    next(rooms.figures(scene))
    kept = rooms._kept[geometry_key(scene)]
    painted = scene.change(f"room.finish.{scene.room.surfaces[0]}", 0.12)
    for ours, other in zip(moved(kept, painted).quick(), kept.with_scene(painted).quick(), strict=True):
        np.testing.assert_allclose(ours, other, rtol=1e-9)
    assert [each["name"] for each in controls(painted)["surfaces"]][: len(scene.room.surfaces)] == list(scene.room.surfaces)
