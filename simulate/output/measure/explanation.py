"""One page in plain words: how a seat's luminance and contrast come about, step by step, with the numbers."""

from __future__ import annotations

import math

from ....scenes.geometry import raster
from ...measuring.estimate import Estimate
from ...measuring.measure import Measurement
from ...measuring.readings import SeatReading
from ...measuring.targets import ECHO, echo_note
from ..units import figure as digits
from ..units import foot_lamberts, spread

_WIDTH = 80  # a terminal as it opens
_NAME, _VALUE = 32, 19  # columns of a row; what is left is the note's
_INDENT = 3


def explanation(measurement: Measurement, seat: int) -> str:
    """The page for one seat, plain text of at most 80 columns.

    Every number is the measurement's own; the products shown are those it was made by.
    """
    reading = measurement.seats[seat]
    parts = [
        _title(measurement, reading),
        _light(measurement),
        _screen(measurement, seat),
        _returned(reading),
        _white(reading),
        _black(measurement, reading),
        _contrast(measurement, reading),
    ]
    parts += [_state(reading, i) for i in range(len(reading.states))]
    parts.append(_foot(measurement))
    return "\n\n".join("\n".join(part) for part in parts) + "\n"


def _wrapped(text: str, indent: int = _INDENT, width: int = _WIDTH) -> list[str]:
    """Text in lines of `width` cells of the terminal with their indent; a letter of a wide script takes two."""
    from rich.cells import cell_len
    from rich.console import Console
    from rich.text import Text

    if cell_len(text) <= width - indent:
        return [" " * indent + text]
    lines = Text(text).wrap(Console(width=_WIDTH), width - indent, overflow="fold")
    return [" " * indent + line.plain.rstrip() for line in lines]


def _row(name: str, value: str, note: str = "") -> str:
    """A name, its value and a note beside; a name too long for its column stands above, a note goes on under itself."""
    from rich.cells import cell_len

    above = _wrapped(name) if cell_len(name) > _NAME else []
    first = " " * _INDENT + ("" if above else name)
    first += " " * (_INDENT + _NAME + _VALUE - cell_len(first) - cell_len(value)) + value
    place = cell_len(first) + 2
    beside = _wrapped(note, place) if note else []
    return "\n".join([*above, first + "  " + beside[0].strip() if beside else first, *beside[1:]])


def _with_error(value: Estimate, unit: str) -> str:
    error = spread(value.standard_error)
    return f"{digits(value.value)}{f' ± {error}' if error else ''} {unit}".rstrip()


def _title(measurement: Measurement, reading: SeatReading) -> list[str]:
    from rich.cells import cell_len

    head = f"{measurement.scene.title}: what the seat “{reading.name}” sees, step by step"
    lines = _wrapped(head, 0)
    return [*lines, "=" * max(map(cell_len, lines)), "All figures are for the middle of the picture unless said otherwise."]


def _light(measurement: Measurement) -> list[str]:
    scene = measurement.scene
    projector, area = scene.projector, raster(scene)
    share = 1.0 if projector.in_use is None else projector.in_use
    lumens = projector.light_output_lm * share
    lux = measurement.illuminance_lx["centre"]
    lines = ["1. How much light lands on the screen"]
    lines.append(_row("the projector's rated output", f"{projector.light_output_lm:g} lm"))
    if projector.in_use is None:
        lines.append(_row("what is left of it in use", "not stated", "so these are rated, not in-use lumens"))
    else:
        lines.append(_row("what is left of it in use", f"x {share:g}", f"= {digits(lumens)} lm (picture mode, zoom, age)"))
    lines.append(
        _row("over the whole light rectangle", f"/ {area.area_m2:.2f} m²", f"{area.width_m:.2f} x {area.height_m:.2f} m")
    )
    film = projector.film
    if film is not None and film.transmission != 1.0:
        lumens *= film.transmission
        lines.append(_row("an anamorphic lens lets through", f"x {film.transmission:g}", f"= {digits(lumens)} lm"))
    mean = lumens / area.area_m2
    lines.append(_row("gives on average", f"{digits(mean)} lx"))
    if measurement.film is not None and measurement.film.share < 0.9995:
        part = measurement.film
        size = f"{part.area.width_m:.2f} x {part.area.height_m:.2f} m"
        lines.append(_row("of it the film's own picture", f"{100 * part.share:.0f} %", f"{size}; its bars stay black"))
    why = "" if abs(lux / mean - 1) < 0.005 else f"{100 * (lux / mean - 1):+.0f} %: the lens lights its corners less"
    lines.append(
        _row("in the middle", f"{digits(lux)} lx", why if lux > 0.0 else "it lies in a shadow: something stands in the beam")
    )
    return lines


