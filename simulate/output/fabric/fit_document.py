"""A fit as a JSON document and as text."""

from __future__ import annotations

from typing import Any

from ....materials.solving.fit_report import FitLine, FitReport

FORMAT = "halfgain.fit/1"
_MOST_LINES = 8


def fit_document(report: FitReport) -> dict[str, Any]:
    """The document of `halfgain fit --json`; intervals as {"value", "low", "high"}, None where there is no number."""
    low, value, high = report.albedo
    return {
        "format": FORMAT,
        "verdict": report.verdict,
        "reason": report.reason,
        "gain": report.gain,
        "half_gain_deg": report.half_gain_deg,
        "largest_gain": report.largest_gain,
        "albedo": {"low": low, "value": value, "high": high},
        "fits": [_line(line) for line in report.fits],
        "notes": list(report.notes),
        "fabric": None if report.table is None else {k: v for k, v in report.table.items() if v is not None},
    }


def _line(line: FitLine) -> dict[str, Any]:
    parameters = {
        name: dict(zip(("value", "low", "high"), number, strict=True)) if isinstance(number, tuple) else number
        for name, number in line.parameters.items()
    }
    return {"family": line.family, "parameters": parameters, "rms": line.rms, "aic": line.aic, "albedo": line.albedo}


def fit_text(report: FitReport) -> str:
    """The same for a person: verdict, reason, albedo, families, notes."""
    low, value, high = report.albedo
    half = "does not fall to half" if report.half_gain_deg is None else f"half-gain angle {report.half_gain_deg:.2f} degrees"
    lines = [
        f"{report.verdict}: {report.reason}",
        "",
        f"gain {report.gain:.4g}, {half}; largest gain that energy allows there: {report.largest_gain:.4g}",
    ]
    if report.fits:
        lines.append(f"total reflectance at normal incidence (albedo): {value:.3f}; {low:.3f} to {high:.3f} is open")
    if report.fits:
        lines += ["", f"{'family':52}{'rms':>10}{'criterion':>11}{'albedo':>8}"]
    for line in report.fits[:_MOST_LINES]:
        lines.append(f"{line.family:52}{line.rms:10.4g}{line.aic:11.2f}{line.albedo:8.3f}")
        lines.append("    " + ", ".join(f"{name} {_number(number)}" for name, number in line.parameters.items()))
    if len(report.fits) > _MOST_LINES:
        lines.append(f"and {len(report.fits) - _MOST_LINES} more (--json has all)")
    if report.curve is not None and report.fits:
        lines.append("intervals hold together with 99 percent; a smaller criterion is the better trade of fit and parameters")
    if report.curve is not None and not report.curve.oblique:
        lines.append("a curve at normal incidence does not determine what happens at other incidences: the kind does")
    return "\n".join([*lines, *(["", *(f"- {note}" for note in report.notes)] if report.notes else [])]) + "\n"


def _number(number: float | tuple[float, float, float]) -> str:
    if isinstance(number, tuple):
        return f"{number[0]:.4g} ({number[1]:.4g} to {number[2]:.4g})"
    return f"{number:.4g}"
