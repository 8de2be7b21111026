"""What a scene does not say, as arguments of `advise` and `report`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from halfgain.scenes.given import MAPPING, TEXT, YES_NO, Kind, is_number

if TYPE_CHECKING:
    from halfgain.simulate.choices.variants import VariantText
    from halfgain.simulate.choices.wishes import Wishes

_NUMBERS = Kind(lambda value: isinstance(value, Mapping) and all(map(is_number, value.values())), "a mapping of names to numbers")
WISHES = {
    "use": TEXT.optional,
    "speakers_behind": YES_NO,
    "free_hanging": YES_NO.optional,
    "clear_wall": YES_NO,
    "children": YES_NO,
    "dust": YES_NO,
    "prices": MAPPING.optional,
    "first_aim": TEXT.optional,
    "weights": _NUMBERS.optional,
}


def wished(document: VariantText, **given: Any) -> Wishes:
    """The wishes of arguments of the kinds of WISHES. raises halfgain.Error for other names, and for words and numbers out of range"""
    from halfgain.scenes.changes import refuse
    from halfgain.simulate.choices.advice import known_fabrics
    from halfgain.simulate.choices.wishes import AIM_WORDS, HIGHEST_WEIGHT, USES, Wishes, check_prices

    for name in given:
        if name not in WISHES:
            raise refuse(name, "is no wish", allowed=", ".join(WISHES))
    use, first, weights = given.get("use"), given.get("first_aim"), given.get("weights") or {}
    if use is not None and use not in USES:
        raise refuse("use", f'"{use}" is not allowed', allowed=", ".join(USES))
    for aim in (*(() if first is None else (first,)), *weights):
        if aim not in AIM_WORDS:
            raise refuse("aim", f'"{aim}" is no aim', allowed=", ".join(AIM_WORDS))
    for aim, weight in weights.items():
        if not 0.0 <= weight <= HIGHEST_WEIGHT:
            raise refuse(f"weights.{aim}", f"{weight:g} is no weight", allowed=f"0 to {HIGHEST_WEIGHT:g}")
    prices = given.get("prices") or {}
    if prices:
        check_prices(prices, known_fabrics(document))
    return Wishes(**{**given, "prices": dict(prices), "weights": dict(weights)})
