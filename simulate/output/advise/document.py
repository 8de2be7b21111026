"""The JSON document of `advise`, and its CSV of evidence."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from ...choices.advice import Advice, HangAdvice
from ...choices.aims import Role
from ...choices.choosing import fold_on, seen_levels
from ...choices.floor_words import shortfall_words
from ...choices.floors import Shortfall
from ...choices.rules import SOURCE, RuleFound
from ..cautions import CAUTIONS
from ..compare.document import number
from ..compare.folds_table import fold_entry
from ..csv_text import csv_text
from .role_words import role_words
from .table import basis, changes

FORMAT = "halfgain.advise/1"


def advise_document(advice: Advice) -> dict[str, Any]:
    """Advice as plain dictionaries, lists and numbers; units stand in the keys. Source: the form of `measure --json`."""
    lumens, contrast = basis(advice)
    wishes, facts, scene = advice.wishes, advice.facts, advice.scene
    measurement = advice.evidence[0].paired.measurement
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "seed": measurement.seed,
        "error": {"asked": measurement.error_asked, "met": all(e.paired.met for e in advice.evidence)},
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "basis": {"luminance": lumens, "contrast": contrast},
        "asked": {
            "use": wishes.use,
            "speakers_behind": wishes.speakers_behind,
            "free_hanging": wishes.free_hanging,
            "clear_wall": wishes.clear_wall,
            "children": wishes.children,
            "dust": wishes.dust,
        },
        "facts": {
            "throw_ratio": facts.throw_ratio,
            "diagonal_in": facts.diagonal_in,
            "farthest_view_angle_deg": facts.farthest_deg,
            "brightest_state_over_picture_illuminance": facts.bright,
        },
        "good_fabrics": list(advice.good),
        "balanced_fabric": advice.balanced,
        "roles": {name: list(role_words(roles)) for name, roles in advice.roles.items()},
        "role_aims": {name: [_role(role) for role in roles] for name, roles in advice.roles.items()},
        "fabrics": [_fabric(advice, i) for i in range(len(advice.evidence))],
        "take": _take(advice),
        "first_aim": wishes.first_aim,
        "weights": dict(wishes.weights),
        "does_not_serve": {name: [_shortfall(each) for each in missed] for name, missed in advice.short.items()},
        "floors_waived": [floor.value for floor in advice.waived],
        "refused": dict(advice.refused),
        "hangs": [_hang(advice, each) for each in advice.hangs],
        "rules": [_rule(rule) for rule in advice.rules],
        "rules_that_do_not_apply": [{"rule": r.says, "source": SOURCE, "because": r.because} for r in advice.silent_rules],
        "what_would_change_it": changes(advice),
        "ambient_flips": [
            {"below": flip.first, "above": flip.second, "screen_lx": number(flip.screen_lx)} for flip in advice.flips
        ],
        "repaint": None
        if advice.repaint is None
        else {
            "surface": advice.repaint.surface,
            "finish": advice.repaint.finish,
            "area_m2": advice.repaint.area_m2,
            "price": advice.repaint.price,
            "worst_checkerboard_before": advice.repaint.before,
            "worst_checkerboard_after": advice.repaint.after,
        },
        "cautions": list(CAUTIONS),
    }


def _take(advice: Advice) -> dict[str, Any]:
    take = advice.take
    return {"fabric": take.fabric, "hang": take.hang, "price": take.price, "folds_visible_levels": _seen(advice)}


def _seen(advice: Advice) -> int:
    return seen_levels(fold_on(next(each for each in advice.hangs if each.hang == advice.take.hang), advice.take.fabric))


def _shortfall(short: Shortfall) -> dict[str, Any]:
    return {
        "floor": short.floor.value,
        "got": short.got,
        "least": short.least,
        "unit": short.unit,
        "seat": short.seat or None,
        "lacking_lm": short.lacking_lm,
        "wants_light_from": short.side or None,
        "words": shortfall_words(short),
    }


def _hang(advice: Advice, each: HangAdvice) -> dict[str, Any]:
    return {
        "hang": each.hang,
        "possible": each.possible,
        "reasons": list(each.reasons),
        "price": advice.wishes.prices.get(each.hang),
        "folds": [fold_entry(fold) for fold in each.folds],
    }


def _rule(rule: RuleFound) -> dict[str, str]:
    return {"rule": rule.says, "source": SOURCE, "because": rule.because, "evidence": rule.evidence, "computed": rule.computed}


def _role(role: Role) -> dict[str, str | None]:
    figure = None if role.aim is None else role.aim.figure
    return {
        "kind": role.kind.value,
        "figure": None if figure is None else figure.key,
        "state": None if figure is None else figure.state,
    }


def _fabric(advice: Advice, index: int) -> dict[str, Any]:
    each = advice.evidence[index]
    return {
        "name": each.name,
        "kind": each.fabric.kind,
        "gain": each.fabric.gain,
        "half_gain_deg": each.fabric.half_gain_deg,
        "good": each.name in advice.good,
        "total_price": None if each.name not in advice.pairs else advice.pairs[each.name].price,
        "hang": None if each.name not in advice.pairs else advice.pairs[each.name].hang,
        "beaten_by": advice.beaten.get(each.name),
        "price": advice.wishes.prices.get(each.name),
        "worst_seat": [
            {"figure": aim.figure.key, "state": aim.figure.state, "seat": each.seat[aim], **number(each.value(aim))}
            for aim in advice.aims
        ],
    }


def advise_csv(advice: Advice) -> str:
    """One row a fabric and aim: figure at the worst seat with its error. Source: tidy data, as in seats_csv.py."""
    rows: list[list[object]] = [
        ["fabric", "good", "state", "figure", "worst_seat", "value", "value_standard_error", "value_bias_bound"]
    ]
    for each in advice.evidence:
        for aim in advice.aims:
            good = "yes" if each.name in advice.good else "no"
            rows.append([each.name, good, aim.figure.state, aim.figure.key, each.seat[aim], *each.value(aim)])
    return csv_text(rows)
