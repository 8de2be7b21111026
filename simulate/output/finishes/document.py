"""The JSON document of `finishes`."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from ....scenes.model import Scene
from ...answers.repaint import Plan, RoomCosts
from ...measuring.estimate import Estimate

FORMAT = "halfgain.finishes/1"


def _numbers(values: list[Estimate]) -> list[dict[str, float]]:
    return [{key: float(part) for key, part in value._asdict().items()} for value in values]


def finishes_document(scene: Scene, costs: RoomCosts, plan: Plan) -> dict[str, Any]:
    """Everything `finishes` found; lists hold one entry a seat, in the order of `seats`. Source: RoomCosts, Plan."""
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "seats": list(costs.seats),
        "worst_seat": costs.seats[costs.worst],
        "now": {"checkerboard": _numbers(costs.contrast_now), "black_patch_cd_m2": _numbers(costs.black_now)},
        "all_black": {"checkerboard": _numbers(costs.contrast_all_black)},
        "surfaces": [
            {
                "name": surface.name,
                "finish": surface.finish.name,
                "reflectance": surface.finish.luminous,
                "area_m2": surface.area_m2,
                "black": {"checkerboard": _numbers(surface.contrast_black), "black_patch_cd_m2": _numbers(surface.black_cd_m2)},
                "all_others_black": {"checkerboard": _numbers(surface.contrast_alone)},
                "slope": _numbers(surface.slope),
            }
            for surface in costs.surfaces
        ],
        "interaction": {
            "surfaces": [surface.name for surface in costs.surfaces],
            "log_factor": costs.together.tolist(),
            "note": "ln of the contrast factor both black give beyond the product of their own factors, at the worst seat",
        },
        "cheapest": {
            "target": plan.target,
            "reached": plan.found.choice is not None,
            "changes": {name: finish.name for name, finish in plan.changes.items()},
            "cost": plan.found.cost,
            "cost_unit": "currency of the list" if plan.priced else "m2",
            "cost_bound": plan.found.bound,
            "proved": plan.found.exact,
            "checkerboard": _numbers(plan.contrast),
            "checkerboard_most": [float(c) for c in plan.found.contrast],
        },
    }
