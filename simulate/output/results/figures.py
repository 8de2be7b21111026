"""Results as matplotlib figures."""

from __future__ import annotations

from functools import singledispatch
from typing import Any

from ....scenes.which_seat import which_seat
from ...measuring.measure import Measurement
from ...ordering.order import Order
from ...placing.placement import Placement


@singledispatch
def plot(result: Any, **options: Any) -> Any:
    """A matplotlib figure of a result. raises TypeError for what has none"""
    raise TypeError(f"{type(result).__name__} has no figure")


@plot.register(Measurement)
def _(result: Measurement, *, seat: str | int | None = None) -> Any:
    """The room in plan; with a seat, by name or place from 0, the white picture as it sees it. raises SceneErrors for a seat that is none"""
    from ..measure.plan import plan_figure
    from ..measure.screen_map import screen_figure

    if seat is None:
        return plan_figure(result)
    return screen_figure(result, which_seat([reading.name for reading in result.seats], seat))


@plot.register(Order)
def _(result: Order) -> Any:
    """The screen on its wall as the seats see it."""
    from ..order.front import front_figure

    return front_figure(result)


@plot.register(Placement)
def _(result: Placement) -> Any:
    """Plan and section to scale, with where the lens may stand."""
    from ..place.chart import place_figure

    return place_figure(result)
