"""`levels` as a terminal table and as a JSON document."""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING, Any

import numpy as np

from ....scenes.model import Scene
from ...answers.level_curve import LevelCurve
from ...measuring.targets import UPPER_BOUND
from ..layout import grid, heading, rendered
from ..units import figure

if TYPE_CHECKING:
    from rich.console import Console, JustifyMethod, RenderableType
    from rich.table import Table

FORMAT = "halfgain.levels/1"
_SHOWN = (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)


def levels_document(scene: Scene, curve: LevelCurve) -> dict[str, Any]:
    """Everything `levels` found; rows of contrast [1] are levels or frames, columns seats; average levels 0 .. 1."""
    frames = curve.frames
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "seats": list(curve.seats),
        "checkerboard": curve.checkerboard.tolist(),
        "contrast_note": UPPER_BOUND if scene.projector.checkerboard_contrast is None else None,
        "average_level": curve.level.tolist(),
        "contrast": {"value": curve.contrast.tolist(), "standard_error": curve.error.tolist()},
        "frames": None
        if frames is None
        else {
            "name": list(curve.names),
            "average_level": frames.average.tolist(),
            "black_cd_m2": {"value": frames.black.tolist(), "standard_error": frames.black_error.tolist()},
            "contrast": {"value": frames.contrast.tolist(), "standard_error": frames.contrast_error.tolist()},
            "contrast_quantiles": {str(q): np.quantile(frames.contrast, q, axis=0).tolist() for q in QUANTILES},
        },
    }


def levels_report(scene: Scene, curve: LevelCurve, console: Console) -> str:
    """Contrast by level and seat, and the frames' spread, as text."""
    from rich.text import Text

    rows = [("average level %", list(curve.seats))]
    for level in _SHOWN:
        row = [np.interp(np.log(level), np.log(curve.level), curve.contrast[:, i]) for i in range(len(curve.seats))]
        rows.append((f"{100 * level:g}", [figure(float(value)) for value in row]))
    rows.append(("checkerboard", [figure(float(value)) for value in curve.checkerboard]))
    table = _by_seat(rows)
    parts: list[RenderableType] = [
        Text(scene.title, style="bold"),
        heading("Contrast of a small white against a small black detail, by the picture's average level"),
        table,
    ]
    if scene.projector.checkerboard_contrast is None:
        parts.append(Text(f"{UPPER_BOUND}.", style="dim"))
    if curve.frames is not None:
        rows = [(f"{len(curve.names)} frames", list(curve.seats))]
        for q in QUANTILES:
            values = np.quantile(curve.frames.contrast, q, axis=0)
            rows.append((f"contrast, {100 * q:.0f} % of frames have less", [figure(float(v)) for v in values]))
        rows.append(("black level, median cd/m2", [figure(float(v)) for v in np.median(curve.frames.black, axis=0)]))
        spread = _by_seat(rows, justify="left")
        parts += [heading("Frames"), spread]
    return rendered(parts, console)


def _by_seat(rows: list[tuple[str, list[str]]], justify: JustifyMethod = "right") -> Table:
    """A table of rows whose first one names the seats; seats with the same figures share a column."""
    from rich.text import Text

    names, columns = rows[0][1], list(zip(*(cells for _, cells in rows[1:]), strict=True))
    groups: dict[tuple[str, ...], list[str]] = {}
    for name, column in zip(names, columns, strict=True):
        groups.setdefault(column, []).append(name)
    table = grid()
    table.add_column(rows[0][0], justify=justify)
    for same in groups.values():
        title = "every seat" if len(same) == len(names) > 1 else ", ".join(same)
        table.add_column(Text(title), justify="right", overflow="fold")
    for i, (label, _) in enumerate(rows[1:]):
        table.add_row(label, *(column[i] for column in groups))
    return table