def _screen(measurement: Measurement, seat: int) -> list[str]:
    reading, geometry, fabric = measurement.seats[seat], measurement.geometry[seat], measurement.scene.screen.fabric
    lux, direct = measurement.illuminance_lx["centre"], reading.direct["centre"].value
    lines = ["2. What the screen sends to this seat"]
    lines += _wrapped(
        f"The fabric “{fabric.name}” has gain {fabric.gain:g}: how bright it is against a perfect white matt sheet. This seat"
        f" sits {geometry.distance_m:.2f} m away, {geometry.view_angle_deg:.0f} degrees off the screen's axis; towards it the gain is"
        f" {geometry.gain:.3g}."
    )
    lines.append(_row("illuminance", f"{digits(lux)} lx"))
    lines.append(_row("x gain towards the seat", f"x {geometry.gain:.3g}"))
    lines.append(_row("/ pi (matt sheets spread light)", f"/ {math.pi:.3f}"))
    lines.append(_row("= the picture's own white", f"{digits(direct)} cd/m²", f"{digits(foot_lamberts(direct))} foot-lamberts"))
    if geometry.hidden_share >= 0.005:
        by = "heads or furniture" if measurement.scene.room.shell is None else "heads, furniture or walls"
        lines += _wrapped(f"From this eye {100 * geometry.hidden_share:.0f} % of the screen is hidden by {by}.")
    return lines


def _returned(reading: SeatReading) -> list[str]:
    white, direct = reading.white["centre"], reading.direct["centre"].value
    back = white.value - direct
    share = 100.0 * back / white.value if white.value else 0.0
    lines = ["3. What the room sends back"]
    lines += _wrapped(
        "The picture lights the room, and the room lights the screen. With a white picture this adds"
        f" {digits(back)} cd/m² ({share:.1f} % of white): unseen in white, but it fills in black."
    )
    return lines


def _white(reading: SeatReading) -> list[str]:
    white = reading.white["centre"]
    lines = ["4. White, as this seat sees it"]
    lines.append(
        _row("picture's own + returned light", _with_error(white, "cd/m²"), f"{digits(foot_lamberts(white.value))} foot-lamberts")
    )
    lines.append(
        _row("darkest of nine points / middle", f"{100 * reading.uniformity.value:.0f} %", "evenness of the white picture")
    )
    return lines


def _black(measurement: Measurement, reading: SeatReading) -> list[str]:
    projector = measurement.scene.projector
    own = "the projector's own" if echo_note(measurement.scene) == ECHO else "and what comes back of the bars' black"
    lines = ["5. Black"]
    lines.append(_row("all-black picture", _with_error(reading.black, "cd/m²"), f"white / {projector.native_contrast:g}, {own}"))
    lines += _wrapped(
        "A real picture is seldom all black. With half of it white, as in the checkerboard, the room's share falls on the black"
        f" parts as well: {_with_error(reading.washout, 'cd/m²')} of wash-out on the mean, and it comes from:"
    )
    shares = sorted(reading.share.items(), key=lambda item: -item[1].value)
    for name, share in shares:
        if share.value >= 0.005:
            lines.append(_row(f"  {name}", f"{100 * share.value:.0f} %", f"{digits(share.value * reading.washout.value)} cd/m²"))
    return lines


def _contrast(measurement: Measurement, reading: SeatReading) -> list[str]:
    projector = measurement.scene.projector
    note = echo_note(measurement.scene)
    lines = ["6. Contrast"]
    lines.append(
        _row(
            "white picture : black picture",
            f"{digits(reading.full_on_off.value)} : 1",
            "the projector's own; no paint can change it" if note == ECHO else note,
        )
    )
    lines.append(
        _row(
            "white : black in one picture",
            f"{_with_error(reading.checkerboard, '')} : 1",
            "checkerboard of 4 x 4: what the room leaves",
        )
    )
    if projector.checkerboard_contrast is None:
        lines += _wrapped("The projector's own checkerboard contrast is not stated, so this is the room's limit: an upper bound.")
    else:
        lines += _wrapped(f"In a perfectly black room this projector would reach {projector.checkerboard_contrast:g} : 1.")
    return lines


def _state(reading: SeatReading, index: int) -> list[str]:
    state = reading.states[index]
    ambient = state.white.value - reading.white["centre"].value
    lines = [f"{7 + index}. With “{state.name}”"]
    lines.append(_row("the lamps or windows add", f"{digits(ambient)} cd/m²", "to white and black alike"))
    lines.append(_row("white", _with_error(state.white, "cd/m²")))
    lines.append(_row("black", _with_error(state.black, "cd/m²")))
    lines.append(_row("white picture : black picture", f"{digits(state.full_on_off.value)} : 1"))
    lines.append(_row("white : black in one picture", f"{digits(state.checkerboard.value)} : 1"))
    return lines


def _foot(measurement: Measurement) -> list[str]:
    sure = (
        f"± is one standard error ({measurement.paths:,} light paths, seed {measurement.seed}); no ± means exact for this model."
    )
    return [*_wrapped(sure, 0), f"Scene hash {measurement.scene.sha256[:12]}. A model's estimates, no certificate."]
