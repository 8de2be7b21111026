"""The keys of a fabric table, in `[screen.fabric]` of a scene and in `[[fabric]]` of a library file."""

from dataclasses import replace
from itertools import pairwise
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from .coat import with_coat
from .fabric import KINDS, LOUVRED, MEASURED, RETRO, ROUGH, Fabric
from .fabric_error import FabricError
from .frozen import FrozenDict
from .hangs import HANGS, Hang
from .holes import Holes, holes_from
from .lobes.measured import MeasuredCurve
from .lobes.perforation import LATTICES
from .solving.pair import GAUSSIAN, LOBES
from .solving.pair_checks import entrance_fall
from .solving.solve import fabric_from_pair
from .solving.special import ABOUT, QUALITATIVE, ROUGH_MODELS, TOWARD_DEG, louvred_fabric, measured_fabric, rough_fabric
from .translucent import with_transmittance

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]


LEAST_STEP_DEG = 5e-7  # of a measured curve: slopes between much nearer angles overflow; fits round to 1e-6
LARGEST_GAIN = 1e6  # of a measured curve at any angle; energy says more


def _words(allowed: str, choices: Any = None) -> dict[str, Any]:
    return {"allowed": allowed, **({"enum": list(choices)} if choices else {})}


def _choice(description: str, choices: Any) -> Any:
    return Field(None, description=description, json_schema_extra=_words(" | ".join(choices), choices))


def _number(description: str, allowed: str, **bounds: float) -> Any:
    return Field(None, description=description, json_schema_extra=_words(allowed), **bounds)  # type: ignore[call-overload]


# What an editor must know: only a measured or a louvred fabric may do without a gain.
_GAIN_RULE: dict[str, Any] = {
    "if": {"properties": {"kind": {"enum": [MEASURED, LOUVRED]}}, "required": ["kind"]},
    "else": {"required": ["gain"]},
}


