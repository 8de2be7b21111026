"""The page: evidence set into one HTML file that asks for nothing outside itself."""

from __future__ import annotations

from typing import Any

from ...materials.dataclass import dataclass
from ...scenes.model import Scene
from ..choices.fold_sight import FoldSight
from ..eye.verdict import VISIBLE
from ..measuring.targets import DARK, UPPER_BOUND
from ..measuring.unit import in_unit
from ..output.advise.role_words import CONTRAST
from ..output.cautions import CAUTIONS
from ..output.folds.sentence import client_sentence
from ..output.measure.film_words import film_words
from ..output.measure.plan import object_letters
from ..output.measure.verdict_table import verdict_notes
from ..output.units import TYPESET, figure
from . import sections, tables
from .charts import Charts, charts_of, seats_named
from .evidence import Evidence
from .findings import findings
from .grounds import LEFT_OUT, assumptions, made, sources
from .how_sure import how_sure
from .isolate import isolated, user_names
from .offer import Offer, price_table
from .pairs import FOLDS, BeforeAfter
from .reasons import reasons
from .recommendation import recommendation
from .seat_pictures import PairPictures, data_url
from .templating import environment


def page_html(evidence: Evidence, offer: Offer | None = None) -> str:
    """The whole page as text. Every text of the scene and of the offer is escaped by the template, and kept from turning the rest."""
    offer = offer or Offer()
    context = _context(evidence, evidence.charts or charts_of(evidence))
    text = environment().get_template("page.html").render(**context, **_first_sheet(evidence, offer))
    return isolated(text, [*user_names(evidence), *offer.names])


def _context(evidence: Evidence, charts: Charts) -> dict[str, Any]:
    found = evidence.measurement
    return {
        "title": found.scene.title,
        "seats": evidence.seats,
        "findings": findings(evidence),
        "advice": recommendation(evidence.advice),
        "sure": how_sure(evidence),
        "room": _room(evidence, charts),
        "sight": _sight(evidence, charts),
        "seat_table": tables.seat_table(found),
        "expert_table": tables.expert_table(found),
        "state_table": tables.state_table(found) if found.scene.lights else None,
        "targets": tables.target_tables(found),
        "target_notes": verdict_notes(found),
        "upper_bound": UPPER_BOUND if found.scene.projector.checkerboard_contrast is None else "",
        "shown": [(i, evidence.seats[i]) for i in evidence.shown],
        "pairs": [_pair(evidence, k) for k in range(len(evidence.pairs))],
        "returned": sections.returned_light(evidence, charts),
        "levels": sections.picture_levels(evidence, charts),
        "flatness": sections.flatness(evidence, charts),
        "fabrics": [sections.fabric(evidence, charts, k) for k in range(len(evidence.bands))],
        "assumptions": assumptions(evidence),
        "left_out": LEFT_OUT,
        "sources": sources(evidence),
        "cautions": CAUTIONS,
        "made": made(evidence),
    }


def _first_sheet(evidence: Evidence, offer: Offer) -> dict[str, Any]:
    """What stands on the first sheet alone: fields, reasons, prices, and two pictures of the pair that tells most."""
    telling = _telling(evidence)
    pair, pictures = evidence.pairs[telling], evidence.pictures[telling]
    seat = evidence.seats[pictures.seats[0]]
    shape = next((i for i, view in enumerate(pair.after) if view.level == "typical"), 0)
    sides = [
        (_shots(evidence, pair, pictures, None)[0], pair.before.label),
        (_shots(evidence, pair, pictures, shape)[0], pair.after[shape].label),
    ]
    return {
        "offer": offer,
        "reasons": reasons(evidence),
        "prices": price_table(evidence.advice),
        "two": [{"url": shot.url, "said": shot.said, "caption": f"From {seat}: {label}."} for shot, label in sides],
    }


def _telling(evidence: Evidence) -> int:
    """The pair whose pictures stand on the first sheet: folds that are seen as usual, else what changes the contrast most."""
    for k, both in enumerate(evidence.folds):
        if any(fold is not None and fold.word("typical") == VISIBLE for fold in both):
            return k
    change = [
        max(
            (abs(each.relative.value) for each in found if each.figure.key == CONTRAST and each.figure.state == DARK), default=0.0
        )
        * (pair.kind != FOLDS)
        for pair, found in zip(evidence.pairs, evidence.differences, strict=True)
    ]
    return change.index(max(change))


