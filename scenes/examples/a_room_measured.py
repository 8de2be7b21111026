"""
A room, measured
================

What every seat of a room gets: white, contrast, and the light that the room throws back. The lounge of the library has light walls,
so the room matters more than the screen.
"""

# %%
# A scene is a file, or a room of the library by name. It knows its seats, its projector and its screen.
import halfgain as hg

lounge = hg.load_scene("light-lounge")
print(lounge)

# %%
# One call measures it. Every figure carries its standard error.
found = hg.measure(lounge, error=0.02)
found

# %%
# The same as a tidy table: one row a seat, light state and figure.
frame = found.to_frame()
dark = frame[(frame.state == "dark") & frame.figure.isin(["white_cd_m2", "checkerboard_ratio", "washout_cd_m2"])]
print(dark.pivot(index="seat", columns="figure", values="value").round(1))

# %%
# The room in plan, seats coloured by what they get.
plan = found.plot()

# %%
# And the white picture as the armchair sees it.
screen = found.plot(seat="armchair")

assert found.met
assert len(found.seats) == len(lounge.seats)
