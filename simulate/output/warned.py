"""A scene's warnings as a reader can take them in: of many about the same thing one line, with how many and the worst few."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from ...scenes.model import Seat
from ...scenes.warn import kind_of, listed
from ...scenes.warning import SceneWarning, WarningCode

MOST = 4  # alike warnings that are told one by one
WORST = 3
LEAST_HIDDEN = 0.001  # finer than the grid of sight lines tells


def gathered(
    warnings: Iterable[SceneWarning], seats: Sequence[Seat], hidden: Sequence[float] | None = None
) -> tuple[SceneWarning, ...]:
    """Warnings in their order; of more than MOST of one code, one or a few stand for all. Documents keep each.

    hidden   the share of the screen that is hidden from each seat, where that was found out; else what stands in the way is counted
    """
    shares = None if hidden is None else dict(zip((seat.name for seat in seats), hidden, strict=True))
    alike: dict[tuple[WarningCode, bool], list[SceneWarning]] = {}
    for warning in warnings:
        alike.setdefault((warning.code, warning.seat is None), []).append(warning)
    told: list[SceneWarning] = []
    for (code, _), each in alike.items():
        if len(each) <= MOST:
            told += each
        elif code is WarningCode.IN_SIGHT:
            told.append(_in_sight(each, len(seats), shares))
        else:
            told += [*each[:WORST], SceneWarning(code, f"and {len(each) - WORST} more of this kind")]
    return tuple(told)


def _in_sight(found: list[SceneWarning], seats: int, shares: dict[str, float] | None) -> SceneWarning:
    """From how many seats something may hide the picture, and from which most of it."""
    ways = dict.fromkeys(kind_of(thing) for warning in found for thing in warning.things)
    what = f"{listed(list(ways))} may hide part of the picture from {len(found)} of {seats} seats"
    worst = sorted(found, key=_by_share(shares) if shares else lambda each: -len(each.things))[:WORST]
    named = [f'"{each.seat}"' + _share(shares, each) for each in worst]
    return SceneWarning(WarningCode.IN_SIGHT, f"{what}, most from {listed(named)}", things=tuple(ways))


def _by_share(shares: dict[str, float]) -> Callable[[SceneWarning], float]:
    return lambda each: -shares[each.seat] if each.seat else 0.0


def _share(shares: dict[str, float] | None, warning: SceneWarning) -> str:
    return f" ({share_words(shares[warning.seat])} of it)" if shares and warning.seat else ""


def share_words(share: float) -> str:
    """A hidden share of the screen in words: per cent, or less than can be told."""
    return f"{100.0 * share:.1f} %" if share >= LEAST_HIDDEN else "less than 0.1 %"
