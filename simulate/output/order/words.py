"""Words of the order sheet: rows of names and figures, trades, checks."""

from __future__ import annotations

from ....scenes.remedy import length_text
from ....scenes.units import from_metres, unit_of
from ...ordering.ageing import FoldCheck, LightAges
from ...ordering.mounting import ScreenSizes
from ...ordering.order import Order
from ...ordering.trades import Present, Trade, TradeReason
from ..units import brief

Row = tuple[str, str]
_INCH = unit_of("length_in")

TRADE = {
    Trade.ELECTRICIAN: "Licensed electrician",
    Trade.FIXING: "Whoever fixes to the structure (joiner, mason or structural engineer)",
    Trade.CEILING: "Ceiling builder",
    Trade.CABLING: "Signal cabling",
    Trade.SECOND: "A second person to carry",
}
REASON = {
    TradeReason.MOTOR: "the screen's motor: supply, isolation, limit switches",
    TradeReason.SUPPLY_OVERHEAD: "a supply where the projector hangs",
    TradeReason.SCREEN_OVERHEAD: "the screen hangs overhead",
    TradeReason.PROJECTOR_OVERHEAD: "the projector hangs overhead",
    TradeReason.RECESS: "an opening for the case: joists, fire rating and ventilation of the ceiling",
    TradeReason.SIGNAL: "the picture's signal from its source to the projector",
    TradeReason.CONTROL: "the screen's control",
    TradeReason.WIDE: "the screen is wider than two metres",
    TradeReason.HEAVY: "the screen is heavier than 25 kg",
}
FOLD_CHECK = {
    FoldCheck.AFTER_DAYS: "after it has hung some days: creases of the transport relax",
    FoldCheck.RETENSION: "each time cords, tabs or springs were set anew",
    FoldCheck.EACH_YEAR: "once a year, in the heating season too: cloth and tube follow warmth and damp",
    FoldCheck.MOVED: "whenever case or ceiling were moved",
    FoldCheck.FRAME: "when the frame is up, before the border hides its edge",
}
FOLD_NOTE = "Common practice, no source."
AGEING_NOTE = (
    "Exponential decline to one half at the hours stated, of the projector's own light at the dimmest seat; "
    "what the room sends back is a reserve. Real sources fall faster at first."
)


def metres(value: float) -> str:
    """A length [m] in metres to the mm, and in inches to a tenth."""
    return f"{value:.3f} m ({from_metres(value, _INCH):.1f} in)"


def screen_rows(found: Order) -> list[Row]:
    """Sizes and heights of the screen."""
    scene, sizes = found.scene, found.sizes
    screen, mount = scene.screen, scene.screen.mount
    rows = [
        ("Visible width x height", f"{sizes.white_width:.3f} x {sizes.white_height:.3f} m"),
        ("Visible diagonal", metres(sizes.white_diagonal)),
        ("Overall with border", f"{sizes.overall_width:.3f} x {sizes.overall_height:.3f} m"),
        ("Border all round", metres(screen.border_m) if screen.border_m else "none"),
        ("Fabric, hang", f"{screen.fabric.name}, {screen.hang}"),
        ("Seen and lit from", "the front"),
        ("Lower edge of the white", f"{metres(sizes.lower_edge)} above the floor"),
        ("Upper edge of the white", f"{metres(sizes.upper_edge)} above the floor"),
        ("Drop, ceiling to white", metres(sizes.drop_to_white)),
        *_under_a_slope(sizes),
        ("Drop, to the lower edge", metres(sizes.drop_to_lower_edge)),
        ("Cloth to wall", metres(screen.gap_to_wall_m)),
    ]
    if sizes.left_free is not None and sizes.right_free is not None:
        rows.append(("Wall free, left / right", f"{sizes.left_free:.3f} / {sizes.right_free:.3f} m from the seats"))
    if mount is not None and mount.case_height_m is not None:
        depth = "" if mount.case_depth_m is None else f", {mount.case_depth_m:.3f} m deep"
        width = "" if mount.case_width_m is None else f", {mount.case_width_m:.3f} m wide"
        narrow = mount.case_width_m is not None and mount.case_width_m < sizes.overall_width
        said = ", narrower than screen and border: ask its maker" if narrow else ""
        rows.append(("Case", f"{mount.case_height_m:.3f} m high{depth}{width}{said}"))
        rows.append(("Case let into the ceiling", metres(mount.recess_m) if mount.recess_m else "not"))
    above = "case" if mount is not None and mount.case_height_m is not None else "ceiling"
    rows.append((f"Black drop, {above} to border", metres(sizes.leader)))
    rows += [("Cable leaves", f"on the {mount.cable_side}, as seen from the seats")] if mount and mount.cable_side else []
    return rows + _load_rows(found)


