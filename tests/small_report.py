"""What makes a client's page cheap for tests of it: coarse light, maps of folds half as fine, small pictures, advice from a few fabrics."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfgain.materials.fabric import Fabric
from halfgain.simulate.choices import advice as advice_module
from halfgain.simulate.choices.variants import VariantText
from halfgain.simulate.page import seat_pictures

from tests.coarse import make_coarse, make_folds_coarse

FABRICS = ("matt white", "grey 0.8", "pearl", "silver", "beaded", "perforated pearl", "louvred short-throw")


def make_small(put: Callable[[Any, str, Any], None] = setattr) -> None:
    """Of all pages from here on; that advice looks at the whole library is a test of its own (tests/choices). put  as `setattr`"""
    known_fabrics = advice_module.known_fabrics

    def some_fabrics(document: VariantText) -> dict[str, Fabric]:
        known = known_fabrics(document)  # those that nobody asks for are not worked out
        return {name: known[name] for name in known if name in FABRICS}

    make_coarse(put)
    put(advice_module, "known_fabrics", some_fabrics)
    make_folds_coarse(put)
    put(seat_pictures, "WIDTH", 192)
    put(seat_pictures, "HEIGHT", 108)
