"""How answers travel between processes: what they were made of, not what they keep."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..light.patches import frozen


def read_only(thing: Any) -> Any:
    """Nested tuples of arrays with every array read-only again: unpickled arrays can be written to, and kernels know two types."""
    if isinstance(thing, np.ndarray):
        return frozen(thing)
    if isinstance(thing, tuple):
        parts = [read_only(part) for part in thing]
        return type(thing)(*parts) if hasattr(thing, "_fields") else tuple(parts)
    return thing
