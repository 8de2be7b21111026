"""`sound` as a terminal report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....materials.finish_table import BANDS_HZ
from ...sound.bands import TABLED, Array
from ...sound.modes import AXIAL
from ...sound.room import RoomSound
from ...sound.surfaces import ASSUMED, SoundSurface
from ...sound.target import SOURCE
from ...sound.through import TONES_HZ
from ..layout import bullet, grid, heading, line, rendered
from .words import (
    BARE,
    CAUTION,
    NOT_BELOW,
    mid_words,
    modes_words,
    no_modes_words,
    pair,
    screen_words,
    target_words,
    trust_words,
    unknown_words,
)

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

_MODES_SHOWN = 12


def sound_report(found: RoomSound, console: Console) -> str:
    """Absorption, reverberation, modes and the screen, as text. Two figures in a cell are both ends of what is not stated."""
    parts = [
        line(found.scene.title, "bold"),
        line(f"{target_words(found)} Mean absorption there {mid_words(found)}."),
        *_absorption(found),
        *_reverberation(found),
        *_modes(found),
        *_screen(found),
        line(""),
        line(CAUTION),
    ]
    return rendered(parts, console)


def _absorption(found: RoomSound) -> list[RenderableType]:
    """A row a surface, a column a band of the tables."""
    table = grid()
    table.add_column("surface", overflow="fold")
    table.add_column("m²", justify="right", no_wrap=True)
    for band in TABLED:
        table.add_column(str(band), justify="right", no_wrap=True)
    places = [BANDS_HZ.index(band) for band in TABLED]
    for surface in found.surfaces:
        mark = "~ " if surface.basis == ASSUMED else ""
        area = "" if surface.people else f"{surface.area_m2:.1f}"
        table.add_row(line(mark + surface.name), area, *(_cell(surface, place) for place in places))
    notes: list[RenderableType] = []
    if unknown := unknown_words(found):
        notes = [line("~ The finish states no absorption; what may stand there, both ends:"), *(bullet(text) for text in unknown)]
    filled = [f"{s.name}: {s.words}" for s in found.surfaces if s.words and s.basis != ASSUMED]
    if any(surface.people for surface in found.surfaces):
        notes.append(line("People: m² for all of them, their chairs included."))
    return [heading("Sound absorption, by octave band (Hz)"), table, *notes, *(bullet(text) for text in filled)]


def _cell(surface: SoundSurface, place: int) -> str:
    if surface.people:
        return _short(surface.low[place], surface.high[place], 1)
    return _short(surface.low[place], surface.high[place], 2)


def _short(low: float, high: float, decimals: int) -> str:
    """Two ends in few letters: .05-.29."""
    texts = [f"{value:.{decimals}f}" for value in (low, high)]
    texts = [text[1:] if text.startswith("0.") else text for text in texts]
    return texts[0] if texts[0] == texts[1] else f"{texts[0]}-{texts[1]}"


def _reverberation(found: RoomSound) -> list[RenderableType]:
    """A row a band: each formula, the trusted one marked, then what is asked."""
    times, asked = found.reverberation, found.asked
    table = grid()
    for title in ("Hz", *(name.replace("-", "-\n") for name in times.formulas), "bare\nwalls", "asked", "stands"):
        table.add_column(title, justify="right", no_wrap=True)
    for i, band in enumerate(BANDS_HZ):
        cells = []
        for name, value in times.formulas.items():
            trusted = "*" if name in (times.trusted[0, i], times.trusted[1, i]) else ""
            cells.append(trusted + _times(value, i))
        table.add_row(str(band), *cells, _times(times.bare_s, i), f"{asked.low_s[i]:.2f}-{asked.high_s[i]:.2f}", found.bands[i])
    return [
        heading("Reverberation time, s, with the greatest and the least absorption"),
        table,
        line(f"* {trust_words(found)}"),
        line(BARE),
        line(f"{SOURCE}. 63 and 8000 Hz hold the values of the bands beside where tables end.", "dim"),
    ]


def _times(value: Array, place: int) -> str:
    long, short = value[0, place], value[1, place]
    texts = [f"{time:.2f}" if time < 9.995 else ">10" for time in (short, long)]
    return texts[0] if texts[0] == texts[1] else f"{texts[0]}-{texts[1]}"


def _modes(found: RoomSound) -> list[RenderableType]:
    low, high = found.transition_hz
    shown = found.modes.found[:_MODES_SHOWN]
    names = ", ".join(
        f"{m.frequency_hz:.1f} ({' '.join(map(str, m.orders))}){'' if m.kind != AXIAL else ' axial'}" for m in shown
    )
    more = len(found.modes.found) - len(shown)
    rest = f", and {more} more up to {found.modes.up_to_hz:.0f} Hz" if more > 0 else ""
    listed = f"{names}{rest}." if shown else no_modes_words(found)
    return [
        heading("Room modes (orders across, along, up), Hz"),
        line(f"Transition frequency {pair(low, high, 0)} Hz. {NOT_BELOW}"),
        line(listed),
        *(bullet(text) for text in modes_words(found)),
    ]


def _screen(found: RoomSound) -> list[RenderableType]:
    through = found.through
    title = heading(f"A loudspeaker behind the screen ({found.scene.screen.fabric.name})")
    words = [line(text) for text in screen_words(through)]
    if through.open_area <= 0.0:
        return [title, *words]
    table = grid()
    table.add_column("Hz", no_wrap=True)
    table.add_column("lost, dB", justify="right", no_wrap=True)
    for i, band in enumerate(BANDS_HZ):
        table.add_row(f"octave {band}", pair(through.bands_db[0, i], through.bands_db[1, i], 1))
    for f in TONES_HZ:
        table.add_row(f"tone {f}", pair(*through.tones_db[f], 1))
    combs = grid()
    columns = ("cloth to\nloudspeaker m", "first\nnotch Hz", "peak\nafter Hz", "ripple, hard\nfront dB", "with black\nwool dB")
    for column in columns:
        combs.add_column(column, justify="right", no_wrap=True)
    for comb in through.combs:
        combs.add_row(
            f"{comb.gap_m:g}",
            _hertz(comb.notch_hz),
            _hertz(comb.peak_hz),
            f"{comb.ripple_hard_db:.1f}",
            f"{comb.ripple_backed_db:.1f}",
        )
    behind = 100.0 * found.scene.screen.gap_to_wall_m
    note = (
        "Crest to trough up to 8 kHz, from plane waves: the most there can be. "
        f"The wall is {behind:.0f} cm behind the cloth: deeper loudspeakers stand in it."
    )
    return [title, table, *words, combs, line(note, "dim")]


def _hertz(value: float | None) -> str:
    return "-" if value is None else f"{value:.0f}"
