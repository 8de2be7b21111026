"""Pictures of a fabric: gain against angle, reflectance against incidence, the lobe in space, light from above and below."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from ....materials.fabric import Fabric
from ....materials.hangs import OPPOSITE
from ....materials.lobes.brdf import directional_albedos, fabric_gains
from ....materials.solving.curve import GainCurve
from ....materials.solving.families import lobe_gains
from ....materials.solving.fit import FamilyFit
from ....materials.solving.fit_report import FitReport
from ....materials.solving.special import CEILING_DEG, TOWARD_DEG
from ..drawing import COLOURS, FAINT, GREY, INK, figure_of, label, png

_INKS = ("#00457c", "#b0413e", "#c9a227", "#3f7d4e", "#6f4e9c", "#4a4a4a")
_STYLES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (1, 1)))
_MOST = 4  # fits drawn beside the points
Line = tuple[str, np.ndarray, np.ndarray]  # label, angles [deg], gains


def fabric_pictures(fabric: Fabric) -> dict[str, bytes]:
    """gain.png, reflectance.png, lobe.png and, for a louvred fabric, light-from.png as PNG bytes."""
    found = {
        "gain.png": gain_chart(f"Gain of {label(fabric.name)}, {_light_words(fabric)}", fabric_lines(fabric), None),
        "reflectance.png": reflectance_chart([fabric]),
        "lobe.png": lobe_chart(fabric),
    }
    if fabric.groove is not None:
        found["light-from.png"] = light_chart(fabric)
    return found


def _light_words(fabric: Fabric) -> str:
    """The light that the gain is drawn for, in words."""
    if fabric.gain_from is None:
        return "light along the normal"
    return f"light at {fabric.gain_incidence_deg:g} degrees from {fabric.gain_from}"


def fit_pictures(report: FitReport) -> dict[str, bytes]:
    """gain.png and, for a curve, residuals.png; reflectance.png and lobe.png of the fabric from two numbers."""
    if report.curve is not None:
        shown = report.curve_fits[: 1 if report.curve.oblique else _MOST]
        lines = [line for fit in shown for line in _fit_lines(fit, report.curve)]
        title = f"Measured gain and best fit: {shown[0].name}" if report.curve.oblique else "Measured gain and fits"
        return {
            "gain.png": gain_chart(title, lines, report.curve),
            "residuals.png": residual_chart(report.curve, report.curve_fits[:_MOST]),
        }
    assert report.fabric is not None
    return fabric_pictures(report.fabric)


def fabric_lines(fabric: Fabric) -> list[Line]:
    """Gain (357,) [1] against view angle (357,) [deg] at the fabric's own incidence, on both sides of the normal.

    returns  a line across, and one up and down where that may differ
    Source: kernel values, `fabric_gains`.
    """
    view = np.linspace(-89.0, 89.0, 357)
    t = np.radians(view)
    toward = 0.0
    if fabric.gain_from is not None:
        toward = math.radians(TOWARD_DEG[fabric.gain_from] + 90.0)
    lean = math.radians(fabric.gain_incidence_deg)
    light = np.array([math.sin(lean) * math.cos(toward), math.sin(lean) * math.sin(toward), math.cos(lean)])
    zero = np.zeros_like(t)
    planes = [("to the right (+) and left (-)", np.stack([np.sin(t), zero, np.cos(t)], axis=1))]
    if fabric.half_gain_up_deg is not None or fabric.groove is not None:
        planes.append(("up (+) and down (-)", np.stack([zero, np.sin(t), np.cos(t)], axis=1)))
    return [(words, view, fabric_gains(fabric.arrays(), np.tile(light, (len(t), 1)), eye)) for words, eye in planes]


def _fit_lines(fit: FamilyFit, curve: GainCurve) -> list[Line]:
    """A fit at each incidence of the curve, in the plane of incidence or the first plane measured."""
    lines = []
    view = np.linspace(-89.0, 89.0, 357)
    for incidence in np.unique(curve.incidence_deg)[: len(_INKS)]:
        azimuth = float(curve.azimuth_deg[curve.incidence_deg == incidence][0])
        points = GainCurve(view, np.zeros(len(view)), np.full(len(view), incidence), np.full(len(view), azimuth), None)
        gains = np.full(len(view), fit.profile.base)
        for lobe in fit.profile.lobes:
            gains = gains + lobe_gains(lobe, *points.directions())
        words = f"light at {incidence:g} degrees" if curve.oblique else fit.name
        lines.append((words, view, gains))
    return lines


def gain_chart(title: str, lines: Sequence[Line], curve: GainCurve | None) -> bytes:
    """Gain against angle, in Cartesian form on the left and in polar form on the right."""
    from matplotlib.ticker import MaxNLocator

    figure = figure_of(12.0, 5.6)
    flat = figure.add_axes((0.06, 0.12, 0.52, 0.72))
    round_axes: Any = figure.add_axes((0.62, 0.06, 0.35, 0.78), projection="polar")
    one_sided = curve is not None and not curve.oblique and float(np.min(curve.view_deg)) >= 0.0
    for i, (words, view, gains) in enumerate(lines):
        look: dict[str, Any] = {"color": _INKS[i % len(_INKS)], "ls": _STYLES[i % len(_STYLES)], "lw": 2.0}
        use = view >= 0.0 if one_sided else slice(None)
        flat.plot(view[use], gains[use], label=words, **look)
        round_axes.plot(np.radians(view), gains, **look)
    if curve is not None:
        _points(flat, round_axes, curve)
    flat.set_xlim(0 if one_sided else -90, 90)
    flat.set_xticks(range(0 if one_sided else -90, 91, 15))
    top = max(float(np.max(gains[np.abs(view) <= 80.0])) for _, view, gains in lines)
    if curve is not None:
        top = max(top, float(np.max(curve.gain)))
    flat.set_ylim(0, 1.12 * top)
    round_axes.set_ylim(0, 1.12 * top)
    _dress(flat, "view angle from the normal [degrees]", "gain")
    flat.legend(fontsize=9, loc="upper right", framealpha=0.9, edgecolor=FAINT)
    round_axes.set_theta_zero_location("N")
    round_axes.set_theta_direction(-1)
    round_axes.set_thetalim(-math.pi / 2, math.pi / 2)
    round_axes.set_thetagrids(range(-90, 91, 30))
    round_axes.yaxis.set_major_locator(MaxNLocator(4))
    round_axes.grid(color=FAINT)
    round_axes.tick_params(labelsize=9, labelcolor=GREY)
    figure.text(0.06, 0.93, title, fontsize=14, color=INK, weight="bold", va="center")
    return png(figure)


def _points(flat: Any, round_axes: Any, curve: GainCurve) -> None:
    """Measured points with two standard uncertainties; in the colour of their incidence where there are several."""
    for i, incidence in enumerate(np.unique(curve.incidence_deg)):
        use = curve.incidence_deg == incidence
        ink = _INKS[i % len(_INKS)] if curve.oblique else INK
        error = None if curve.gain_sd is None else 2.0 * curve.gain_sd[use]
        words = "measured" + (f" at {incidence:g} degrees" if curve.oblique else "")
        flat.errorbar(curve.view_deg[use], curve.gain[use], yerr=error, fmt="o", ms=5, color=ink, ecolor=GREY, label=words)
        round_axes.plot(np.radians(curve.view_deg[use]), curve.gain[use], "o", ms=3.5, color=ink)


def residual_chart(curve: GainCurve, fits: Sequence[FamilyFit]) -> bytes:
    """What each fit leaves of the measured gain, against view angle; error bars are two standard uncertainties."""
    figure = figure_of(9.0, 5.0)
    axes = figure.add_axes((0.1, 0.12, 0.86, 0.74))
    order = np.argsort(curve.view_deg, kind="stable")
    for i, fit in enumerate(fits):
        look: dict[str, Any] = {"color": _INKS[i % len(_INKS)], "ls": _STYLES[i % len(_STYLES)] if not curve.oblique else "none"}
        axes.plot(
            curve.view_deg[order],
            fit.residuals[order],
            marker="osD^"[i % 4],
            ms=5,
            lw=1.2,
            label=f"{fit.name}: rms {fit.rms:.3g}",
            **look,
        )
    if curve.gain_sd is not None:
        axes.fill_between(
            curve.view_deg[order],
            -2 * curve.gain_sd[order],
            2 * curve.gain_sd[order],
            color=FAINT,
            zorder=0,
            label="two standard uncertainties",
        )
    axes.axhline(0.0, color=INK, lw=1.0)
    _dress(axes, "view angle from the normal [degrees]", "measured gain less fit")
    axes.legend(fontsize=9, framealpha=0.9, edgecolor=FAINT)
    figure.text(0.1, 0.94, "What the fits leave", fontsize=14, color=INK, weight="bold", va="center")
    return png(figure)


def reflectance_chart(fabrics: Sequence[Fabric]) -> bytes:
    """Share of the light given back [1] against its incidence [deg], in the planes across and up. Source: `directional_albedos`."""
    figure = figure_of(8.0, 5.0)
    axes = figure.add_axes((0.1, 0.12, 0.86, 0.74))
    angle = np.linspace(-88.0, 88.0, 89)
    t = np.radians(angle)
    zero = np.zeros_like(t)
    for i, fabric in enumerate(fabrics):
        planes = [("right (+), left (-)", np.stack([np.sin(t), zero, np.cos(t)], axis=1))]
        if fabric.groove is not None or fabric.half_gain_up_deg is not None:
            planes.append(("above (+), below (-)", np.stack([zero, np.sin(t), np.cos(t)], axis=1)))
        who = f"{label(fabric.name)}, " if len(fabrics) > 1 else ""
        for j, (words, directions) in enumerate(planes):
            share = directional_albedos(fabric.arrays(), directions)
            axes.plot(angle, share, color=_INKS[i + j], ls=_STYLES[j], lw=2.0, label=f"{who}light from {words}")
    axes.set_xlim(-90, 90)
    axes.set_xticks(range(-90, 91, 15))
    axes.set_ylim(0, 1.02)
    _dress(axes, "incidence of the light [degrees]", "reflectance")
    axes.legend(fontsize=9, loc="best", framealpha=0.9, edgecolor=FAINT)
    title = "Reflectance against incidence" if len(fabrics) > 1 else f"Reflectance of {label(fabrics[0].name)}"
    figure.text(0.1, 0.94, title, fontsize=14, color=INK, weight="bold", va="center")
    return png(figure)


def lobe_chart(fabric: Fabric) -> bytes:
    """The gain in all directions as a surface, for light along the normal and for light at 40 degrees (or the fabric's own)."""
    figure = figure_of(12.0, 5.8)
    own = fabric.groove is not None and fabric.gain_incidence_deg > 0.0
    second = fabric.gain_incidence_deg if own else 40.0
    t, p = np.meshgrid(np.radians(np.linspace(0.0, 86.0, 60)), np.radians(np.linspace(0.0, 360.0, 121)), indexing="ij")
    eye = np.stack([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)], axis=-1)
    surfaces = []
    for lean in (0.0, second):
        light = _light(fabric, lean)
        gains = fabric_gains(fabric.arrays(), np.tile(light, (t.size, 1)), eye.reshape(-1, 3)).reshape(t.shape)
        surfaces.append((lean, light, gains))
    for i, (lean, light, gains) in enumerate(surfaces):
        axes: Any = figure.add_axes((0.02 + 0.49 * i, -0.06, 0.46, 0.92), projection="3d")
        reach = float(np.max(gains))
        _surface(axes, eye, gains, light, reach)
        words = "light along the normal" if lean == 0.0 else f"light at {lean:g} degrees from {_side(fabric)}"
        words += f"; largest gain {reach:.3g}"
        figure.text(0.25 + 0.49 * i, 0.81, words, fontsize=11, color=INK, ha="center")
    figure.text(0.04, 0.94, f"Gain of {label(fabric.name)} in all directions", fontsize=14, color=INK, weight="bold", va="center")
    words = "distance from the origin = gain, each side to its own scale; orange: the light; the square is the screen"
    figure.text(0.04, 0.885, f"{words}, seen from the seats", fontsize=10, color=GREY, va="center")
    return png(figure)


