"""What holds the sheet: its own weight and stiffness, tube, bar, cords; with the defaults that stand in for what is not said."""

from __future__ import annotations

from dataclasses import fields

from ...materials.dataclass import dataclass
from ...materials.hangs import HANGS
from ...materials.hangs import Hang as Hang
from ...materials.text.word import check_word
from .mechanics import GRAVITY, bending_stiffness

# Young's modulus [Pa] and density [kg/m3]. Source: handbook values, e.g. EN 1999-1-1 (aluminium 70 GPa) and EN 1993-1-1
# (steel 210 GPa); others take 69 GPa for aluminium tube. "rigid" is a tube that does not sag.
TUBES = {"aluminium": (69e9, 2700.0), "steel": (210e9, 7850.0), "rigid": (1e30, 0.0)}
# Common practice, no source: PVC film weighs 0.3 to 0.5 kg/m2; E 20 MPa and 0.4 mm give 1.3e-4 N m, inside the range
# 1e-4 to 1e-3 N m of coated textile and film [from memory].
AREAL_WEIGHT_KG_M2, THICKNESS_M, MODULUS_PA, POISSON = 0.4, 0.4e-3, 20e6, 0.45
# Common practice, no source: 0.5 to 1.5 kg/m, heavier where it keeps cords taut. A fixed frame has neither bar nor tube; it is
# taken as flat whatever stands here.
BAR_KG_PER_M = {Hang.PULL_DOWN: 0.8, Hang.MOTORISED: 0.8, Hang.TAB_TENSIONED: 2.0, Hang.FIXED_FRAME: 0.8}
LEAD_M = 0.1  # common practice, no source
CORD_DEPTH_M, TAB_SPACING_M = 0.012, 0.25  # common practice, no source
CORD_SHARE = 0.75  # share of the bar's weight that hangs on the cords; our own guess: it is below 1 as the cloth is taut
CURL_STRAIN = 3e-4  # our own guess between 0 and 1e-3; textbook examples take 1e-3
PULL_N = 30.0  # common practice, no source: what draws a spring roller down
SWING_M = 0.005  # our own choice: what moving air does to a hung bar
_TUBE = {  # common practice, no source
    Hang.PULL_DOWN: (0.038, 0.001),
    Hang.MOTORISED: (0.050, 0.0012),
    Hang.TAB_TENSIONED: (0.070, 0.0015),
    Hang.FIXED_FRAME: (0.050, 0.0012),
}

LARGEST_SCALE = 10.0  # of estimated folds; our own choice


@dataclass(frozen=True)
class Hanging:
    """A sheet and what holds it, SI units; `assumed` names the keys that were left out of the scene file.

    flat             True where the cloth is taken as flat: declared so, or on a fixed frame
    width_m, drop_m  of the whole sheet, masking and lead included [m]
    lead_m           cloth between the hold and the white area, upper masking included [m];  border_m  masking [m]
    stiffness_nm     bending stiffness per width [N m];  modulus_pa, thickness_m  of the cloth [Pa], [m]
    areal_weight_kg_m2  of the cloth [kg/m2]
    tube_modulus_pa, tube_density_kg_m3, tube_diameter_m, tube_wall_m  of the roller tube, as long as the sheet is wide
    bar_kg           bottom bar [kg];  cord_tension_n, cord_depth_m  side cords, each [N], [m];  tab_spacing_m  of their tabs [m]
    curl_strain      see mechanics.curl_curvature [1]
    pull_n           pull at the middle of the bar [N];  swing_m  swing of the bar to each side [m]
    amplitude_scale  factor on the heights of all estimated folds [1]
    """

    hang: Hang
    flat: bool
    width_m: float
    drop_m: float
    lead_m: float
    border_m: float
    areal_weight_kg_m2: float
    thickness_m: float
    modulus_pa: float
    stiffness_nm: float
    tube_diameter_m: float
    tube_wall_m: float
    tube_modulus_pa: float
    tube_density_kg_m3: float
    bar_kg: float
    cord_tension_n: float
    cord_depth_m: float
    tab_spacing_m: float
    curl_strain: float
    pull_n: float
    swing_m: float
    poisson: float = POISSON
    amplitude_scale: float = 1.0
    assumed: tuple[str, ...] = ()

    @property
    def sheet_kg(self) -> float:
        """Mass of the sheet [kg]."""
        return self.areal_weight_kg_m2 * self.width_m * self.drop_m


def hanging_of(hang: Hang, given: dict[str, object], *, width_m: float, height_m: float, border_m: float) -> Hanging:
    """The hanging of a screen from the keys of [screen.hanging] that were given (by field name, in metres).

    width_m, height_m  of the white area [m];  border_m  width of the masking, which is taken as part of the sheet [m]
    raises UnknownWord for another hang or tube material
    Source: defaults at this file's head, each with its origin; stiffness from `bending_stiffness` where it is not given.
    """
    check_word("hang", hang, HANGS)
    hang = Hang(hang)
    assumed = []

    def value(key: str, default: float) -> float:
        if given.get(key) is None:
            assumed.append(key)
            return default
        return float(given[key])  # type: ignore[arg-type]

    lead, sheet = value("lead_m", LEAD_M), width_m + 2.0 * border_m
    thickness, modulus = value("thickness_m", THICKNESS_M), value("modulus_mpa", MODULUS_PA / 1e6) * 1e6
    poisson = value("poisson", POISSON)
    own = bending_stiffness(modulus_pa=modulus, thickness_m=thickness, poisson=poisson)
    bar = value("bar_kg", BAR_KG_PER_M[hang] * sheet)
    scale = given.get("amplitude_scale")
    diameter, wall = _TUBE[hang]
    material = str(given.get("tube_material") or "aluminium")
    check_word("tube_material", material, TUBES)
    return Hanging(
        hang=hang,
        flat=bool(given.get("flat")) or hang.is_frame,
        width_m=sheet,
        drop_m=lead + height_m + 2.0 * border_m,
        lead_m=lead + border_m,
        border_m=border_m,
        areal_weight_kg_m2=value("areal_weight_kg_m2", AREAL_WEIGHT_KG_M2),
        thickness_m=thickness,
        modulus_pa=modulus,
        stiffness_nm=value("bending_stiffness_n_mm", own * 1e3) / 1e3,
        tube_diameter_m=value("tube_diameter_m", diameter),
        tube_wall_m=value("tube_wall_m", wall),
        tube_modulus_pa=TUBES[material][0],
        tube_density_kg_m3=TUBES[material][1],
        bar_kg=bar,
        cord_tension_n=value("cord_tension_n", 0.5 * CORD_SHARE * bar * GRAVITY),
        cord_depth_m=value("cord_depth_m", CORD_DEPTH_M),
        tab_spacing_m=value("tab_spacing_m", TAB_SPACING_M),
        curl_strain=value("curl_strain", CURL_STRAIN),
        pull_n=value("pull_n", PULL_N),
        swing_m=value("swing_m", SWING_M),
        poisson=poisson,
        amplitude_scale=1.0 if scale is None else float(scale),  # type: ignore[arg-type]
        assumed=tuple(assumed),
    )


assert {field.name for field in fields(Hanging)} >= {"hang", "flat"}
