"""All pictures of a measurement by file name."""

from __future__ import annotations

from ...measuring.measure import Measurement
from ..file_names import file_stems


def pictures(measurement: Measurement) -> dict[str, bytes]:
    """plan.png, section.png, one screen-NAME.png a seat and, for folded cloth, one folds-NAME.png a seat; PNG bytes by file name."""
    from .plan import plan
    from .screen_map import screen_map
    from .section import section

    stems = file_stems(reading.name for reading in measurement.seats)
    found = {"plan.png": plan(measurement), "section.png": section(measurement)}
    found.update({f"screen-{stem}.png": screen_map(measurement, i) for i, stem in enumerate(stems)})
    if not measurement.folds.flat:
        from ..folds.map import folds_map

        found.update({f"folds-{stem}.png": folds_map(measurement, i) for i, stem in enumerate(stems)})
    return found
