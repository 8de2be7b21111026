"""The JSON document of `order`."""

from __future__ import annotations

from dataclasses import asdict
from importlib.metadata import version
from typing import Any

from ...ordering.order import Order
from ..cautions import CAUTIONS
from .words import AGEING_NOTE, FOLD_NOTE

FORMAT = "halfgain.order/1"


def order_document(found: Order) -> dict[str, Any]:
    """Everything `order` tells; lengths in metres, places [right, out, up]. Source: Order."""
    scene = found.scene
    screen, mount, projector, throw = scene.screen, scene.screen.mount, scene.projector, found.throw
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "screen": {
            **{f"{name}_m": value for name, value in asdict(found.sizes).items()},
            "border_m": screen.border_m,
            "gap_to_wall_m": screen.gap_to_wall_m,
            "fabric": screen.fabric.name,
            "hang": str(screen.hang),
            "viewing_side": "front",
            "mount": None if mount is None else asdict(mount),
            "load": None if found.load is None else asdict(found.load),
        },
        "projector": {
            "lens_m": list(projector.lens_m),
            "below_ceiling_m": None if scene.room.shell is not None else scene.room.height_m - projector.lens_m[2],
            "throw_m": throw.distance_m,
            "throw_ratio": throw.ratio,
            "shift": [throw.shift_right, throw.shift_up],
            "feasible": throw.feasible,
            "casing": None if found.casing is None else {"min_m": list(found.casing.min_m), "max_m": list(found.casing.max_m)},
            "weight_kg": projector.weight_kg,
        },
        "beam": asdict(found.beam),
        "trades": [{"trade": str(each.trade), "reasons": [str(reason) for reason in each.reasons]} for each in found.trades],
        "ageing": None if found.ages is None else {**asdict(found.ages), "model": AGEING_NOTE},
        "judge_folds_again": {"when": [str(each) for each in found.fold_checks], "source": FOLD_NOTE},
        "open": [{"code": str(warning.code), "text": warning.text} for warning in found.open],
        "cautions": list(CAUTIONS),
    }
