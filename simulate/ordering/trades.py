"""Which trades must be present, and why, from what the scene says."""

from __future__ import annotations

from enum import StrEnum

from ...materials.dataclass import dataclass
from ...materials.hangs import Hang
from ...scenes.model import Scene
from .mounting import screen_sizes

OVERHEAD_M = 1.8  # what hangs higher can fall on a head (our own choice)
WIDE_M = 2.0  # wider screens take two to carry (common practice, no source)
HEAVY_KG = 25.0  # guideline weight for one man near the body, HSE INDG143 (from memory)


class Trade(StrEnum):
    """Who must be present; programs go by this, never by the words."""

    ELECTRICIAN = "electrician"
    FIXING = "fixing-to-structure"
    CEILING = "ceiling-builder"
    CABLING = "signal-cabling"
    SECOND = "second-person"


class TradeReason(StrEnum):
    """Why a trade must be present."""

    MOTOR = "motor"
    SUPPLY_OVERHEAD = "supply-at-the-projector"
    SCREEN_OVERHEAD = "screen-overhead"
    PROJECTOR_OVERHEAD = "projector-overhead"
    RECESS = "case-let-into-the-ceiling"
    SIGNAL = "signal-to-the-projector"
    CONTROL = "screen-control"
    WIDE = "wide-screen"
    HEAVY = "heavy-screen"


@dataclass(frozen=True)
class Present:
    """A trade that must be present, with its reasons."""

    trade: Trade
    reasons: tuple[TradeReason, ...]


def trades(scene: Scene) -> tuple[Present, ...]:
    """Trades for a scene's screen and projector. Source: common practice, no source; limits at their constants; local code decides."""
    screen, lens = scene.screen, scene.projector.lens_m
    sizes, mount = screen_sizes(scene), scene.screen.mount
    overhead = lens[2] > OVERHEAD_M
    motor = screen.hang in (Hang.MOTORISED, Hang.TAB_TENSIONED)
    hung = screen.hang is not Hang.FIXED_FRAME or sizes.upper_edge > OVERHEAD_M
    found = {
        Trade.ELECTRICIAN: {TradeReason.MOTOR: motor, TradeReason.SUPPLY_OVERHEAD: overhead},
        Trade.FIXING: {TradeReason.SCREEN_OVERHEAD: hung, TradeReason.PROJECTOR_OVERHEAD: overhead},
        Trade.CEILING: {TradeReason.RECESS: mount is not None and mount.recess_m > 0.0},
        Trade.CABLING: {TradeReason.SIGNAL: True, TradeReason.CONTROL: motor},
        Trade.SECOND: {
            TradeReason.WIDE: sizes.case_width > WIDE_M,
            TradeReason.HEAVY: mount is not None and (mount.weight_kg or 0.0) > HEAVY_KG,
        },
    }
    each = ((trade, tuple(reason for reason, holds in reasons.items() if holds)) for trade, reasons in found.items())
    return tuple(Present(trade, reasons) for trade, reasons in each if reasons)
