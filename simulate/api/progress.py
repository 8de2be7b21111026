"""How long work tells where it is: one callable for all of it."""

from __future__ import annotations

from halfgain.simulate.light.progress import Progress, Step

__all__ = ["Progress", "Step"]
