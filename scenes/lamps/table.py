"""The scene file's [[lamp]], [[window]] and [[light]] as pydantic models; which keys a kind of lamp takes is in kinds.py."""

from typing import Annotated, Literal

from pydantic import Field, Strict

from ..base_table import Name, Place, StrictTable
from .colour import COLDEST_K, WARMEST_K

MOST_LAMPS, MOST_WINDOWS = 50, 20
LEAST_LM, MOST_LM = 0.01, 1_000_000  # of a lamp, generic or of a file
Channel = Annotated[float, Field(ge=0, le=1)]
Rgb = Annotated[tuple[Channel, Channel, Channel], Strict(False)]
Span = Annotated[tuple[float, float], Strict(False)]
Level = Annotated[float, Field(ge=0, le=1)]
_COLOUR = "Linear RGB on BT.709 primaries, of which the ratios count; left out: the picture's white"
_KELVIN = "Colour temperature [K], in place of colour"


class LampTable(StrictTable):
    """A lamp: a photometric file, or one of three kinds by lumens and beam angle."""

    name: Name = Field(description="Its name in light states and tables")
    kind: Literal["bulb", "downlight", "strip"] | None = Field(
        None, description="bulb: alike in all directions; downlight: a beam about its aim; strip: a line from place to end"
    )
    photometry: str | None = Field(
        None, max_length=500, description="ANSI/IES LM-63 (.ies) or EULUMDAT (.ldt) beside the scene file, in place of a kind"
    )
    place_m: Place = Field(description="Where its light comes from, of a strip its one end: [right, out, up]")
    end_m: Place | None = Field(None, description="A strip's other end: [right, out, up]")
    aim: Place | None = Field(None, description="Direction of its axis [right, out, up], of any length; left out: straight down")
    turn_deg: float | None = Field(
        None, ge=-360, le=360, description="Of a photometric file: turn about the aim; 0: the plane C = 0 points right"
    )
    light_output_lm: float | None = Field(
        None, ge=LEAST_LM, le=MOST_LM, description="Luminous flux [lm]; of a photometric file in place of its own"
    )
    beam_deg: float | None = Field(
        None,
        ge=4,
        le=170,
        description="Whole angle between directions of half the axial intensity; a strip's: 120 where left out",
    )
    colour: Rgb | None = Field(None, description=_COLOUR)
    colour_temperature_k: float | None = Field(None, ge=WARMEST_K, le=COLDEST_K, description=_KELVIN)


class WindowTable(StrictTable):
    """A window: a rectangle on a surface of the room that shines alike in all directions; no sun."""

    name: Name = Field(description="Its name in light states and tables; unlike any lamp's")
    surface: Name = Field(description='Which surface of the room it is in; a face of a sloped ceiling by its name, "ceiling 2"')
    right_m: Span | None = Field(
        None, description="From and to, right of the middle of the screen wall; of front, back, ceiling, floor"
    )
    out_m: Span | None = Field(None, description="From and to, out from the screen wall; of left, right, ceiling, floor")
    up_m: Span | None = Field(None, description="From and to, above the floor; of front, back, left, right")
    luminance_cd_m2: float | None = Field(None, ge=0, le=1e6, description="Luminance seen from inside, blind up [cd/m2]")
    outdoor_lx: float | None = Field(
        None, ge=0, le=1e5, description="Illuminance on its outside, in its own plane, without sun [lx], in place of a luminance"
    )
    transmission: Level | None = Field(None, description="Of the glass for diffuse light, with outdoor_lx; left out: 0.7")
    blind_transmission: Level | None = Field(
        None, description="Share of its light that comes through a blind that is down; left out: it has none"
    )
    colour: Rgb | None = Field(None, description=_COLOUR)
    colour_temperature_k: float | None = Field(None, ge=WARMEST_K, le=COLDEST_K, description=_KELVIN)


class LightTable(StrictTable):
    """A light state beside "dark": even light of so many lux, or lamps and windows, or both."""

    name: Name = Field(description="Its name; not dark, which is always there")
    screen_lx: float | None = Field(
        None,
        ge=0,
        le=100_000,
        description="Vertical illuminance [lx] at the screen, projector off, inter-reflection already in it; arrives evenly",
    )
    lamps: dict[str, Level] = Field(default={}, description="Lamps that are on, each with its share of full output")
    windows: dict[str, Level] = Field(
        default={}, description="Windows that let light in, each with its share of the light stated for it"
    )
    blinds_down: Annotated[list[str], Field(max_length=MOST_WINDOWS)] = Field(
        default=[], description="Windows whose blind is down"
    )
