"""The JSON document of `check`."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from ...commissioning.check import Check, Compared, Estimated, SeatFigures
from ...commissioning.parameters import OTHER_PAINT, PAINT_SHARED
from ...commissioning.suspects import FINISH, NONE, READING, Suspect, What
from . import words

FORMAT = "halfgain.check/1"


def check_document(check: Check) -> dict[str, Any]:
    """Everything `check` found. Uncertainties are standard ones, intervals hold 95 %. Source: `Check`."""
    keys = [each.parameter.key for each in check.estimates]
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "scene": {"title": check.scene.title, "sha256": check.scene.sha256},
        "seed": check.seed,
        "paths": check.paths,
        "meters": {
            meter.value: {"calibration_relative": each.uncertainty, "source": each.source}
            for meter, each in check.site.calibration.items()
        },
        "rows_without_a_value": check.site.blank,
        "summary": [words.headline(check), *words.findings(check), words.strain(check)],
        "readings": [_reading(each) for each in check.compared],
        "agree": sum(each.agrees for each in check.compared),
        "chance": {"as_stated": check.finding.chance[0], "with_findings": check.finding.chance[1], "strained": check.strained},
        "found": [_suspect(check, each) for each in check.finding.found],
        "perhaps": [_suspect(check, each) for each in check.finding.others],
        "beforehand": {"nothing": NONE, "one_finish": FINISH, "one_reading": READING, "other_finish_logit": OTHER_PAINT},
        "parameters": [_parameter(each) for each in check.estimates],
        "paint_shared_variance": PAINT_SHARED,
        "known_only_together": [
            {
                "parameters": [keys[pair.first], keys[pair.second]],
                "combination": "sum of t" if pair.together > 0 else "difference of t",
                "known_ratio": pair.known,
                "open_ratio": pair.open,
                "note": words.pair_words(check, pair),
            }
            for pair in check.pairs
        ],
        "not_told": words.untold(check),
        "directions": [
            {"ratio": each.ratio, "weights": dict(zip(keys, each.weights.tolist(), strict=True))} for each in check.directions
        ],
        "t": {"order": keys, "mean": check.mean.tolist(), "covariance": check.covariance.tolist()},
        "seats": [_seat(each) for each in check.seats],
        "changes": [
            {"key": change.key, "stated": change.stated, "now": change.now, "parameter": change.by.parameter.key}
            for change in check.correction.changes
        ],
        "not_changed": [{"parameter": each.parameter.key, "why": why} for each, why in check.correction.left],
    }


def _reading(each: Compared) -> dict[str, Any]:
    reading = each.reading
    return {
        "picture": reading.shown.value,
        "place": reading.place,
        "seat": reading.seat or None,
        "light": reading.light,
        "unit": reading.unit,
        "line": reading.line or None,
        "predicted": {"value": each.predicted, "standard_uncertainty": each.predicted_uncertainty},
        "measured": {"value": reading.value, "standard_uncertainty": each.uncertainty},
        "en_score": each.score,
        "agrees": each.agrees,
        "explained": {"value": each.explained, "standard_uncertainty": each.explained_uncertainty},
        "agrees_with_estimates": each.agrees_after,
        "doubted": each.doubted,
    }


def _parameter(each: Estimated) -> dict[str, Any]:
    parameter = each.parameter
    return {
        "key": parameter.key,
        "kind": parameter.kind.value,
        "title": parameter.title,
        "unit": parameter.unit,
        "stated": parameter.stated,
        "beforehand": {
            "low": each.before[0],
            "high": each.before[1],
            "t_mean": parameter.mean,
            "t_deviation": parameter.deviation,
        },
        "source": parameter.source,
        "estimate": {"value": each.value, "low": each.low, "high": each.high} if each.informed else None,
        "narrowed": each.narrowed,
        "informed": each.informed,
        "differs": each.differs,
        "finish_opened": each.opened,
        "known_only_with": list(each.only_with),
    }


def _suspect(check: Check, each: Suspect) -> dict[str, Any]:
    reading = each.what is What.READING
    places = [check.site.readings[i].line if reading else check.estimates[i].parameter.key for i in each.places]
    return {
        "what": each.what.value,
        "name": check.named(each),
        "lines" if reading else "parameters": places,
        "probability": each.probability,
    }


def _seat(each: SeatFigures) -> dict[str, Any]:
    return {
        "name": each.name,
        "white_cd_m2": {"promised": each.white[0], "as_built": each.white[1]},
        "checkerboard": {"promised": each.checkerboard[0], "as_built": each.checkerboard[1]},
    }
