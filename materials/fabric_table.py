"""The keys of a fabric table, in `[screen.fabric]` of a scene and in `[[fabric]]` of a library file."""
from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from .fabric import KINDS, Fabric
from .solve import fabric_from_pair

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]


class FabricTable(BaseModel):
    """A fabric as written; `to_fabric` judges and solves it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str | None = Field(
        None, min_length=1, description="name of the fabric", json_schema_extra={"allowed": "a text"}
    )
    gain: Number = Field(
        gt=0.0,
        description="peak gain of the finished sheet, light and view along the normal [1]",
        json_schema_extra={"allowed": "a number above 0"},
    )
    half_gain_deg: Number | None = Field(
        None,
        gt=0.0,
        lt=90.0,
        description="view angle from the normal at which the gain is half its peak [deg]; left out: diffuse",
        json_schema_extra={"allowed": "a number above 0, below 90"},
    )
    kind: str | None = Field(
        None,
        description="diffuse, or where the lobe stands: about the mirror direction or about the light",
        json_schema_extra={"allowed": " | ".join(KINDS), "enum": list(KINDS)},
    )
    albedo: Number | None = Field(
        None,
        gt=0.0,
        le=1.0,
        description="share of the light given back at normal incidence [1]; left out: a stated default",
        json_schema_extra={"allowed": "a number above 0, at most 1"},
    )
    tint: list[Annotated[Number, Field(ge=0.0)]] | None = Field(
        None,
        min_length=3,
        max_length=3,
        description="linear red, green, blue (BT.709) in any scale; the gain stays the luminance's",
        json_schema_extra={"allowed": "three numbers from 0 up"},
    )
    open_area: Number = Field(
        0.0,
        ge=0.0,
        lt=1.0,
        description="share of holes [1]; the gain is that of the finished sheet, holes included",
        json_schema_extra={"allowed": "a number from 0 to below 1"},
    )
    source: str = Field("", description="where the numbers come from", json_schema_extra={"allowed": "a text"})

    def to_fabric(self, name: str = "own fabric") -> Fabric:
        """The solved fabric, called `name` unless the table has a name of its own.

        raises  FabricError for what energy or the words forbid
        Source: solve.fabric_from_pair.
        """
        tint = (self.tint[0], self.tint[1], self.tint[2]) if self.tint is not None else (1.0, 1.0, 1.0)
        return fabric_from_pair(
            name=self.name or name,
            gain=self.gain,
            half_gain_deg=self.half_gain_deg,
            kind=self.kind,
            albedo=self.albedo,
            tint=tint,
            open_area=self.open_area,
            source=self.source,
        )
