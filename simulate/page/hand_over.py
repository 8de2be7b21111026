"""The hand-over sheet: what was promised, what was measured, what explains the rest; one A4 sheet however many the readings."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from statistics import fmean
from typing import Any

from ..commissioning.check import Check, Compared, SeatFigures
from ..commissioning.correction import KeyChange
from ..commissioning.meters import COVERAGE, Meter
from ..commissioning.parameter import ParameterKind
from ..commissioning.site_reading import MIDDLE, NINE_PLACES, ShownPicture
from ..measuring.targets import DARK
from ..output.check import words
from ..output.units import TYPESET, figure
from .isolate import isolated
from .offer import Offer
from .templating import environment

MOST_FINDINGS, MOST_CHANGES, MOST_SEATS, MOST_PAIRS, MOST_LIGHTS = 6, 6, 7, 2, 4  # what one sheet holds
_WIDTH = 320


def hand_over_html(check: Check, offer: Offer | None = None) -> str:
    """The sheet as text; every text of the user is escaped and kept from turning the rest."""
    offer = offer or Offer()
    scene = check.scene
    text = environment().get_template("hand_over.html").render(**_context(check, offer))
    room, border = scene.room, scene.screen.border_finish.name
    things = [name for each in (scene.seats, scene.lights, room.objects, room.parts) for name in _names(each)]
    return isolated(text, [scene.title, *things, *_names(room.finishes.values()), *room.surfaces, border, *offer.names])


def _names(things: Iterable[Any]) -> list[str]:
    return [each.name for each in things]


def _context(check: Check, offer: Offer) -> dict[str, Any]:
    nine, seats = _nine(check), [_seat(check, i) for i in range(min(len(check.seats), MOST_SEATS))]
    ambient = [
        each for each in check.compared if each.reading.shown is ShownPicture.OFF and each.reading.meter is Meter.ILLUMINANCE
    ]
    changes = check.correction.changes
    told = {id(each) for each in (*nine.values(), *ambient[:MOST_LIGHTS], *(each for row in seats for each in row["of"]))}
    return {
        "title": check.scene.title,
        "fields": offer.fields,
        "logo": offer.logo,
        "headline": words.headline(check),
        "grid": _grid(check, nine),
        "ambient": [_ambient(each) for each in ambient[:MOST_LIGHTS]],
        "findings": _cut(words.findings(check), MOST_FINDINGS),
        "pairs": [words.pair_words(check, pair) for pair in check.pairs[:MOST_PAIRS]],
        "strain": words.strain(check),
        "seats": seats,
        "more": _more([each for each in check.compared if id(each) not in told], len(check.seats) - MOST_SEATS),
        "changes": [_change(each) for each in changes[:MOST_CHANGES]],
        "left": _left(check, len(changes) - MOST_CHANGES),
        "meters": _meters(check),
    }


def _cut(texts: list[str], most: int) -> list[str]:
    return texts if len(texts) <= most else [*texts[: most - 1], f"And {len(texts) - most + 1} more; see check.json."]


def _nine(check: Check) -> dict[str, Compared]:
    """The white picture's readings at the nine points, by place; the last of several."""
    white = _dark(check, Meter.ILLUMINANCE, ShownPicture.WHITE)
    return {each.reading.place: each for each in white if each.reading.place in NINE_PLACES}


def _dark(check: Check, meter: Meter, shown: ShownPicture, seat: str = "") -> list[Compared]:
    """Readings of a picture in the dark room."""
    asked = (meter, shown, seat, DARK)
    return [
        each
        for each in check.compared
        if (each.reading.meter, each.reading.shown, each.reading.seat, each.reading.light) == asked
    ]


def _grid(check: Check, nine: dict[str, Compared]) -> dict[str, Any] | None:
    """Places of the readings on a drawing of the picture in its own shape; None without such readings."""
    if not nine:
        return None
    height = round(min(320.0, max(150.0, _WIDTH / check.scene.screen.aspect)))
    cells = []
    for place, each in nine.items():
        row, column = divmod(int(place) - 1, 3)
        cell = {"x": round(_WIDTH * (column + 0.5) / 3, 1), "y": round(height * (row + 0.5) / 3, 1), "agrees": each.agrees}
        cells.append({**cell, "measured": figure(each.reading.value), "promised": figure(each.predicted)})
    said = "; ".join(f"{place}: {words.reading_words(each)}" for place, each in nine.items())
    return {"height": height, "cells": cells, "said": f"Nine points of the picture: {said}"}


