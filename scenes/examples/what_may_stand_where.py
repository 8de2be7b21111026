"""
What may stand where
====================

The questions of the first visit run backwards: not what a finished room does, but where the lens may stand, which screens serve, and
how high the rear row must sit. Nothing is traced; every number does when it is followed.
"""

# %%
import halfgain as hg

room = hg.load_scene("long-lounge").change({"projector.throw_ratio": [1.6, 2.1], "screen.bottom_m": 0.6})
found = hg.place(room)
found.plot()

# %%
# The lens is too near for this zoom, and the rear row looks at heads. Both answers are in steps of a tape measure.
right, out, up = found.lens.ranges
front, rear = found.rows
print(f"out {out.low_m} to {out.high_m} m; the rear row goes {rear.lifted_m} m up")
for bound in (out.low_by, out.high_by, rear.lift.low_by):
    if bound is not None:
        print(bound.by, bound.low_thing)

# %%
# Followed, they hold: the loader has nothing left to say about the lens.
assert found.lens.nearest is not None
better = room.change("projector.lens_m", list(found.lens.nearest))
assert hg.place(better).lens.fits_here
assert rear.lifted_m > 0.0
