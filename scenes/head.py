"""How large a viewer's head is taken to be; a file of its own, since kernels read it: an edit beside it would compile them again."""

from __future__ import annotations

HEAD_RADIUS_M = 0.11  # a head is a sphere of this radius about the eye point: a convention of ours
