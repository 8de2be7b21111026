"""Every number that `place` tells does when it is followed, by the loader's own judgement; one step further does not."""

from __future__ import annotations

import math
import random

import pytest
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Place, Scene
from halfgain.scenes.remedy import AXES, length_text
from halfgain.scenes.throw import throw
from halfgain.scenes.warning import WarningCode
from halfgain.simulate.placing.bounds import BoundRole, By, Range
from halfgain.simulate.placing.lens_place import moved
from halfgain.simulate.placing.placement import Placement, place

from tests.scenes.scene_texts import GOOD

WARNED = {WarningCode.IN_BEAM: {By.BEAM}, WarningCode.CASING: {By.CASING, By.CASING_IN_SIGHT}}
STATED = 5  # steps beyond a ratio or a shift that are surely more than the two decimals these are stated to
REFUSED = {
    By.WALL,
    By.CEILING,
    By.FLOOR,
    By.OBJECT,
    By.IN_OBJECT,
    By.PLANE,
    By.BACK,
    By.SIDE,
}  # what the loader takes for impossible


def scene_of(seed: int) -> Scene:
    """The sound scene with a lens, a casing, a throw, furniture and rows of its own."""
    rng = random.Random(seed)
    text = GOOD
    low = rng.choice([0.9, 1.2, 1.34, 1.5])
    zoom = [low, low if rng.random() < 0.2 else round(low * rng.uniform(1.05, 1.9), 2)]
    shift = [rng.choice([0.0, 0.1, 0.37]), rng.choice([0.0, 0.55, 0.9])]
    lens = [round(rng.uniform(-0.8, 0.8), 3), round(rng.uniform(0.5, 5.8), 3), round(rng.uniform(0.4, 2.4), 3)]
    casing = "" if rng.random() < 0.4 else (
        f"\n[projector.casing]\nsize_m = [{rng.uniform(0.3, 0.6):.2f}, {rng.uniform(0.3, 0.6):.2f}, 0.18]\nair_m = {rng.choice([0.0, 0.1])}"
    )  # fmt: skip
    for old, new in (
        ("[1.3, 2.1]", str(zoom)),
        ("lens_shift = [0.1, 0.6]", f"lens_shift = {shift}{casing}"),
        ("[0.0, 3.9, 2.2]", str(lens)),
        ("width_m = 2.4", f"width_m = {rng.choice([1.6, 2.0, 2.214, 2.7])}"),
        ("bottom_m = 0.75", f"bottom_m = {rng.uniform(0.4, 0.8):.3f}"),
        ("eye_m = [1.2, 5.5, 1.2]", f"eye_m = [{rng.uniform(-1.2, 1.2):.2f}, 5.3, {rng.uniform(1.1, 1.5):.2f}]"),
        ("max_m = [1.0, 4.1, 0.85]", f"max_m = [1.0, 4.1, {rng.uniform(0.6, 1.0):.2f}]"),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    try:
        return scene_from_text(text)
    except SceneErrors:  # the random lens stands in the sofa
        return scene_of(seed + 10_000)


def causes(scene: Scene, key: str, value: object) -> set[By]:
    """What the loader has against a changed scene, as causes; REFUSED where it refuses it."""
    try:
        changed = scene.change(key, value)
    except SceneErrors:
        return REFUSED
    found = {by for warning in changed.warnings for by in WARNED.get(warning.code, ())}
    for warning in changed.warnings:
        if warning.code is WarningCode.DOES_NOT_FIT:
            out = any(move.axis == "out" or move.key == "screen.width_m" for move in warning.remedies)
            found.add(By.ZOOM if out else By.SHIFT)
    return found


def typed(value: float) -> float:
    """A length as somebody types it who reads it."""
    return math.copysign(float(length_text(abs(value))), value)


def ends(found: Range) -> list[tuple[float, float, By | None]]:
    """(end, one step beyond it, what sets it) of what serves."""
    told = [(found.low_m, -found.step_m, found.low_by), (found.high_m, found.step_m, found.high_by)]
    return [
        (end, end + step * (STATED if by and by.by in (By.ZOOM, By.SHIFT) else 1), by and by.by)
        for end, step, by in told
        if end is not None
    ]


@pytest.mark.long
@pytest.mark.parametrize("first", [0, 8, 16, 24, 32, 40])
def test_following_what_is_told_fits_and_a_step_further_does_not(first: int) -> None:
    followed = refused = 0
    for seed in range(first, first + 8):
        scene = scene_of(seed)
        found = place(scene)
        followed_here, refused_here = lens_followed(scene, found)
        followed, refused = followed + followed_here, refused + refused_here
        if found.lens.nearest is not None and not found.lens.fits_here:  # widths and lower edges where the lens fits
            scene = scene.change("projector.lens_m", [typed(x) for x in found.lens.nearest])
            found = place(scene)
        for answer in (found.width, found.bottom):
            if answer.low_m is None:
                continue
            for value in (answer.nearest_m, answer.low_m, answer.high_m):
                assert value is not None
                must = {bound.by for bound in answer.bounds if bound.role is BoundRole.MUST}
                assert not causes(scene, answer.key, typed(value)) & must, (seed, answer.key, value)
                followed += 1
            for _, beyond, by in ends(answer):
                if by in REFUSED or by in {By.ZOOM, By.SHIFT, By.BEAM}:
                    assert by in causes(scene, answer.key, typed(beyond)), (seed, answer.key, beyond, by)
                    refused += 1
    assert followed > 25, followed
    assert refused > 15, refused


def lens_followed(scene: Scene, found: Placement) -> tuple[int, int]:
    """Follows the nearest place and the ends of its three ranges; returns how many fitted, and how many were refused a step further."""
    lens, every = found.lens, {By.ZOOM, By.SHIFT}.union(REFUSED, *WARNED.values())
    assert lens.fits_here is not bool(causes(scene, "projector.lens_m", list(lens.here)) & every)
    if lens.nearest is None:
        return 0, 0
    fitted, refused = 0, 0
    there = scene.change("projector.lens_m", [typed(x) for x in lens.nearest])
    assert not causes(there, "projector.lens_m", list(there.projector.lens_m)) & every
    assert throw(there).feasible is True
    for answer in lens.ranges:
        for end, beyond, by in ends(answer):
            assert not causes(scene, "projector.lens_m", at(lens.nearest, answer, typed(end))) & every, (answer.axis, end)
            fitted += 1
            if by is not None:
                against = causes(scene, "projector.lens_m", at(lens.nearest, answer, typed(beyond)))
                assert by in against or against == REFUSED, (answer.axis, beyond, by)
                refused += 1
    return fitted, refused


def at(place_m: Place, answer: Range, to_m: float) -> list[float]:
    """The place with one measure changed, as typed."""
    return [typed(x) for x in moved(place_m, AXES.index(answer.axis), to_m)]


def test_rows_that_sit_as_high_as_told_have_no_head_before_the_picture() -> None:
    lifted = 0
    for seed in range(12):
        scene = scene_of(seed).change({"screen.bottom_m": 0.45, 'seat."rear".eye_m': [0.1 * (seed - 6), 5.2, 1.1]})
        front, rear = place(scene).rows
        assert front.seats == ("front",)
        scene = scene.change('seat."front".eye_m', [0.0, 3.3, 1.1 + front.lifted_m])
        if rear.lift.nearest_m is None:
            continue
        eye = scene.seats[1].eye_m
        up = scene.change('seat."rear".eye_m', [eye[0], eye[1], eye[2] + rear.lift.nearest_m])
        assert not hidden_from_rear(up)
        if rear.lift.nearest_m > 0.0 and rear.lift.low_by is not None and rear.lift.low_by.by is By.SIGHT:
            lower = scene.change('seat."rear".eye_m', [eye[0], eye[1], eye[2] + rear.lift.nearest_m - 0.01])
            assert hidden_from_rear(lower), "the least lift that does"
            lifted += 1
    assert lifted > 5


def hidden_from_rear(scene: Scene) -> bool:
    return any(warning.code is WarningCode.IN_SIGHT and warning.seat == "rear" for warning in scene.warnings)