def _room(evidence: Evidence, charts: Charts) -> dict[str, Any]:
    found, picture = evidence.measurement, evidence.room
    room, screen, projector = found.scene.room, found.scene.screen, found.scene.projector
    three = f"The room in three dimensions from behind the seats: screen, beam, seats {seats_named(evidence)}"
    half = "" if screen.fabric.half_gain_deg is None else f", half-gain angle {screen.fabric.half_gain_deg:g}°"
    used = "rated" if projector.in_use is None else f"of which {projector.in_use:g} in use"
    facts = [
        ("Room", f"{room.width_m:.2f} m wide, {room.depth_m:.2f} m deep, {room.height_m:.2f} m high"),
        ("Screen", f"{screen.width_m:.2f} x {screen.height_m:.2f} m, {screen.hang}, lower edge {screen.bottom_m:.2f} m up"),
        ("Fabric", f"{screen.fabric.name}: gain {screen.fabric.gain:g}{half}"),
        ("Projector", f"{projector.light_output_lm:g} lm, {used}; {figure(found.illuminance_lx['mean'])} lx on the screen"),
        *([] if found.film is None else [("Film", f"{film_words(found.film)}.")]),
        (
            "Finishes",
            "; ".join(f"{name} {room.finishes[name].name}" for name in (*room.surfaces, *(part.name for part in room.parts))),
        ),
    ]
    return {
        "plan": charts.plan,
        "objects": object_letters(found),
        "picture": data_url(picture.image) if picture.image is not None else "",
        "picture_said": f"{three}, in the colours of its finishes.",
        "light": data_url(picture.light) if picture.light is not None else "",
        "light_said": f"{three}; the colour of walls, floor and furniture is the light that falls on them.",
        "reason": picture.reason,
        "exaggeration": f"{picture.exaggeration:.0f}" if picture.exaggeration > 1.0 else "",
        "facts": facts,
        "throw": found.throw.lines,
    }


def _sight(evidence: Evidence, charts: Charts) -> dict[str, Any]:
    return {
        "chart": charts.side,
        "table": tables.sight_table(evidence),
        "hidden": any(each.hidden >= 0.005 for each in evidence.sights),
    }


@dataclass(frozen=True)
class _Shot:
    """A picture on the page: place of the seat, place of the shape, data URL, text alternative."""

    seat: int
    shape: int
    url: str
    said: str


def _pair(evidence: Evidence, k: int) -> dict[str, Any]:
    pair, pictures = evidence.pairs[k], evidence.pictures[k]
    table = tables.difference_table(evidence.differences[k], pair.before.label, _measured_label(pair))
    return {
        "number": k + 1,
        "title": pair.title,
        "about": pair.about,
        "before": pair.before.label,
        "after": [view.label for view in pair.after],
        "first": next((i for i, view in enumerate(pair.after) if view.level == "typical"), 0),
        "before_shots": _shots(evidence, pair, pictures, None),
        "after_shots": [shot for i in range(len(pair.after)) for shot in _shots(evidence, pair, pictures, i)],
        "curve": pictures.curve[0],
        "short": _short(evidence, k),
        "table": table,
    }


def _measured_label(pair: BeforeAfter) -> str:
    return pair.after[0].label if len(pair.after) == 1 else f"{pair.measure[1].screen.hang} (typical)"


def _shots(evidence: Evidence, pair: BeforeAfter, pictures: PairPictures, shape: int | None) -> list[_Shot]:
    label = pair.before.label if shape is None else pair.after[shape].label
    what = "a calm light grey picture" if pair.kind == "folds" else "a checkerboard picture"
    return [
        _Shot(
            seat,
            shape or 0,
            data_url(pictures.before[i] if shape is None else pictures.after[i][shape]),
            f"View from {evidence.seats[seat]} with {label}: {what} on the screen and the room around it.",
        )
        for i, seat in enumerate(pictures.seats)
    ]


def _short(evidence: Evidence, k: int) -> str:
    """What changes at the worst seat, in a sentence."""
    pair = evidence.pairs[k]
    if any(fold is not None for fold in evidence.folds[k]):
        folded = pair.after[0].label if len(pair.after) == 1 else str(pair.measure[1].screen.hang)
        sides = zip((pair.before.label, folded), pair.measure, evidence.folds[k], strict=True)
        return " ".join(_folds_of(label, scene, fold) for label, scene, fold in sides)
    said = []
    for key, name in (("checkerboard_ratio", "contrast"), ("white_cd_m2", "white"), ("uniformity_ratio", "evenness")):
        rows = [each for each in evidence.differences[k] if each.figure.key == key and each.figure.state == "dark"]
        if not any(each.found for each in rows):
            said.append(f"{name}: no difference found")
            continue
        before, after = min(each.reference.value for each in rows), min(each.value.value for each in rows)
        unit = rows[0].figure.unit
        said.append(f"{name} {figure(in_unit(before, unit))} to {TYPESET.of(after, unit)}")
    return f"At the worst seat: {'; '.join(said)}."


def _folds_of(label: str, scene: Scene, fold: FoldSight | None) -> str:
    said = "no folds are estimated." if fold is None else client_sentence(fold, stated=bool(scene.screen.drape.folds))
    return f"{label[:1].upper()}{label[1:]}: {said}"