def _side(fabric: Fabric) -> str:
    return fabric.gain_from if fabric.gain_from is not None else "the right"


def _light(fabric: Fabric, lean_deg: float) -> np.ndarray:
    turn = math.radians(TOWARD_DEG[fabric.gain_from] + 90.0) if fabric.gain_from is not None else 0.0
    lean = math.radians(lean_deg)
    return np.array([math.sin(lean) * math.cos(turn), math.sin(lean) * math.sin(turn), math.cos(lean)])


def _surface(axes: Any, eye: np.ndarray, gains: np.ndarray, light: np.ndarray, reach: float) -> None:
    """One lobe: right, towards the seats and up as the three axes of the box."""
    import matplotlib

    x, y, z = (eye[..., k] * gains / reach for k in range(3))
    # box axes are (right, towards the wall, up): the seats look from the front
    points = np.stack([x, -z, y], axis=-1)
    normal = np.cross(np.gradient(points, axis=0), np.gradient(points, axis=1))
    length = np.linalg.norm(normal, axis=-1, keepdims=True)
    lit = np.abs((normal / np.maximum(length, 1e-15)) @ np.array([0.35, -0.6, 0.72]))
    lit[0] = np.mean(lit[1])  # all turns meet there: no normal
    tones = matplotlib.colormaps[COLOURS](0.15 + 0.8 * gains / reach)[..., :3] * (0.55 + 0.45 * lit)[..., None]
    axes.plot_surface(
        *np.moveaxis(points, -1, 0),
        facecolors=np.clip(tones, 0.0, 1.0),
        rcount=60,
        ccount=121,
        linewidth=0,
        antialiased=False,
        shade=False,
    )
    d = light * 1.15
    axes.plot([d[0], 0], [-d[2], 0], [d[1], 0], color="#d1793b", lw=2.5)
    square = 0.75
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]) * square
    axes.plot(corners[:, 0], np.zeros(5), corners[:, 1], color=GREY, lw=1)
    axes.set_box_aspect((1, 1, 1))
    axes.set_xlim(-0.8, 0.8)
    axes.set_ylim(-1.2, 0.4)
    axes.set_zlim(-0.8, 0.8)
    axes.set_axis_off()
    axes.view_init(elev=20, azim=-50)
    axes.text(square, 0, -0.95 * square, "right", fontsize=9, color=GREY)
    axes.text(-0.95 * square, 0, square, "up", fontsize=9, color=GREY)


