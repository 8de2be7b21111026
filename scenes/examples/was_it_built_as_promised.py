"""
Was it built as promised
========================

A room is measured after installation. The readings here come from another simulation of it, in which the projector gives less light
than stated; ``check`` has to find out, and to say what it cannot tell.
"""

# %%
import math

import halfgain as hg

design = hg.load_scene("light-lounge")
built = hg.measure(design.change("projector.in_use", 0.6), seed=2, error=0.02)

# %%
# First a luminance meter alone, from every seat. It is sure to 4 %, which is what all its readings share.
seen = [
    {"picture": picture, "seat": seat.name, "value": value, "unit": "cd/m2", "calibration_percent": 4}
    for seat in built.seats
    for picture, value in (("white", seat.white["centre"].value), ("black", seat.black.value))
]
room = hg.trace(design, error=0.02)
found = hg.check(room, seen)
print(found)
for pair in found.pairs:
    print("known only together:", *(found.estimates[i].parameter.title for i in (pair.first, pair.second)), sep="  ")

assert found.by_key["lumens"].only_with == ("gain",)

# %%
# A lux meter at the middle of the screen parts them. This cloth is diffuse, so the light on it follows from its luminance, L = g E / pi.
lux = math.pi * built.seats[0].white["centre"].value / design.screen.fabric.gain
both = hg.check(room, [*seen, {"picture": "white", "value": lux, "unit": "lx", "calibration_percent": 4}])
for each in both.estimates:
    if each.differs:
        print(
            f"{each.parameter.title}: {each.value:.0f} {each.parameter.unit} ({each.low:.0f} to {each.high:.0f}), stated {each.parameter.stated:.0f}"
        )

assert both.by_key["lumens"].only_with == ()
assert both.by_key["lumens"].low < 0.6 * design.projector.light_output_lm < both.by_key["lumens"].high

# %%
both.corrected.projector.in_use  # the scene as built, for whatever is asked of it next
