"""sound-reverberation.png and sound-screen.png: reverberation against what is asked, loss through the cloth against frequency."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ....materials.finish_table import BANDS_HZ
from ...sound.bands import BANDS
from ...sound.cloth import loss_db
from ...sound.reverberation import ARAU, EYRING, FITZROY, SABINE
from ...sound.room import RoomSound
from ...sound.target import limits_s
from ...sound.through import LIMITS_DB, front_of_backing, response_db
from ..drawing import FAINT, GREY, INK, figure_of, label, png

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_INKS = {SABINE: "#3f7d4e", EYRING: "#00457c", ARAU: "#b0413e", FITZROY: "#6f4e9c"}
_STYLES = {SABINE: "--", EYRING: "-.", ARAU: ":", FITZROY: (0, (1, 2))}
_ASKED, _LOSS = "#c9a227", "#00457c"
_TICKS_HZ = (63, 125, 250, 500, 1000, 2000, 4000, 8000, 16_000)


def reverberation_chart(found: RoomSound) -> bytes:
    """Reverberation by octave band with what is asked, as PNG bytes: the trusted time as a band, each formula's middle as a line."""
    figure = figure_of(9.0, 6.0)
    axes = figure.add_axes((0.09, 0.115, 0.88, 0.59))
    times, asked = found.reverberation, found.asked
    f = np.geomspace(BANDS_HZ[0], BANDS_HZ[-1], 200)
    above, below = limits_s(f)
    axes.fill_between(
        f, np.maximum(0.0, asked.nominal_s - below), asked.nominal_s + above, color=_ASKED, alpha=0.4, lw=0, label="asked"
    )
    axes.fill_between(BANDS, times.shortest_s, times.longest_s, color=GREY, alpha=0.25, lw=0)
    axes.plot(BANDS, times.middle_s, color=INK, lw=2.4, marker="o", ms=6, label="trusted, and its ends")
    for name, value in times.formulas.items():
        axes.plot(BANDS, value[2], color=_INKS[name], ls=_STYLES[name], lw=1.6, label=name)
    axes.plot(BANDS, times.bare_s[2], color=GREY, ls=(0, (8, 3)), lw=1.2, label="bare walls")
    low, high = found.transition_hz
    axes.axvspan(min(low, BANDS_HZ[0]), low, color=FAINT, alpha=0.45, lw=0)
    axes.axvline(high, color=FAINT, lw=1.2)
    axes.set_xlim(BANDS_HZ[0], BANDS_HZ[-1])
    axes.set_ylim(0.0, 1.08 * _top(found))
    _frequencies(axes, BANDS_HZ)
    axes.set_ylabel("reverberation time [s]", fontsize=11, color=INK)
    axes.legend(fontsize=10, loc="lower center", bbox_to_anchor=(0.5, 1.01), ncols=4, frameon=False)  # off the lines
    figure.text(0.03, 0.95, f"{label(found.scene.title)}: reverberation", fontsize=14, color=INK, weight="bold", va="center")
    words = (
        f"grey on the left: below {low:.0f} Hz (to {high:.0f} Hz, thin line) single modes decide; lines: the middle of both ends"
    )
    figure.text(0.03, 0.89, words, fontsize=10, color=GREY, va="center")
    ends = (
        "wide grey band: what finishes that state no absorption leave open"
        if found.unknown
        else "all finishes state their absorption"
    )
    figure.text(0.03, 0.845, ends, fontsize=10, color=GREY, va="center")
    return png(figure)


def _top(found: RoomSound) -> float:
    """Top of the axis [s]: holds the trusted band, twice what is asked, and bare walls up to twice these."""
    least = max(float(found.reverberation.longest_s.max()), 2.0 * float(found.asked.high_s.max()))
    return max(least, min(2.0 * least, float(found.reverberation.bare_s[2].max())))


def screen_chart(found: RoomSound) -> bytes:
    """Loss through the cloth against frequency as PNG bytes: both ends, and the comb at the middle gap, hard and with black wool."""
    through = found.through
    figure = figure_of(9.0, 6.0)
    axes = figure.add_axes((0.09, 0.115, 0.88, 0.68))
    f = np.geomspace(125.0, 16_000.0, 1500)
    ends = np.array([loss_db(f, sheet) for sheet in through.sheets])
    worst = through.sheets[int(np.argmax(ends[:, -1]))]
    gap = through.combs[len(through.combs) // 2].gap_m
    holed = through.open_area > 0.0
    if holed:
        axes.plot(
            f, -response_db(f, worst, gap, 1.0), color="#b0413e", lw=0.9, alpha=0.8, label=f"{100 * gap:g} cm before a hard front"
        )
        backed = -response_db(f, worst, gap, front_of_backing(f))
        axes.plot(f, backed, color="#3f7d4e", lw=1.4, label=f"{100 * gap:g} cm before black wool")
    axes.fill_between(f, ends.min(axis=0), ends.max(axis=0), color=_LOSS, alpha=0.3, lw=0)
    axes.plot(f, ends.max(axis=0), color=_LOSS, lw=2.2, label="the cloth alone, and its ends")
    if holed:
        base = float(loss_db(500.0, worst))
        for tone, most in LIMITS_DB.items():
            axes.plot(
                [tone],
                [base + most],
                marker="v",
                ms=9,
                color=_ASKED,
                mec=INK,
                ls="none",
                label="at most, BS 5382" if tone == 6000 else None,
            )
    low = -12.0 if holed else 0.0
    axes.set_ylim(max(float(ends.max()) + 3.0, 12.0), low)
    axes.set_xlim(125.0, 16_000.0)
    _frequencies(axes, _TICKS_HZ[1:])
    axes.set_ylabel("lost [dB], down is less sound", fontsize=11, color=INK)
    axes.legend(fontsize=10, loc="lower left", frameon=True, edgecolor=FAINT)
    title = f"{label(found.scene.screen.fabric.name)}: what a loudspeaker behind it loses"
    figure.text(0.03, 0.95, title, fontsize=14, color=INK, weight="bold", va="center")
    comb = "the comb is the most there can be, from plane waves between two planes" if holed else "the sheet has no holes"
    words = f"squarely through; {comb}"
    figure.text(0.03, 0.89, words, fontsize=10, color=GREY, va="center")
    return png(figure)


def _frequencies(axes: Axes, ticks: tuple[int, ...]) -> None:
    """A logarithmic axis with the octave bands on it."""
    from matplotlib.ticker import FixedLocator, NullLocator

    axes.set_xscale("log")
    axes.xaxis.set_major_locator(FixedLocator(list(ticks)))
    axes.xaxis.set_major_formatter(lambda x, _: f"{x:g}")
    axes.xaxis.set_minor_locator(NullLocator())
    axes.set_xlabel("frequency [Hz]", fontsize=11, color=INK)
    axes.grid(color=FAINT, lw=0.8)
    axes.set_axisbelow(True)
