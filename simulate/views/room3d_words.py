"""Words in the drawing of the room: title, names of walls, and labels that do not cover one another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...scenes.model import Scene
from ...scenes.quiet import quiet_drawing
from ...scenes.rooms.lines import edges
from ...scenes.rooms.mesh import Mesh

INK = "#222222"
SIZE_PX = (1280, 800)  # of each side
LETTERS_PX, _LABEL_PX = 15, 26.0


def words_at_the_top(plotter: Any, lines: list[str]) -> None:
    """Lines at the top, well inside the picture, the last one in grey."""
    for i, line in enumerate(lines):
        last = i == len(lines) - 1
        plotter.add_text(
            line,
            position=(0.03, 0.93 - 0.045 * i),
            viewport=True,
            font_size=10 if last else 14,
            color="#555555" if last else INK,
            font_file=typeface(),
        )


def typeface() -> str:
    """The file of the letters that all other drawings have."""
    quiet_drawing()
    from matplotlib.font_manager import FontProperties, findfont

    return str(findfont(FontProperties()))


def width_px(name: str) -> float:
    """Width of a label, about [px]."""
    return 12.0 + 0.72 * LETTERS_PX * len(name)


def eye_and_axes(plotter: Any) -> tuple[np.ndarray, np.ndarray, float]:
    """Eye (3,) [m], axes right, up, ahead (3, 3), and the pixels of a picture height at a distance of 1 [1]."""
    camera = plotter.camera
    eye, ahead = np.array(camera.position), np.array(camera.focal_point) - np.array(camera.position)
    ahead /= np.linalg.norm(ahead)
    right = np.cross(ahead, camera.up)
    right /= np.linalg.norm(right)
    return (
        eye,
        np.stack([right, np.cross(right, ahead), ahead]),
        SIZE_PX[1] / (2.0 * np.tan(np.radians(camera.view_angle) / 2.0)),
    )


def apart(
    places: np.ndarray, widths_px: Sequence[float], view: tuple[np.ndarray, np.ndarray, float], size_px: tuple[int, int]
) -> np.ndarray:
    """Places (n, 3) [m] for labels, moved along the picture's upright until none covers another.

    widths_px  of the labels, _LABEL_PX high;  view  as `eye_and_axes` has it
    Source: each label in turn takes the nearest free height of those above and below its own; central projection.
    """
    eye, axes, scale = view
    local = (np.asarray(places, float) - eye) @ axes.T
    x, y = scale * local[:, 0] / local[:, 2], scale * local[:, 1] / local[:, 2]
    taken: list[tuple[float, float, float]] = []
    moved = np.array(places, float)
    for i in np.argsort(local[:, 2]):
        tries = [0.0] + [sign * k * 0.25 * _LABEL_PX for k in range(1, 80) for sign in (1.0, -1.0)]
        free = (
            by
            for by in tries
            if all(abs(x[i] - ox) >= 0.5 * (widths_px[i] + ow) or abs(y[i] + by - oy) >= _LABEL_PX for ox, oy, ow in taken)
        )
        by = next(free, 0.0)
        taken.append((x[i], y[i] + by, widths_px[i]))
        moved[i] += by * local[i, 2] / scale * axes[1]
    return moved


def edges_and_walls(plotter: Any, scene: Scene) -> None:
    """Edges of the room and the names of its walls."""
    import pyvista

    room = scene.room
    (left, right), (_, depth), (_, height) = room.limits
    if room.shell is None:
        lines = pyvista.Box((left, right, -depth, 0.0, 0.0, height)).extract_all_edges()
        at = {"front": (0, 0, height), "back": (0, -depth, 0.0), "left": (left, -depth / 2, 0), "right": (right, -depth / 2, 0.0)}
    else:
        segments = edges(room.shell).reshape(-1, 3) * [1.0, -1.0, 1.0]
        lines = pyvista.line_segments_from_points(segments)
        at = wall_middles(room.shell)
    plotter.add_mesh(lines, color="#777777", line_width=1.5)
    names = list(at)
    plotter.add_point_labels(
        np.array([at[name] for name in names], float),
        names,
        always_visible=True,
        show_points=False,
        font_size=13,
        text_color="#666666",
        shape=None,
        font_file=typeface(),
    )


def wall_middles(shell: Mesh) -> dict[str, tuple[float, float, float]]:
    """Foot of the middle of every named wall, on the floor [m]; none for what is level. Source: the mean by area."""
    size = np.linalg.norm(shell.cross, axis=1)
    upright = np.abs(shell.cross[:, 2]) < 0.5 * size
    found = {}
    for index, name in enumerate(shell.names):
        mine = (shell.surface == index) & upright
        if mine.any():
            x, y, _ = np.average(shell.triangles[mine].mean(axis=1), axis=0, weights=size[mine])
            found[name] = (
                float(x),
                float(y),
                float(shell.bounds[0, 2]) if y < -0.1 else float(shell.triangles[mine][..., 2].max()),
            )
    return found
