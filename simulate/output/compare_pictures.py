"""All pictures of a comparison by file name."""
from __future__ import annotations

from ..choices.comparison import Comparison
from ..choices.fabric_models import ModelSpread
from .compare_chart import compare_chart
from .compare_folds import folds_chart
from .compare_maps import compare_maps
from .compare_models import models_chart
from .file_names import file_stems


def compare_pictures(comparison: Comparison, spreads: tuple[ModelSpread, ...] = ()) -> dict[str, bytes]:
    """compare.png, before-after-NAME.png a seat, folds.png and fabric-models.png where there are any; PNG bytes by file name."""
    seats = [seat.name for seat in comparison.variants[0].scene.seats]
    found = {"compare.png": compare_chart(comparison)}
    for name, stem in zip(seats, file_stems(seats), strict=True):
        found[f"before-after-{stem}.png"] = compare_maps(comparison, name)
    if comparison.folds:
        found["folds.png"] = folds_chart(comparison)
    if spreads:
        found["fabric-models.png"] = models_chart(spreads)
    return found
