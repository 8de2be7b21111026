"""What all tables of the scene file share: strict types, places, names."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, Strict, StringConstraints


class StrictTable(BaseModel):
    """Common rules: strict types, no unknown keys, no NaN or infinity, frozen.

    What checks a table is put together when one is first checked (`defer_build`), so only once, within the table of the whole file.
    """

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)


# TOML arrays are lists; only the container is relaxed, the numbers in it stay strict.
Place = Annotated[tuple[float, float, float], Strict(False), Field(description="[right, out, up]")]
# Names become file names (pictures, folds) and JSON keys: no path separators or wildcards, no blanks at the ends.
Name = Annotated[
    str,
    StringConstraints(
        pattern=r'^[^\s./\\:*?"<>|\x00-\x1f\x7f]([^/\\:*?"<>|\x00-\x1f\x7f]*[^\s./\\:*?"<>|\x00-\x1f\x7f])?$', max_length=60
    ),
]
