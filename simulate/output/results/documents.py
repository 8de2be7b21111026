"""Results as plain data and JSON text, as the commands' --json has them."""

from __future__ import annotations

from functools import singledispatch
from typing import Any

from ...choices.advice import Advice
from ...choices.comparison import Comparison
from ...commissioning.check import Check
from ...measuring.measure import Measurement
from ...ordering.order import Order
from ...placing.placement import Placement
from ...studies.outcome import StudyResult
from ..measure.document import to_json as json_text


@singledispatch
def to_dict(result: Any) -> dict[str, Any]:
    """The document of a result, as --json has it. raises TypeError for what has none"""
    raise TypeError(f"{type(result).__name__} has no document")


@to_dict.register(Measurement)
def _(result: Measurement) -> dict[str, Any]:
    from ..measure.document import document

    return document(result)


@to_dict.register(Comparison)
def _(result: Comparison) -> dict[str, Any]:
    from ..compare.document import compare_document

    return compare_document(result, ())


@to_dict.register(Advice)
def _(result: Advice) -> dict[str, Any]:
    from ..advise.document import advise_document

    return advise_document(result)


@to_dict.register(Order)
def _(result: Order) -> dict[str, Any]:
    from ..order.document import order_document

    return order_document(result)


@to_dict.register(Placement)
def _(result: Placement) -> dict[str, Any]:
    from ..place.document import place_document

    return place_document(result)


@to_dict.register(StudyResult)
def _(result: StudyResult) -> dict[str, Any]:
    from ..study.document import study_document

    return study_document(result)


@to_dict.register(Check)
def _(result: Check) -> dict[str, Any]:
    from ..check.document import check_document

    return check_document(result)


def to_json(result: Any) -> str:
    """The document of a result as JSON text."""
    return json_text(to_dict(result))