def light_chart(fabric: Fabric) -> bytes:
    """A louvred fabric's gain along the normal against where the light comes from, the projector's light marked."""
    assert fabric.groove is not None
    assert fabric.gain_from is not None
    angle = np.linspace(-88.0, 88.0, 353)
    plus, minus = OPPOSITE[fabric.gain_from], fabric.gain_from
    toward = TOWARD_DEG[plus]
    tangents = np.array([fabric.groove.tangent(abs(float(a)), toward if a >= 0 else toward + 180.0) for a in angle])
    gains = fabric.groove.gain(tangents, np.zeros(len(tangents)))
    figure = figure_of(8.6, 5.2)
    axes = figure.add_axes((0.1, 0.12, 0.86, 0.72))
    axes.plot(angle, gains, color=_INKS[0], lw=2.2)
    marks = [
        (-fabric.gain_incidence_deg, fabric.gain, f"projector, {fabric.gain_incidence_deg:g} degrees from {minus}"),
        (CEILING_DEG, float(np.interp(CEILING_DEG, angle, gains)), f"room light, {CEILING_DEG:g} degrees from {plus}"),
    ]
    for i, (at, gain, words) in enumerate(marks):
        axes.plot(at, gain, "os"[i], ms=9, color=_INKS[1 + i], label=f"{words}: gain {gain:.3g}")
    axes.set_xlim(-90, 90)
    axes.set_xticks(range(-90, 91, 15))
    axes.set_ylim(0, 1.15 * float(np.max(gains)))
    _dress(axes, f"light from {minus} (-) to {plus} (+), from the normal [degrees]", "gain along the normal")
    axes.legend(fontsize=10, framealpha=0.9, edgecolor=FAINT)
    ratio = marks[0][1] / max(marks[1][1], 1e-12)
    title = f"{label(fabric.name)}: light from {minus} against light from {plus}, {ratio:.3g} to 1"
    figure.text(0.1, 0.92, title, fontsize=13, color=INK, weight="bold", va="center")
    return png(figure)


def _dress(axes: Any, across: str, up: str) -> None:
    axes.grid(color=FAINT, lw=0.8)
    axes.set_axisbelow(True)
    axes.set_xlabel(across, fontsize=11, color=INK)
    axes.set_ylabel(up, fontsize=11, color=INK)
    axes.tick_params(labelsize=10)
