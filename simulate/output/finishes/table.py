"""The terminal report of `finishes`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....scenes.model import Scene
from ...answers.repaint import Plan, RoomCosts
from ..layout import grid, heading, rendered
from ..units import figure, spread

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console, RenderableType

_LEAST = 0.01  # of ln contrast: smaller interactions are not worth a line


def finishes_report(scene: Scene, costs: RoomCosts, plan: Plan, console: Console, *, more: Iterable[RenderableType] = ()) -> str:
    """What each surface costs, what goes together, and the cheapest set, as text; more   parts to come after them."""
    from rich.text import Text

    worst = costs.worst
    now, most = costs.contrast_now[worst], costs.contrast_all_black[worst]
    return rendered(
        [
            Text(scene.title, style="bold"),
            Text(
                f"Checkerboard contrast at {costs.seats[worst]}, the seat with the least: {figure(now.value)} "
                f"± {spread(now.standard_error)}; with every surface black {figure(most.value)}."
            ),
            *_surfaces(costs),
            *_together(costs),
            *_plan(costs, plan),
            *more,
        ],
        console,
    )


def _surfaces(costs: RoomCosts) -> list[RenderableType]:
    """One row a surface, what to repaint first on top."""
    from rich.text import Text

    table = grid()
    for name in (
        "surface",
        "reflects",
        "m²",
        "contrast if black",
        "black patch if black cd/m²",
        "slope",
        "as it is, all else black",
    ):
        table.add_column(name, justify="left" if name == "surface" else "right", overflow="fold")
    seat = costs.worst
    for surface in costs.surfaces:
        black, patch = surface.contrast_black[seat], surface.black_cd_m2[seat]
        table.add_row(
            Text(surface.name),
            f"{surface.finish.luminous:.2f}",
            f"{surface.area_m2:.1f}",
            f"{figure(black.value)} ± {spread(black.standard_error) or '0'}",
            figure(patch.value),
            f"{surface.slope[seat].value:.3f}",
            figure(surface.contrast_alone[seat].value),
        )
    note = (
        f"At {costs.seats[seat]}; black patches now {figure(costs.black_now[seat].value)} cd/m². Slope: per cent of contrast for "
        "one per cent of reflectance. The last column is the contrast that this surface alone leaves."
    )
    return [heading("What each surface costs, the dearest first"), table, Text(note, style="dim")]


def _together(costs: RoomCosts) -> list[RenderableType]:
    """The pairs whose joint effect differs most from the product of their own."""
    from math import exp

    from rich.text import Text

    names = [surface.name for surface in costs.surfaces]
    pairs = sorted(
        ((costs.together[i, j], names[i], names[j]) for i in range(len(names)) for j in range(i)), key=lambda pair: -abs(pair[0])
    )
    lines = [
        f"{b} and {a}: both black give {100 * abs(exp(value) - 1):.0f} % {'more' if value > 0 else 'less'} "
        "than the product of each alone"
        for value, a, b in pairs[:5]
        if abs(value) >= _LEAST
    ]
    dark = [
        (surface.name, surface.contrast_alone[costs.worst].value / costs.contrast_all_black[costs.worst].value)
        for surface in costs.surfaces
    ]
    name, share = min(dark, key=lambda pair: pair[1])
    if share < 0.99:
        lines.append(f"In an otherwise black room {name} alone takes {100 * (1 - share):.0f} % of the contrast")
    return [heading("Together"), *(Text(line) for line in lines or ["no pair does more or less than its two parts"])]


def _plan(costs: RoomCosts, plan: Plan) -> list[RenderableType]:
    """The cheapest set, or that there is none, with the proof's standing."""
    from rich.text import Text

    title = heading(f"Cheapest way to {plan.target:g} : 1 at every seat")
    found, unit = plan.found, "" if plan.priced else " m²"
    if found.choice is None:
        if not found.exact:
            return [title, Text(f"Not found within the search's limit; any way costs at least {figure(found.bound)}{unit}.")]
        least = min(found.contrast)
        return [title, Text(f"No allowed set reaches it; the darkest choice everywhere gives {figure(float(least))}.")]
    if not plan.changes:
        return [title, Text("Reached as the room is.")]
    table = grid(header=False)
    table.add_column()
    table.add_column()
    for name, finish in plan.changes.items():
        table.add_row(Text(name), Text(f"{finish.name} ({finish.luminous:.2f})"))
    low = min(range(len(plan.contrast)), key=lambda i: plan.contrast[i].value)
    reached = plan.contrast[low]
    sure = (reached.value - plan.target) / reached.standard_error if reached.standard_error else float("inf")
    lines = [
        f"{'Price' if plan.priced else 'Area to repaint'} {figure(found.cost)}{unit}; least contrast {figure(reached.value)} "
        f"± {spread(reached.standard_error) or '0'} at {costs.seats[low]}.",
        "Proved: no allowed set that reaches it costs less."
        if found.exact
        else f"Not proved the cheapest: the search's limit came first; any way costs at least {figure(found.bound)}{unit}.",
    ]
    if sure < 2.0:
        lines.append("The margin is below two standard errors: ask for a smaller --error before relying on it.")
    return [title, table, *(Text(line) for line in lines)]