def _ambient(each: Compared) -> dict[str, Any]:
    return {
        "name": each.reading.light,
        "promised": figure(each.predicted),
        "measured": figure(each.reading.value),
        "agrees": each.agrees,
    }


def _seat(check: Check, i: int) -> dict[str, Any]:
    """A row: white, black and contrast, promised, measured, as built; `of` the readings in it."""
    figures = check.seats[i]
    white, black = (
        _at_centre(_dark(check, Meter.LUMINANCE, shown, figures.name)) for shown in (ShownPicture.WHITE, ShownPicture.BLACK)
    )
    board = [each for each in _dark(check, Meter.LUMINANCE, ShownPicture.CHECKERBOARD, figures.name) if not each.doubted]
    cells = [
        _plain(figure(figures.white[0])),
        _measured(white),
        _plain(figure(figures.white[1])),
        _plain("-" if black is None else figure(black.predicted)),
        _measured(black),
        *(_plain(text) for text in _contrasts(board, figures)),
    ]
    return {"name": figures.name, "cells": cells, "of": [*board, *(each for each in (white, black) if each is not None)]}


def _contrasts(board: list[Compared], figures: SeatFigures) -> tuple[str, str, str]:
    """Promised, measured and as built, of the patches that were measured; without any the whole checkerboard's."""
    sides: tuple[list[Compared], list[Compared]] = ([], [])
    for each in board:
        sides[each.reading.is_white(each.reading.points[0])].append(each)
    dark, lit = sides
    if not (dark and lit) or fmean(each.reading.value for each in dark) <= 0.0:
        return figure(figures.checkerboard[0]), "-", figure(figures.checkerboard[1])

    def ratio(value: Callable[[Compared], float]) -> str:
        return figure(fmean(map(value, lit)) / fmean(map(value, dark)))

    return ratio(lambda x: x.predicted), ratio(lambda x: x.reading.value), ratio(lambda x: x.explained)


def _at_centre(found: list[Compared]) -> Compared | None:
    return next((each for each in found if each.reading.place in (MIDDLE, NINE_PLACES[4])), None)


def _plain(text: str) -> dict[str, Any]:
    return {"text": text, "no": False}


def _measured(each: Compared | None) -> dict[str, Any]:
    return _plain("-") if each is None else {"text": figure(each.reading.value), "no": not each.agrees}


def _more(others: list[Compared], seats: int) -> str:
    """What the sheet has no room for."""
    said = [f"And {seats} more {'seat' if seats == 1 else 'seats'}."] if seats > 0 else []
    if others:
        said.append(
            f"{len(others)} other readings, {sum(each.agrees for each in others)} of them as promised, stand in check.csv."
        )
    return " ".join(said)


def _change(change: KeyChange) -> dict[str, str]:
    each, unit = change.by, change.by.parameter.unit
    now = words.to_width(change.value, each.high - each.low)
    return {
        "what": each.parameter.title + ("" if not each.only_with else " (shared out, see above)"),
        "stated": "not stated"
        if each.parameter.stated is None
        else (TYPESET.of(each.parameter.stated, unit) if unit else figure(each.parameter.stated)),
        "now": TYPESET.written(now, unit) if unit else now,
        "interval": words.ends(each.low, each.high),
    }


def _left(check: Check, more: int) -> str:
    """What is not in the table: further changes, and what the readings do not tell."""
    said = [f"And {more} more changes in the corrected scene."] if more > 0 else []
    untold = [each.parameter for each in check.estimates if not each.informed and each.parameter.kind is not ParameterKind.METER]
    surfaces = [each.what for each in untold if each.kind is ParameterKind.REFLECTANCE]
    named = [each.title for each in untold if each.kind is not ParameterKind.REFLECTANCE]
    if surfaces:
        named.append(
            f"reflectance of {', '.join(surfaces[:6])}" + (f" and {len(surfaces) - 6} more" if len(surfaces) > 6 else "")
        )
    if named:
        said.append(f"Not told by these readings, taken as stated: {'; '.join(named)}.")
    return " ".join(said)


def _meters(check: Check) -> str:
    said = [
        f"{meter.value} meter ±{100.0 * COVERAGE * each.uncertainty:.2g} % ({each.source})"
        for meter, each in check.site.calibration.items()
    ]
    return f"Meters: {'; '.join(said)}."
