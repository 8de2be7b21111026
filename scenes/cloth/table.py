"""The scene file's [[screen.fold]] and [screen.hanging] as pydantic models; which keys a kind of fold takes is in kinds.py."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from .hanging import LARGEST_SCALE


def parse_crests(value: Any) -> Any:
    """Crests' turn from the vertical [deg], from "vertical", "horizontal" or a number.  raises ValueError in the user's words."""
    if isinstance(value, str) and value in ("vertical", "horizontal"):
        return 0.0 if value == "vertical" else 90.0
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError('should be "vertical", "horizontal" or degrees from the vertical')
    return value


_CRESTS_SCHEMA = {
    "anyOf": [{"type": "number", "minimum": -180, "maximum": 180}, {"type": "string", "enum": ["vertical", "horizontal"]}]
}


class _FoldTable(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)


MOST_FOLDS = 50


class FoldTable(_FoldTable):
    """A fold, or a system of folds, of the cloth; several add up."""

    kind: Literal[
        "wave",
        "roller waves",
        "v-groove",
        "crease",
        "tension lines",
        "edge curl",
        "concave edges",
        "bar sag",
        "swing",
        "random",
        "measured",
    ] = Field(description="Which shape")
    amplitude_m: float | None = Field(
        None, ge=-0.5, le=0.5, description="Half of crest to trough; of a crease, groove or curl its whole height"
    )
    wavelength_m: float | None = Field(None, ge=0.01, le=20, description="Crest to crest; of a random mix the shortest")
    longest_m: float | None = Field(None, ge=0.01, le=20, description="Longest wave of a random mix; left out: 3 times")
    crests: Annotated[float | None, BeforeValidator(parse_crests), Field(ge=-180, le=180), WithJsonSchema(_CRESTS_SCHEMA)] = (
        Field(None, description="How the crests run: vertical (default), horizontal, or degrees, turned counter-clockwise")
    )
    phase_deg: float | None = Field(None, ge=-360, le=360, description="0: a crest through the middle of the screen")
    growth: float | None = Field(
        None, ge=0, le=4, description="Power by which the height grows with depth below the hold; 0: even"
    )
    lead_m: float | None = Field(
        None, ge=0.001, le=5, description="Cloth between its upper hold and the white area; left out: the hanging's"
    )
    width_m: float | None = Field(None, ge=0.002, le=20, description="Width of a crease or groove, or of the band that curls")
    rounding_m: float | None = Field(
        None, ge=0.001, le=1, description="Rounding of a crease; left out: the draping length of the cloth"
    )
    spacing_m: float | None = Field(
        None, ge=0.001, le=20, description="Between the creases of a train; between the samples of a height map"
    )
    offset_m: float | None = Field(
        None, ge=-20, le=20, description="Of a crease from the middle, across it; of a v-groove's pull to the right"
    )
    angle_deg: float | None = Field(None, ge=5, le=85, description="Lean of a v-groove's arms from the vertical: 30")
    corner: Literal["top left", "top right", "bottom left", "bottom right", "all"] | None = Field(
        None, description="Where tension lines start; left out: all"
    )
    sides: Literal["left", "right", "top", "bottom", "left and right", "all"] | None = Field(
        None, description="Which edges curl; left out: left and right"
    )
    reach_m: float | None = Field(None, ge=0.02, le=20, description="Distance from the corner where lines are highest")
    spread_deg: float | None = Field(None, ge=1, le=180, description="Half-width of a fan, or of a mix's directions")
    depth_m: float | None = Field(None, ge=0, le=1, description="How far an edge is from straight, at most")
    seed: int | None = Field(None, ge=0, le=2**31, description="Of a random mix; left out: 1")
    file: str | None = Field(None, max_length=500, description="Height map or scanned mesh, beside the scene file")
    unit: Literal["m", "cm", "mm", "in", "ft"] | None = Field(
        None, description="Unit of the heights in a CSV or NPY file, of the coordinates in a mesh"
    )
    count_m: float | None = Field(
        None, ge=-0.01, le=0.01, description="Height of one grey level of a 16-bit picture; negative: bright is far"
    )
    zero_count: float | None = Field(
        None, ge=-1e9, le=1e9, description="Grey level, or number, of the nominal plane; left out: the mean of the map"
    )
    lay: bool | None = Field(None, description="Lay a scan's mean plane and middle onto the screen; false: its own places count")


class HangingTable(_FoldTable):
    """How the sheet hangs; everything left out is taken from common practice, see the defaults' sources."""

    flat: bool | None = Field(None, description="true: the cloth is taken as flat, whatever its hang")
    areal_weight_kg_m2: float | None = Field(None, ge=0.01, le=5, description="Mass of the cloth per area")
    thickness_m: float | None = Field(None, ge=1e-5, le=0.02, description="Thickness of the cloth")
    modulus_mpa: float | None = Field(None, ge=0.001, le=1e5, description="Young's modulus of the cloth [MPa]")
    poisson: float | None = Field(None, ge=0, le=0.5, description="Poisson's ratio of the cloth")
    bending_stiffness_n_mm: float | None = Field(
        None, ge=1e-6, le=1e5, description="Bending stiffness per width [N mm], in place of modulus and thickness"
    )
    lead_m: float | None = Field(None, ge=0.001, le=5, description="Cloth between tube and white area")
    tube_diameter_m: float | None = Field(None, ge=0.01, le=0.5, description="Outer diameter of the roller tube")
    tube_wall_m: float | None = Field(None, ge=0.0002, le=0.05, description="Wall of the roller tube")
    tube_material: Literal["aluminium", "steel", "rigid"] | None = Field(None, description="Of the roller tube")
    bar_kg: float | None = Field(None, ge=0, le=200, description="Mass of the bottom bar")
    cord_tension_n: float | None = Field(None, ge=0, le=2000, description="Tension of each side cord")
    cord_depth_m: float | None = Field(None, ge=0.0001, le=0.5, description="How far the corded side edges stand inwards")
    tab_spacing_m: float | None = Field(None, ge=0.02, le=5, description="From tab to tab along a side cord")
    curl_strain: float | None = Field(
        None, ge=0, le=0.05, description="Difference in length of the cloth's two faces, per length; curls free edges"
    )
    pull_n: float | None = Field(None, ge=0, le=1000, description="Pull at the middle of the bar when it is drawn down")
    swing_m: float | None = Field(None, ge=0, le=0.5, description="Swing of the bar to each side, for its effect")
    amplitude_scale: float | None = Field(
        None, ge=0, le=LARGEST_SCALE, description="Factor on the heights of all estimated folds; stated folds keep theirs"
    )
