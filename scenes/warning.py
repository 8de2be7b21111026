"""A warning about a scene as data: what it is about, whom it concerns, and its words."""

from __future__ import annotations

from enum import StrEnum

from ..materials.dataclass import dataclass
from .remedy import Remedy


class WarningCode(StrEnum):
    """What a warning is about; programs go by this, never by the words."""

    DOES_NOT_FIT = "does-not-fit"
    IN_USE_LEFT_OUT = "in-use-left-out"
    CONTRAST_LEFT_OUT = "checkerboard-contrast-left-out"
    LIGHT_BESIDE = "light-beside-the-white-area"
    UNLIT = "white-area-unlit"
    BARS = "black-bars"
    BEYOND_WALL = "light-beyond-the-screen-wall"
    CASING = "casing-without-room"
    IN_BEAM = "in-the-beam"
    LENS_IN_HEAD = "lens-in-a-head"
    IN_SIGHT = "in-sight"
    OVERLAP = "shared-space"
    THIN = "thin-object"
    SEATS_IN_ONE = "seats-share-space"
    GROOVES = "grooves-of-a-large-pull-down"
    TOUCHES_WALL = "folds-touch-the-wall"
    FABRIC_IN_DOUBT = "fabric-in-doubt"
    FABRIC_ON_HANG = "fabric-not-made-for-the-hang"
    LIGHT_SIDE = "light-from-the-wrong-side"
    ROOM_LEAKS = "room-is-not-closed"
    MESH_TURNED = "triangles-turned"
    MESH_DOUBLED = "triangles-doubled"
    WALL_IN_BEAM = "wall-in-the-beam"


@dataclass(frozen=True)
class SceneWarning:
    """What a user should know before trusting the numbers.

    code    what it is about
    text    the warning in words
    seat    name of the seat it concerns; None where it concerns no one seat
    things  what causes it, in words: the objects and heads that stand in the way
    remedies  keys and values of the scene that, all together, would mend it; none where none is known
    """

    code: WarningCode
    text: str
    seat: str | None = None
    things: tuple[str, ...] = ()
    remedies: tuple[Remedy, ...] = ()

    def __str__(self) -> str:
        return self.text
