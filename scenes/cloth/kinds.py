"""The kinds of fold a scene file may name, with the keys each needs and takes."""

from __future__ import annotations

from typing import NamedTuple


class FoldKind(NamedTuple):
    """Keys (by field name) that a kind needs and those it takes beside them; a line about it."""

    needs: tuple[str, ...]
    takes: tuple[str, ...]
    line: str


_GROWTH = ("growth", "lead_m")
KINDS: dict[str, FoldKind] = {
    "wave": FoldKind(
        ("amplitude_m", "wavelength_m"), ("crests", "phase_deg", *_GROWTH), "straight waves, as a free-hanging sheet makes them"
    ),
    "roller waves": FoldKind(
        ("amplitude_m", "wavelength_m"),
        ("phase_deg", *_GROWTH),
        "upright waves that grow with depth below the tube; growth is 0.5 unless given",
    ),
    "v-groove": FoldKind(
        ("amplitude_m",),
        ("width_m", "rounding_m", "angle_deg", "offset_m", *_GROWTH),
        "two grooves up from where the bar is pulled; growth is 1 unless given",
    ),
    "crease": FoldKind(
        ("amplitude_m",),
        ("width_m", "rounding_m", "spacing_m", "crests", "offset_m", *_GROWTH),
        "a sharp crease, or with spacing_m a train of them, as folding in storage leaves them",
    ),
    "tension lines": FoldKind(
        ("amplitude_m", "wavelength_m"), ("corner", "reach_m", "spread_deg"), "wrinkles that fan out from the corners"
    ),
    "edge curl": FoldKind(("amplitude_m",), ("width_m", "sides"), "edges that curl towards the seats"),
    "concave edges": FoldKind(("depth_m",), (), "side edges that stand inwards between cord tabs"),
    "bar sag": FoldKind(("depth_m",), (), "a lower edge whose ends stand above its middle"),
    "swing": FoldKind(("amplitude_m",), ("lead_m",), "the sheet off the vertical, by so much at its lower edge"),
    "random": FoldKind(
        ("amplitude_m", "wavelength_m"),
        ("longest_m", "crests", "spread_deg", "seed", *_GROWTH),
        "a seeded mix of many waves from wavelength_m to longest_m",
    ),
    "measured": FoldKind(
        ("file",),
        ("unit", "count_m", "zero_count", "spacing_m", "lay"),
        "a height map (CSV, NPY, 16-bit PNG or TIFF) or a scanned mesh (PLY, OBJ, GLB)",
    ),
}
CORNERS = {
    "top left": (-1.0, 1.0),
    "top right": (1.0, 1.0),
    "bottom left": (-1.0, -1.0),
    "bottom right": (1.0, -1.0),
}  # right, up
