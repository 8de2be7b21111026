"""The keys of a finish table, in `[room.finish]` of a scene and in `[[finish]]` of a library file."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from .finish import NO_SOURCE, Finish
from .frozen import FrozenDict

BANDS_HZ = (63, 125, 250, 500, 1000, 2000, 4000, 8000)
"""Octave band centres [Hz]. Source: IEC 61260-1."""

LARGEST_ABSORPTION = 1.3
"""Reverberation rooms measure more than 1 on thick absorbers, by the edges. Source: ISO 354 (from memory)."""


def _checked_reflectance(value: Any) -> tuple[float, float, float]:
    parts = list(value) if isinstance(value, list | tuple) else [value] * 3
    if len(parts) != 3:
        raise ValueError(f"reflectance should be one number (grey) or three (red, green, blue), not {len(parts)}")
    if not all(_is_number(part) and 0.0 <= part <= 1.0 for part in parts):
        raise ValueError("reflectance must lie between 0 and 1")
    return float(parts[0]), float(parts[1]), float(parts[2])


def _checked_absorption(value: Any) -> dict[int, float]:
    if not isinstance(value, dict):
        raise ValueError("absorption is a table of octave bands")
    bands = {}
    for key, number in value.items():
        if str(key) not in {str(band) for band in BANDS_HZ}:
            raise ValueError(f"{key} is not an octave band")
        if not (_is_number(number) and 0.0 <= number <= LARGEST_ABSORPTION):
            raise ValueError(f"absorption at {key} Hz must lie between 0 and {LARGEST_ABSORPTION}")
        bands[int(key)] = float(number)
    return bands


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e300


_share = {"type": "number", "minimum": 0, "maximum": 1}
_reflectance_schema = {"anyOf": [_share, {"type": "array", "items": _share, "minItems": 3, "maxItems": 3}]}
_absorption_schema = {
    "type": "object",
    "properties": {str(band): {"type": "number", "minimum": 0, "maximum": LARGEST_ABSORPTION} for band in BANDS_HZ},
    "additionalProperties": False,
}


class FinishTable(BaseModel):
    """A finish as written."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    name: str | None = Field(None, min_length=1, description="name of the finish", json_schema_extra={"allowed": "a text"})
    reflectance: Annotated[
        tuple[float, float, float], BeforeValidator(_checked_reflectance), WithJsonSchema(_reflectance_schema)
    ] = Field(
        description="diffuse reflectance [1]: one number for grey, or linear red, green, blue (BT.709)",
        json_schema_extra={"allowed": "a number or a list of three, 0 to 1"},
    )
    absorption: Annotated[dict[int, float], BeforeValidator(_checked_absorption), WithJsonSchema(_absorption_schema)] = Field(
        default_factory=dict,
        description="sound absorption coefficient by octave band [Hz]",
        json_schema_extra={"allowed": f"keys {', '.join(map(str, BANDS_HZ))}, numbers 0 to {LARGEST_ABSORPTION}"},
    )
    source: str = Field(NO_SOURCE, description="where the numbers come from", json_schema_extra={"allowed": "a text"})

    def to_finish(self, name: str = "own finish") -> Finish:
        """The finish, called `name` unless the table has a name of its own."""
        return Finish(self.name or name, self.reflectance, FrozenDict(self.absorption), self.source)
