"""What `finishes` says of sound: reverberation by choice of finish, and with --sound the sets that none beats."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ....materials.finish import Finish
from ...measuring.estimate import Estimate
from ...sound.target import SOURCE
from ...sound.trade import FinishSet, FinishTrade, Set, Sounding, thinned
from ..layout import grid, heading, line
from ..sound.words import CAUTION, pair
from ..units import figure, spread

if TYPE_CHECKING:
    from rich.console import RenderableType

_LEAST_S = 0.02  # a choice that changes the time by less is not worth a line
_MOST_ROWS = 16
_LIST = "Mid bands are 500 and 1000 Hz; two figures are both ends of what finishes do not state (halfgain sound names them)."


def sounding_document(found: Sounding) -> dict[str, Any]:
    """Mid-band reverberation now and by choice of finish, all else as it is [s]. Source: Sounding."""
    return {
        "now_mid_s": _ends(found.now_s),
        "asked_s": found.asked_s,
        "asked_source": SOURCE,
        "choices": [
            {
                "surface": choice.entry.surface,
                "finish": choice.entry.finish.name,
                "price_per_m2": choice.entry.price_per_m2,
                "mid_s": _ends(choice.mid_s),
            }
            for choice in found.choices
        ],
    }


def trade_document(found: FinishTrade) -> dict[str, Any]:
    """The sets that none beats in contrast, reverberation and cost together. Source: FinishTrade."""
    return {
        "asked_s": found.asked_s,
        "tried": found.tried,
        "possible": found.possible,
        "cost_unit": "currency of the list" if found.priced else "m2",
        "sets": [
            {
                "changes": {name: finish.name for name, finish in one.changes.items()},
                "cost": one.cost,
                "checkerboard": _number(one.measured),
                "black_patch_cd_m2": _number(one.black),
                "mid_s": _ends(one.mid_s),
                "off_asked_s": one.off_s,
            }
            for one in found.sets
        ],
        "cautions": [CAUTION],
    }


def _ends(ends: tuple[float, float]) -> dict[str, float]:
    return {"low": ends[0], "high": ends[1]}


def _number(value: Estimate | None) -> dict[str, float] | None:
    return None if value is None else {key: float(part) for key, part in value._asdict().items()}


def sounding_parts(found: Sounding) -> list[RenderableType]:
    """A line on the room, and a row for each allowed finish that changes its reverberation; alike ones share a row."""
    now = pair(*found.now_s)
    parts: list[RenderableType] = [
        heading("What the finishes do to sound"),
        line(f"Reverberation at mid bands {now} s, asked {found.asked_s:.2f} s."),
    ]
    moved = [
        choice for choice in found.choices if max(abs(a - b) for a, b in zip(choice.mid_s, found.now_s, strict=True)) >= _LEAST_S
    ]
    if not moved:
        return [*parts, line("No allowed finish changes it: paint takes sound as what is under it does.")]
    table = grid()
    table.add_column("with", overflow="fold")
    table.add_column("reverberation s", justify="right", no_wrap=True)
    rows: dict[tuple[str, str], list[FinishSet]] = {}
    for choice in moved:
        rows.setdefault((choice.entry.surface, pair(*choice.mid_s)), []).append(choice)
    for (surface, time), same in rows.items():
        table.add_row(line(f"{surface}: {', '.join(choice.entry.finish.name for choice in same)}"), time)
    return [*parts, table, line(_LIST, "dim")]


def trade_parts(found: FinishTrade) -> list[RenderableType]:
    """A row a set that none beats, cheapest first; of many some that lie apart."""
    shown = thinned(found.sets, _MOST_ROWS)
    table = grid()
    for title in ("price" if found.priced else "m²", "contrast", "reverberation s"):
        table.add_column(title, justify="right", no_wrap=True)
    table.add_column("what changes", overflow="fold")
    for one in shown:
        table.add_row(figure(one.cost), _contrast(one), pair(*one.mid_s), line(_changes(one.changes)))
    notes = [
        f"Asked of the room: {found.asked_s:.2f} s. No other set has more contrast, a time nearer to that, and less cost at once."
    ]
    if len(shown) < len(found.sets):
        notes.append(f"{len(found.sets) - len(shown)} more lie between these; --json has all.")
    if found.tried < found.possible:
        notes.append(f"{found.tried} of {found.possible} sets were tried: the smallest surfaces keep their finish.")
    return [heading("Light and sound together"), table, *(line(text, "dim") for text in notes), line(CAUTION)]


def _contrast(one: Set) -> str:
    if one.measured is None:
        return figure(one.contrast)
    return f"{figure(one.measured.value)} ± {spread(one.measured.standard_error) or '0'}"


def _changes(changes: dict[str, Finish]) -> str:
    """Surfaces of one finish together: `left, right: charcoal matt paint`."""
    by_finish: dict[str, list[str]] = {}
    for surface, finish in changes.items():
        by_finish.setdefault(finish.name, []).append(surface)
    return "; ".join(f"{', '.join(surfaces)}: {name}" for name, surfaces in by_finish.items()) or "nothing"
