"""`flatness` as a terminal table, a JSON document and CSV."""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from ....scenes.model import Scene
from ...eye.verdict import STATED_FOR
from ...folds.flatness import DIRECTIONS, STEEPEST, Flatness
from ..csv_text import csv_text
from ..layout import grid, heading, rendered

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

FORMAT = "halfgain.flatness/1"


def flatness_document(scene: Scene, found: Flatness) -> dict[str, Any]:
    """Everything `flatness` found; None where no wave that was tried is seen."""
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "steepest_slope_tried": STEEPEST,
        "points": [
            {
                "crests": point.crests,
                "wavelength_mm": 1e3 * point.wavelength_m,
                "amplitude_mm": _mm(point.amplitude_m),
                "worst_seat": point.worst_seat,
                "warp_amplitude_mm": _mm(point.warp_amplitude_m),
                "warp_seat": point.warp_seat,
            }
            for point in found.points
        ],
        "single_folds": [
            {
                "fold": single.name,
                "width_mm": 1e3 * single.width_m,
                "height_mm": _mm(single.height_m),
                "worst_seat": single.worst_seat,
            }
            for single in found.singles
        ],
        "fewer_than_three_waves": list(found.left_out),
        "border_masks": False,
        "stated_for": STATED_FOR,
    }


def _mm(value_m: float | None) -> float | None:
    return None if value_m is None else 1e3 * value_m


def flatness_csv(found: Flatness) -> str:
    """One row a wave."""
    rows: list[list[object]] = [["crests", "wavelength_mm", "amplitude_mm", "worst_seat", "warp_amplitude_mm", "warp_seat"]]
    for p in found.points:
        limits = ("" if value is None else 1e3 * value for value in (p.amplitude_m, p.warp_amplitude_m))
        first, second = limits
        rows.append([p.crests, 1e3 * p.wavelength_m, first, p.worst_seat, second, p.warp_seat])
    return csv_text(rows)


def flatness_report(scene: Scene, found: Flatness, console: Console) -> str:
    """A row a wavelength, a column a direction, in millimetres from the middle to a crest."""
    from rich.text import Text

    table = grid()
    for name in ("wave", *DIRECTIONS, "warp"):
        table.add_column(f"{name}\nmm", justify="right", no_wrap=True)
    table.add_column("\nseen first from", overflow="fold")
    for wave in dict.fromkeys(point.wavelength_m for point in found.points):
        row = {point.crests: point for point in found.points if point.wavelength_m == wave}
        cells = ["" if name not in row else _limit(row[name].amplitude_m) for name in DIRECTIONS]
        seats = ", ".join(dict.fromkeys(row[name].worst_seat for name in DIRECTIONS if name in row))
        warps = [p.warp_amplitude_m for p in row.values() if p.warp_amplitude_m is not None]
        table.add_row(f"{1e3 * wave:.0f}", *cells, _limit(min(warps) if warps else None), Text(seats))
    singles = "; ".join(
        f"{single.name}, {1e3 * single.width_m:.0f} mm wide: {_limit(single.height_m)} mm ({single.worst_seat})"
        for single in found.singles
    )
    parts: list[RenderableType] = [
        Text(scene.title, style="bold"),
        heading("How flat: the largest amplitude of even waves that stays below the threshold of brightness at every seat"),
        table,
        Text(
            "Amplitude is half of crest to trough, of folds whose crests run as the column says; warp: the largest "
            "that shifts no point by more than 1 arc minute. Empty: fewer than three waves in the picture; -: none tried is seen."
        ),
        Text(f"One fold alone, largest height: {singles}."),
        Text(f"Limits are {STATED_FOR}.", style="dim"),
    ]
    return rendered(parts, console)


def _limit(value_m: float | None) -> str:
    if value_m is None:
        return "-"
    mm = 1e3 * value_m
    return f"{mm:.3f}" if mm < 0.1 else f"{mm:.2f}" if mm < 1 else f"{mm:.1f}"
