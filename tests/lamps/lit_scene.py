"""One sound scene with lamps, a window and light states as text, and ways to break a single line of it."""

from __future__ import annotations

LIT = """\
format = 1
[room]
width_m = 4.2
depth_m = 6.0
height_m = 2.5
[room.finish]
front = 0.1
back = 0.6
left = 0.5
right = 0.5
ceiling = 0.8
floor = 0.2
[[room.object]]
name = "sofa"
box = { min_m = [-1.0, 3.2, 0.0], max_m = [1.0, 4.1, 0.85] }
finish = 0.15
[projector]
light_output_lm = 1800
native_contrast = 3000
lens_m = [0.0, 3.9, 2.2]
[screen]
width_m = 2.4
aspect = "16:9"
bottom_m = 0.75
gap_to_wall_m = 0.10
fabric = "matt white"
[[lamp]]
name = "table lamp"
kind = "bulb"
place_m = [1.6, 4.6, 0.9]
light_output_lm = 470
colour_temperature_k = 2700
[[lamp]]
name = "spot"
kind = "downlight"
place_m = [0.0, 2.0, 2.45]
aim = [0.0, 0.3, -1.0]
light_output_lm = 350
beam_deg = 38
[[lamp]]
name = "cornice"
kind = "strip"
place_m = [-2.0, 5.9, 2.3]
end_m = [2.0, 5.9, 2.3]
aim = [0.0, -0.2, 1.0]
light_output_lm = 1200
[[window]]
name = "garden"
surface = "left"
out_m = [1.0, 2.4]
up_m = [0.9, 2.1]
outdoor_lx = 5000
transmission = 0.7
blind_transmission = 0.02
[[light]]
name = "even"
screen_lx = 12
[[light]]
name = "film"
lamps = { "table lamp" = 0.1, cornice = 0.05 }
[[light]]
name = "day, blind down"
screen_lx = 0.5
lamps = { spot = 1 }
windows = { garden = 1.0 }
blinds_down = ["garden"]
[[seat]]
name = "front"
eye_m = [0.0, 3.1, 1.1]
[[seat]]
name = "rear"
eye_m = [1.2, 5.5, 1.2]
"""


def lit(*changes: tuple[str, str]) -> str:
    """LIT with pieces of text replaced; each piece must stand in it exactly once."""
    text = LIT
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the scene"
        text = text.replace(old, new)
    return text
