"""What is said of sound in words: which formula to trust and why, what was assumed, what to be careful of."""

from __future__ import annotations

from ...sound.bands import mid
from ...sound.reverberation import ARAU, EYRING, SABINE, VALIDITY
from ...sound.room import RoomSound
from ...sound.through import Through

CAUTION = (
    "Fire: curtains, foam and panels burn or do not by their make; ask for the test report of the very product "
    "and follow local code, in escape routes most of all."
)
_WHY = {
    SABINE: "the room is live and even, and tables of absorption were read by his formula",
    EYRING: "the room is even, but takes too much for Sabine",
    ARAU: "the three pairs of walls take unlike amounts",
}
BARE = (
    "Bare walls: where nothing scatters, late sound stays between the hardest walls and rings this long; with furniture and shelves the "
    "trusted formula is near. In uneven rooms the truth lies between the two."
)
NOT_BELOW = "Below the transition frequency single modes decide and a reverberation time says little."


def trust_words(found: RoomSound) -> str:
    """Which formula stands in front at mid bands, and why."""
    times = found.reverberation
    names = sorted({str(name) for name in times.trusted[:2, [3, 4]].ravel()})
    if len(names) == 1:
        return f"To trust at 500 and 1000 Hz: {names[0]}, since {_WHY[names[0]]}. Good for {VALIDITY[names[0]]}."
    reasons = "; ".join(f"{name} where {_WHY[name]}" for name in names)
    return f"To trust depends on what is not stated: {reasons}."


def target_words(found: RoomSound) -> str:
    """The room against the nominal time, one sentence."""
    short, long = found.reverberation.mid_s
    asked = found.asked.nominal_s
    return f"Asked of a room of {found.volume_m3:.0f} m³: {asked:.2f} s; at 500 and 1000 Hz it has {pair(short, long)} s."


def unknown_words(found: RoomSound) -> list[str]:
    """Finishes without absorption, grouped by what is assumed for them; empty where all is stated."""
    groups: dict[str, list[str]] = {}
    for surface in found.unknown:
        groups.setdefault(surface.words, []).append(f"{surface.name} ({surface.finish})")
    return [f"{', '.join(names)}: {words}" for words, names in groups.items()]


def screen_words(found: Through) -> list[str]:
    """What the screen costs a loudspeaker behind it, in a few sentences."""
    if found.open_area <= 0.0:
        low, high = found.bands_db[:, 4]
        return [
            f"The sheet has no holes: {pair(low, high, 0)} dB are lost at 1 kHz, and 6 dB more with each octave. "
            "Loudspeakers belong beside, above or below it."
        ]
    at6, at8 = (found.over_500_db[f] for f in (6000, 8000))
    kept = {True: "keeps", False: "breaks", None: "may keep or break, by its mass and thickness,"}[found.meets]
    return [
        f"It {kept} BS 5382 (at most 3 dB at 6 kHz and 6 dB at 8 kHz over 500 Hz): {pair(*at6, 1)} and {pair(*at8, 1)} dB.",
        "An equaliser can lift what the cloth takes, not the comb, which differs from seat to seat. "
        "Black mineral wool round the loudspeakers takes most of the comb, and the light that comes through.",
    ]


def modes_words(found: RoomSound) -> list[str]:
    """Coincident modes and thirds of an octave that thin out; one sentence each, none where the room has neither."""
    words = [
        f"Two modes as one at {a.frequency_hz:.1f} and {b.frequency_hz:.1f} Hz {_orders(a.orders)} {_orders(b.orders)}: boomy there, "
        "for seats and bass loudspeakers to be moved by ear or measurement"
        for a, b in found.modes.coincident
    ]
    if found.modes.thinning_hz:
        places = ", ".join(f"{f:.0f}" for f in found.modes.thinning_hz)
        words.append(f"Fewer modes than in the third of an octave below, around {places} Hz (Bonello's criterion)")
    return words


def no_modes_words(found: RoomSound) -> str:
    """Why no mode is listed, one sentence."""
    if found.scene.room.shell is not None:
        return "None are listed: the room is no box, and only a box's modes follow from its measures."
    return f"None up to {found.modes.up_to_hz:.0f} Hz."


def _orders(orders: tuple[int, int, int]) -> str:
    return f"({orders[0]} {orders[1]} {orders[2]})"


def pair(low: float, high: float, decimals: int = 2) -> str:
    """Two ends as text, one where they look alike."""
    texts = [f"{value:.{decimals}f}" for value in (low, high)]
    return texts[0] if texts[0] == texts[1] else f"{texts[0]} to {texts[1]}"


def mid_words(found: RoomSound) -> str:
    """Mean absorption coefficient at mid bands, as text."""
    mean = mid(found.reverberation.mean)
    return pair(float(mean[0]), float(mean[1]))