def _under_a_slope(sizes: ScreenSizes) -> list[Row]:
    """How far the drop changes along the screen; none under a level ceiling."""
    least, greatest = sizes.least_drop_to_white, sizes.greatest_drop_to_white
    level = greatest - least < 0.0005
    return [] if level else [("The same, along the screen", f"{least:.3f} to {greatest:.3f} m")]


def _load_rows(found: Order) -> list[Row]:
    mount, load = found.scene.screen.mount, found.load
    rows: list[Row] = []
    if mount is not None and mount.weight_kg is not None:
        rows.append(("Weight", f"{mount.weight_kg:g} kg"))
    if mount is not None and mount.fixings is not None:
        rows.append(("Fixings", f"{mount.fixings}"))
    if load is not None and load.share_n is not None:
        rows.append(("One fixing's share", f"{load.share_n:.0f} N; starts and pulls add to it"))
    if mount is not None and mount.fixing_load_n is not None:
        said = ", all together less than its weight: ask its maker" if load is not None and load.enough is False else ""
        rows.append(("One fixing's stated load", f"{mount.fixing_load_n:g} N{said}"))
    return rows


def projector_rows(found: Order) -> list[Row]:
    """Place of lens and casing, throw, weight."""
    scene = found.scene
    projector, room, throw = scene.projector, scene.room, found.throw
    right, out, up = projector.lens_m
    side = (
        "on the middle of the wall"
        if right == 0.0
        else f"{abs(right):.3f} m {'right' if right > 0 else 'left'} of the wall's middle"
    )
    rows = [
        ("Lens, sideways", side),
        ("Lens, out from the wall", metres(out)),
        ("Lens above the floor", metres(up)),
        *([] if room.shell is not None else [("Lens below the ceiling", metres(room.height_m - up))]),
        ("Throw, lens to cloth", f"{metres(throw.distance_m)}, ratio {throw.ratio:.2f}"),
        (
            "Picture off the lens axis",
            f"{_off(throw.shift_right, 'width', ('right', 'left'))}, {_off(throw.shift_up, 'height', ('up', 'down'))}",
        ),
        ("Fits throw and shift", {True: "yes", False: "no", None: "not stated"}[throw.feasible]),
    ]
    if found.casing is not None:
        low, high = found.casing.min_m, found.casing.max_m
        rows.append(("Casing, out from the wall", f"{low[1]:.3f} to {high[1]:.3f} m"))
        rows.append(("Casing above the floor", f"{low[2]:.3f} to {high[2]:.3f} m"))
    if projector.weight_kg is not None:
        rows.append(("Weight", f"{projector.weight_kg:g} kg"))
    return rows + beam_rows(found)


def _off(shift: float, of: str, ways: tuple[str, str]) -> str:
    """A shift in picture widths or heights, with its way."""
    way = "" if abs(shift) < 0.005 else f" {ways[shift < 0.0]}"
    return f"{abs(shift):.2f} picture {of}s{way}"


def beam_rows(found: Order) -> list[Row]:
    """The beam over somebody who stands, and over the seats."""
    beam = found.beam
    head = f"A head at {length_text(beam.stature_m)} m"
    if beam.clear_from_m is None or beam.clear_to_m is None:
        said = "stands in the beam wherever somebody stands before it"
    elif beam.clear_from_m == 0.0:
        said = f"stays below the beam up to {beam.clear_to_m:.2f} m out"
    else:
        said = f"stays below the beam from {beam.clear_from_m:.2f} m out to the lens"
    rows = [(head, said)]
    if beam.over:
        least = min(beam.over, key=lambda each: each.above_eye_m)
        words = f"{least.above_floor_m:.2f} m above the floor, {least.above_eye_m:.2f} m above the eye"
        rows.append((f'Beam over "{least.seat}"', words))
    return rows


def trade_words(present: Present) -> str:
    """A trade and why it must be present."""
    return f"{TRADE[present.trade]}: {'; '.join(REASON[reason] for reason in present.reasons)}."


def age_rows(ages: LightAges) -> list[Row]:
    """Hours to each minimum."""
    run = f"{ages.half_light_h:g} h; has run {ages.run_h:g} h ({100 * ages.left:.0f} % of new)"
    rows = [
        ("Half of its light after", run),
        (f'White now at "{ages.seat}"', f"{ages.white_cd_m2:.0f} cd/m2, its own light alone"),
    ]
    for each in ages.lasts:
        years = "" if each.years is None else f" ({brief(each.years)} years)"
        said = "is below it already" if each.hours == 0.0 else f"in {brief(each.hours)} h{years}"
        rows.append((f"Falls to {each.asked.value:g} cd/m2", f"{said}; {each.asked.source}"))
    return rows
