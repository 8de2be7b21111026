"""One sound scene as text, and ways to break a single line of it."""

GOOD = """\
format = 1
title = "Test room"
[room]
width_m = 4.2
depth_m = 6.0
height_m = 2.5
[room.finish]
front = "charcoal matt paint"
back = "warm white emulsion"
left = 0.5
right = { reflectance = [0.5, 0.2, 0.1], absorption = { 500 = 0.1 } }
ceiling = "white ceiling paint"
floor = "oak boards"
[[room.object]]
name = "sofa"
box = { min_m = [-1.0, 3.2, 0.0], max_m = [1.0, 4.1, 0.85] }
finish = "dark upholstery"
[projector]
light_output_lm = 1800
in_use = 0.7
native_contrast = 3000
checkerboard_contrast = 350
lens_m = [0.0, 3.9, 2.2]
pixels = [3840, 2160]
fit = "inside"
corner_to_centre = 0.85
throw_ratio = [1.3, 2.1]
lens_shift = [0.1, 0.6]
[screen]
width_m = 2.4
aspect = "16:9"
bottom_m = 0.75
right_m = 0.0
gap_to_wall_m = 0.10
border_m = 0.08
border_finish = "black velvet"
fabric = "matt white"
hang = "fixed frame"
[[light]]
name = "lamps on"
screen_lx = 12
[[seat]]
name = "front"
eye_m = [0.0, 3.3, 1.1]
[[seat]]
name = "rear"
eye_m = [1.2, 5.5, 1.2]
"""


def edit(*changes: tuple[str, str]) -> str:
    """GOOD with pieces of text replaced; each piece must stand in it exactly once."""
    text = GOOD
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the scene"
        text = text.replace(old, new)
    return text