class FabricTable(BaseModel):
    """A fabric as written; `to_fabric` judges and solves it."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, json_schema_extra=_GAIN_RULE)

    name: str | None = Field(None, min_length=1, description="name of the fabric", json_schema_extra=_words("a text"))
    gain: Number | None = _number(
        "peak gain of the finished sheet, light and view along the normal [1]; needed but for a measured curve or where "
        "both facets of a louvred fabric are stated",
        "a number above 0",
        gt=0.0,
    )
    half_gain_deg: Number | None = _number(
        "view angle from the normal at which the gain is half its peak [deg]; left out: diffuse",
        "a number above 0, below 90",
        gt=0.0,
        lt=90.0,
    )
    half_gain_up_deg: Number | None = _number(
        "the same up and down, where half_gain_deg holds to the sides only [deg]", "a number above 0, below 90", gt=0.0, lt=90.0
    )
    kind: str | None = _choice("diffuse, or where the lobe stands and what shapes it", KINDS)
    lobe: str | None = _choice("shape of the lobe; left out: gaussian", LOBES)
    albedo: Number | None = _number(
        "share of the light given back at normal incidence [1]; left out: a stated default",
        "a number above 0, at most 1",
        gt=0.0,
        le=1.0,
    )
    base_gain: Number | None = _number(
        "diffuse part of the gain [1], in place of albedo", "a number from 0 to below half the gain", ge=0.0
    )
    entrance_half_deg: Number | None = _number(
        "beads: incidence at which the lobe, seen from the light, is half as high [deg]; left out: no fall-off",
        "a number from 1 to below 90",
        ge=1.0,
        lt=90.0,
    )
    roughness_deg: Number | None = _number(
        "rough-diffuse: standard deviation of the slopes [deg]", "a number from 0 to 57", ge=0.0, le=57.0
    )
    rough_model: str | None = _choice("rough-diffuse: form of the model; left out: qualitative", ROUGH_MODELS)
    curve: list[tuple[Number, Number]] | None = Field(
        None,
        min_length=2,
        description="measured: pairs of view angle [deg], from 0, and gain [1], light along the normal",
        json_schema_extra=_words("pairs [angle, gain], angles rising from 0 to at most 90, gains from 0 up"),
    )
    lobe_about: str | None = _choice("measured: where the lobe goes at oblique incidence; left out: mirror", ABOUT)
    facet_up_deg: Number | None = _number(
        "louvred: tilt of the facet that looks up [deg]", "a number from 5 to 85", ge=5.0, le=85.0
    )
    facet_down_deg: Number | None = _number(
        "louvred: tilt of the facet that looks down [deg]", "a number from 5 to 85", ge=5.0, le=85.0
    )
    facet_up_reflectance: Number | None = _number(
        "louvred: reflectance of the facet that looks up [1]", "a number from 0 to 1", ge=0.0, le=1.0
    )
    facet_down_reflectance: Number | None = _number(
        "louvred: reflectance of the facet that looks down [1]", "a number from 0 to 1", ge=0.0, le=1.0
    )
    groove_turn_deg: Number | None = _number(
        "louvred: grooves turned from horizontal, anticlockwise as seen from the seats [deg]",
        "a number from -180 to 180",
        ge=-180.0,
        le=180.0,
    )
    gain_incidence_deg: Number | None = _number(
        "louvred: incidence of the light that the gain refers to [deg]", "a number from 0 to 85", ge=0.0, le=85.0
    )
    gain_from: str | None = _choice("louvred: where that light comes from", TOWARD_DEG)
    tint: list[Annotated[Number, Field(ge=0.0)]] | None = Field(
        None,
        min_length=3,
        max_length=3,
        description="linear red, green, blue (BT.709) in any scale; the gain stays the luminance's",
        json_schema_extra=_words("three numbers from 0 up"),
    )
    open_area: Number | None = _number(
        "share of holes [1]; the gain is that of the finished sheet, holes included", "a number from 0 to below 1", ge=0.0, lt=1.0
    )
    hole_lattice: str | None = _choice("how the holes lie; left out: hexagonal, or woven where a thread is named", LATTICES)
    hole_pitch_mm: Number | None = _number("from hole to nearest hole, or thread to thread [mm]", "above 0", gt=0.0)
    hole_diameter_mm: Number | None = _number("diameter of a round hole [mm]", "above 0, below the pitch", gt=0.0)
    thread_mm: Number | None = _number("woven: diameter of a thread [mm]", "above 0, below the pitch", gt=0.0)
    sheet_thickness_mm: Number | None = _number("depth of the round holes [mm]", "a number from 0 up", ge=0.0)
    behind_reflectance: Number | None = _number(
        "reflectance of what lies behind the holes [1]; left out: black", "a number from 0 to 1", ge=0.0, le=1.0
    )
    transmittance: Number | None = _number(
        "share of the light that comes through the sheet diffusely, holes apart [1]; light is followed through it unless backed; "
        "left out: none is",
        "a number from 0 to below 1",
        ge=0.0,
        lt=1.0,
    )
    back_reflectance: Number | None = _number(
        "reflectance of the sheet's back, beside transmittance [1]; left out: 0.6, less where energy allows less",
        "a number from 0 to 1",
        ge=0.0,
        le=1.0,
    )
    coat_index: Number | None = _number(
        "refractive index of a clear top coat, whose own reflection comes on top of the gain [1]; 1.5 for most; left out: no coat",
        "a number from 1.2 to 2.2",
        ge=1.2,
        le=2.2,
    )
    coat_roughness: Number | None = _number(
        "roughness of the coat's surface, GGX [1]; left out: 0.1, satin", "a number from 0.03 to 0.6", ge=0.03, le=0.6
    )
    hangs: list[str] | None = Field(
        None,
        min_length=1,
        description="how it can hang; left out: any way, louvred ones tab-tensioned or on a fixed frame",
        json_schema_extra={"allowed": f"a list of {', '.join(HANGS)}", "items": {"type": "string", "enum": list(HANGS)}},
    )
    source: str = Field("", description="where the numbers come from", json_schema_extra=_words("a text"))

    def to_fabric(self, name: str = "own fabric") -> Fabric:
        """The solved fabric, called `name` unless the table has a name of its own.

        raises  FabricError for what energy or the words forbid
        Source: solve.fabric_from_pair and special.py.
        """
        return replace(self._solved(name), stated=FrozenDict(self.model_dump(exclude_unset=True)))

    def _solved(self, name: str) -> Fabric:
        self._check_keys()
        for hang in self.hangs or ():
            _chosen("hangs", hang, HANGS)
        fabric = self._by_kind(name)
        if self.coat_index is not None:
            fabric = with_coat(fabric, self.coat_index, self.coat_roughness)
        elif self.coat_roughness is not None:
            raise FabricError("coat_index", None, "a number from 1.2 to 2.2", "coat_roughness needs the coat's refractive index")
        if self.transmittance and self.behind_reflectance:
            said = "stands for what lies behind, which is followed where transmittance is stated"
            raise FabricError("behind_reflectance", self.behind_reflectance, "leave it out", said)
        fabric = with_transmittance(fabric, self.transmittance, self.back_reflectance)
        return fabric if self.hangs is None else replace(fabric, hangs=tuple(Hang(hang) for hang in self.hangs))

    def _by_kind(self, name: str) -> Fabric:
        tint = (self.tint[0], self.tint[1], self.tint[2]) if self.tint is not None else (1.0, 1.0, 1.0)
        common: dict[str, Any] = {"name": self.name or name, "tint": tint, "source": self.source}
        if self.kind == LOUVRED:
            return self._louvred(common)
        holes = holes_from(
            open_area=self.open_area,
            lattice=self.hole_lattice,
            pitch_mm=self.hole_pitch_mm,
            diameter_mm=self.hole_diameter_mm,
            thread_mm=self.thread_mm,
            thickness_mm=self.sheet_thickness_mm,
            behind_reflectance=self.behind_reflectance,
        )
        if self.kind == MEASURED:
            return self._measured(common, holes)
        if self.gain is None:
            raise FabricError("gain", None, "a number above 0", "is missing")
        if self.kind == ROUGH:
            if self.roughness_deg is None:
                raise FabricError("roughness_deg", None, "a number from 0 to 57", "a rough-diffuse fabric needs it")
            model = _chosen("rough_model", self.rough_model, ROUGH_MODELS) or QUALITATIVE
            return rough_fabric(gain=self.gain, roughness_deg=self.roughness_deg, model=model, holes=holes, **common)
        return fabric_from_pair(
            gain=self.gain,
            half_gain_deg=self.half_gain_deg,
            kind=self.kind,
            albedo=self.albedo,
            holes=holes,
            half_gain_up_deg=self.half_gain_up_deg,
            lobe=_chosen("lobe", self.lobe, LOBES) or GAUSSIAN,
            base_gain=self.base_gain,
            entrance_half_deg=self.entrance_half_deg,
            **common,
        )

    def _louvred(self, common: dict[str, Any]) -> Fabric:
        return louvred_fabric(
            gain=self.gain,
            gain_incidence_deg=self.gain_incidence_deg,
            gain_from=_chosen("gain_from", self.gain_from, TOWARD_DEG),
            facet_up_deg=self.facet_up_deg,
            facet_down_deg=self.facet_down_deg,
            facet_up_reflectance=self.facet_up_reflectance,
            facet_down_reflectance=self.facet_down_reflectance,
            groove_turn_deg=self.groove_turn_deg or 0.0,
            **common,
        )

    def _measured(self, common: dict[str, Any], holes: Holes) -> Fabric:
        if self.curve is None:
            raise FabricError("curve", None, "pairs [angle, gain]", "a measured fabric needs its curve")
        angles, gains = [point[0] for point in self.curve], [point[1] for point in self.curve]
        allowed = "angles rising from 0 to at most 90, gains from 0 up, not all 0"
        if angles[0] != 0.0 or angles[-1] > 90.0 or any(b <= a for a, b in pairwise(angles)):
            raise FabricError("curve", angles[:4], allowed, "the angles are not in order")
        step = min(b - a for a, b in pairwise(angles))
        if step < LEAST_STEP_DEG:
            raise FabricError(
                "curve", step, f"at least {LEAST_STEP_DEG:g} degrees from angle to angle", "two angles are nearly one"
            )
        if min(gains) < 0.0 or gains[0] <= 0.0:
            raise FabricError("curve", min(gains), allowed, "gains are numbers from 0 up, the first above 0")
        if self.gain is not None:
            gains = [self.gain * gain / gains[0] for gain in gains]
        if not max(gains) <= LARGEST_GAIN:
            raise FabricError("curve", max(gains), f"gains up to {LARGEST_GAIN:g}", "no curve of a fabric reaches this gain")
        about = _chosen("lobe_about", self.lobe_about, ABOUT)
        fall = 0.0
        if self.entrance_half_deg is not None:
            if about != "source":
                raise FabricError("entrance_half_deg", self.entrance_half_deg, 'with lobe_about = "source"', "only beads")
            fall = entrance_fall(RETRO, 0.0, self.entrance_half_deg)
        return measured_fabric(curve=MeasuredCurve(tuple(angles), tuple(gains)), about=about, fall=fall, holes=holes, **common)

    def _check_keys(self) -> None:
        """Refuses a key that has no meaning for the kind, rather than passing over it in silence."""
        for key, kinds in ONLY_FOR.items():
            if key in self.model_fields_set and self.kind not in kinds:
                raise FabricError(key, getattr(self, key), f"kind {' or '.join(kinds)}", "has no meaning for this kind")
        for key in NOT_FOR.get(self.kind or "", ()):
            if key in self.model_fields_set:
                raise FabricError(key, getattr(self, key), "leave it out", f"has no meaning for kind {self.kind}")
        if self.kind is not None and self.kind not in KINDS:
            raise FabricError("kind", self.kind, " | ".join(KINDS), "unknown kind of fabric")


def _chosen(key: str, value: str | None, choices: Any) -> str | None:
    if value is not None and value not in choices:
        raise FabricError(key, value, " | ".join(choices), "unknown choice")
    return value


_HOLES = (
    "open_area",
    "hole_lattice",
    "hole_pitch_mm",
    "hole_diameter_mm",
    "thread_mm",
    "sheet_thickness_mm",
    "behind_reflectance",
)
_PAIR = ("half_gain_deg", "half_gain_up_deg", "albedo", "base_gain", "lobe", "entrance_half_deg")
_GROOVES = (
    "facet_up_deg",
    "facet_down_deg",
    "facet_up_reflectance",
    "facet_down_reflectance",
    "groove_turn_deg",
    "gain_incidence_deg",
    "gain_from",
)
ONLY_FOR: dict[str, tuple[str, ...]] = {
    "roughness_deg": (ROUGH,),
    "rough_model": (ROUGH,),
    "curve": (MEASURED,),
    "lobe_about": (MEASURED,),
    **{key: (LOUVRED,) for key in _GROOVES},
}
NOT_FOR: dict[str, tuple[str, ...]] = {
    ROUGH: _PAIR,
    LOUVRED: (*_PAIR, *_HOLES),
    MEASURED: tuple(key for key in _PAIR if key != "entrance_half_deg"),
}
