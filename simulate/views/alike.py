"""Seat pictures of stages that differ in picture, finishes or light alone: their rays are traced once for all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ..choices.together import fingerprint
from ..measuring.flatten import SceneArrays
from .camera import Camera
from .primary_rays import Seen
from .render import SeatPicture, looking, seat_picture
from .shade import PictureSetup, arriving


def room_of(arrays: SceneArrays) -> str:
    """What scenes have in common that differ in finishes alone: room, projector and fabric. Source: `fingerprint`."""
    return fingerprint(arrays.geometry, arrays.projector, arrays.fabric)


def alike(stages: Sequence[PictureSetup]) -> list[list[int]]:
    """Places of stages that may share rays: one room, one projector, one fabric, one seed. Source: `room_of`."""
    groups: dict[tuple[str, int], list[int]] = {}
    for k, stage in enumerate(stages):
        groups.setdefault((room_of(stage.arrays), stage.seed), []).append(k)
    return list(groups.values())


def seat_pictures_alike(stages: Sequence[PictureSetup], camera: Camera, *, threads: int = 1) -> list[SeatPicture]:
    """`seat_picture` of every stage of a group of `alike`, at the cost of little more than one.

    A place that one of them asks for light is answered for all: a ray meets the same surfaces, and only what they send differs.
    Source: `arriving`, which gives each stage what it would get alone.
    """
    ask, met = _together(stages, threads), _kept(looking(stages[0], camera, threads))
    return [seat_picture(stage, camera, threads=threads, arriving_at=_of(ask, k), met=met) for k, stage in enumerate(stages)]


def _kept(met: Callable[[np.ndarray], Seen]) -> Callable[[np.ndarray], Seen]:
    """The same function of rays (n, 3), each bundle of them followed once: the pictures of a group follow the same ones."""
    known: list[tuple[np.ndarray, Seen]] = []

    def again(rays: np.ndarray) -> Seen:
        found = next((seen for others, seen in known if np.array_equal(others, rays)), None)
        if found is None:
            found = met(rays)
            known.append((rays, found))
        return found

    return again


Ask = Callable[[Seen, np.ndarray, np.ndarray, np.ndarray], list[np.ndarray]]


def _of(ask: Ask, k: int) -> Callable[[Seen, np.ndarray, np.ndarray, np.ndarray], np.ndarray]:
    return lambda seen, rays, pixels, table: ask(seen, rays, pixels, table)[k]


def _together(stages: Sequence[PictureSetup], threads: int) -> Ask:
    """A function of (seen, rays, pixels (n,), table): the arriving light (n, C) of every stage, each pixel computed once."""
    known = np.zeros(0, int)  # row of each pixel, -1 where it was not asked yet
    kept = [np.zeros((0, len(stage.room.values.tint))) for stage in stages]

    def ask(seen: Seen, rays: np.ndarray, pixels: np.ndarray, table: np.ndarray) -> list[np.ndarray]:
        nonlocal known
        if not len(known):
            known = np.full(len(rays), -1)
        new = np.unique(pixels[known[pixels] < 0])
        if len(new):
            known[new] = len(kept[0]) + np.arange(len(new))
            for k, light in enumerate(arriving(stages, seen, rays, new, table, threads)):
                kept[k] = np.vstack([kept[k], light])
        return [light[known[pixels]] for light in kept]

    return ask
