"""All pictures of a comparison by file name."""

from __future__ import annotations

from collections.abc import Sequence

from ...choices.comparison import Comparison, varies_cloth
from ...choices.fabric_models import ModelSpread
from ...choices.fold_sight import has_folds
from ...choices.variants import Variant
from ..file_names import file_stems
from ..folds.flatness_chart import multiples_chart
from .chart import compare_chart
from .folds_picture import folds_chart
from .maps import compare_maps
from .models import models_chart
from .views import SeenVariants, views_picture


def compare_pictures(
    comparison: Comparison, spreads: tuple[ModelSpread, ...] = (), seen: SeenVariants | None = None
) -> dict[str, bytes]:
    """compare.png, before-after-NAME.png a seat, seen-NAME.png of the seat that was asked for; PNG bytes by file name.

    folds.png, fold-multiples.png and fabric-models.png where there are any
    """
    seats = [seat.name for seat in comparison.variants[0].scene.seats]
    found = {"compare.png": compare_chart(comparison)}
    for name, stem in zip(seats, file_stems(seats), strict=True):
        found[f"before-after-{stem}.png"] = compare_maps(comparison, name)
    if seen is not None:
        found[f"seen-{file_stems(seats)[seats.index(seen.seat)]}.png"] = views_picture(seen)
    if comparison.folds:
        found["folds.png"] = folds_chart(comparison)
    if comparison.multiples:
        title = comparison.variants[0].scene.title
        found["fold-multiples.png"] = multiples_chart(title, seats, list(comparison.multiples))
    if spreads:
        found["fabric-models.png"] = models_chart(spreads)
    return found


def picture_names(variants: Sequence[Variant], seat: str | None, *, models: bool) -> list[str]:
    """Names of the pictures that a comparison of these variants will give, known before anything is computed.

    seat  whose view is drawn, or None;  models  whether the fabric's models are run
    """
    seats = [each.name for each in variants[0].scene.seats]
    stems = file_stems(seats)
    return [
        "compare.png",
        *(f"before-after-{stem}.png" for stem in stems),
        *([] if seat is None else [f"seen-{stems[seats.index(seat)]}.png"]),
        *(["folds.png"] if any(has_folds(each.scene) for each in variants) else []),
        *(["fold-multiples.png"] if varies_cloth(variants) else []),
        *(["fabric-models.png"] if models else []),
    ]
