"""Five light, furnished rooms that are hard for pictures: light walls, warm surfaces, furniture near the screen, tight slots."""

from __future__ import annotations

from collections.abc import Sequence

from halfgain.scenes.library import scene_path
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene

from tests.rooms import ANGULAR, box_object, room

Solid = tuple[Sequence[float], Sequence[float], object]


def _rgb(*levels: float) -> str:
    return f"{{ reflectance = [{levels[0]}, {levels[1]}, {levels[2]}] }}"


def _boxes(*solids: Solid) -> str:
    return "".join(box_object(f"box {k}", list(low), list(high), finish) for k, (low, high, finish) in enumerate(solids))


def _eye(*place: float) -> str:
    return f'[[seat]]\nname = "a"\neye_m = {list(place)}\n'


def near_furniture() -> Scene:
    """Walls .80 to .88; a sideboard 8 cm below the border, a cabinet 7 cm and a cupboard 4 cm beside it, a table, a sofa."""
    return room(
        width=4.4,
        depth=5.6,
        height=2.5,
        front=0.86,
        back=0.84,
        left=0.82,
        right=_rgb(0.88, 0.84, 0.78),
        ceiling=0.88,
        floor=0.80,
        screen_width=2.2,
        bottom=0.75,
        gap=0.05,
        border=0.05,
        lens="[0.0, 4.2, 2.2]",
        seats=_eye(0.0, 3.7, 1.15),
        objects=_boxes(
            ((-1.0, 0, 0), (1.0, 0.45, 0.62), _rgb(0.75, 0.68, 0.6)),
            ((1.22, 0, 0), (1.75, 0.4, 1.9), 0.8),
            ((-1.7, 0, 0.3), (-1.19, 0.3, 1.5), _rgb(0.8, 0.7, 0.6)),
            ((-1.0, 3.9, 0), (1.0, 4.8, 0.8), _rgb(0.7, 0.6, 0.5)),
            ((-0.5, 2.2, 0.35), (0.5, 2.7, 0.40), _rgb(0.8, 0.7, 0.55)),
        ),
    )


def plain_living_room() -> Scene:
    """A sideboard, a sofa, a shelf; an ochre wall and an oak floor."""
    return room(
        width=4.6,
        depth=5.4,
        height=2.5,
        front=0.84,
        back=0.84,
        left=0.84,
        right=_rgb(0.62, 0.5, 0.38),
        ceiling=0.86,
        floor=_rgb(0.45, 0.32, 0.2),
        screen_width=2.2,
        bottom=0.8,
        gap=0.08,
        border=0.05,
        lens="[0.0, 4.2, 2.15]",
        seats=_eye(0.1, 3.6, 1.1),
        objects=_boxes(
            ((-0.9, 0, 0), (0.9, 0.42, 0.5), _rgb(0.45, 0.32, 0.2)),
            ((-1.1, 3.8, 0), (1.1, 4.7, 0.8), 0.15),
            ((-2.2, 1.2, 0), (-1.8, 2.4, 1.8), 0.7),
        ),
    )


def slots() -> Scene:
    """The screen 2 cm off the wall, a cupboard 2 cm beside its border, a bookcase 2 cm off a wall, a box 5 cm off the floor."""
    return room(
        width=4.0,
        depth=5.0,
        height=2.4,
        front=0.82,
        back=0.8,
        left=0.85,
        right=0.85,
        ceiling=0.87,
        floor=_rgb(0.6, 0.42, 0.25),
        screen_width=2.0,
        bottom=0.7,
        gap=0.02,
        border=0.04,
        lens="[0.2, 4.0, 2.2]",
        seats=_eye(-0.4, 3.3, 1.2),
        objects=_boxes(
            ((-1.3, 0, 0), (1.3, 0.5, 0.5), _rgb(0.6, 0.42, 0.25)),
            ((-0.5, 0.25, 0.5), (0.5, 0.35, 0.57), 0.3),
            ((1.06, 0, 0.52), (1.3, 0.35, 1.3), _rgb(0.85, 0.8, 0.7)),
            ((-1.98, 0.6, 0), (-1.65, 1.6, 2.0), _rgb(0.8, 0.75, 0.65)),
            ((1.5, 1.0, 0.05), (1.97, 1.6, 1.0), 0.82),
        ),
    )


def warm_and_angular() -> Scene:
    """An angular-reflective cloth, red and ochre surfaces, a hung board 2 cm off the wall below a border of 3 cm."""
    return room(
        width=4.8,
        depth=6.0,
        height=2.6,
        front=_rgb(0.85, 0.72, 0.6),
        back=0.8,
        left=_rgb(0.85, 0.6, 0.5),
        right=0.85,
        ceiling=0.88,
        floor=_rgb(0.8, 0.6, 0.42),
        fabric=ANGULAR,
        screen_width=2.4,
        bottom=0.7,
        gap=0.03,
        border=0.03,
        lens="[0.0, 4.5, 2.3]",
        seats=_eye(1.2, 3.6, 1.3),
        objects=_boxes(
            ((-1.6, 0.02, 0.1), (-0.2, 0.5, 0.6), 0.82),
            ((-0.1, 0, 0), (1.1, 0.4, 0.45), _rgb(0.8, 0.65, 0.5)),
            ((1.33, 0, 0), (1.6, 0.3, 1.4), 0.8),
            ((-1.2, 3.9, 0), (1.2, 4.8, 0.8), _rgb(0.7, 0.5, 0.4)),
            ((-2.35, 1.5, 0), (-2.05, 2.2, 0.9), 0.85),
        ),
    )


def under_slopes() -> Scene:
    """The library's attic, all light, its screen small, so that most of the view is the wall between the slopes."""
    text = scene_path("attic").read_text(encoding="utf-8")
    for old, new in (
        ('front = "mid grey matt paint"', "front = 0.7"),
        ('finish = "charcoal matt paint"', "finish = 0.7"),
        ("width_m = 2.2", "width_m = 1.4"),
        ("bottom_m = 0.45", "bottom_m = 0.7"),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    return scene_from_text(text)


LIGHT_ROOMS = {
    "near furniture": near_furniture,
    "living room": plain_living_room,
    "slots": slots,
    "warm, angular": warm_and_angular,
    "under slopes": under_slopes,
}
