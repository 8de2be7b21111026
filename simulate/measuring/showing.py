"""Results show and hand themselves on: short in a console, a table in a notebook, plain data, frames and arrays.

How a result is told stands in `output`, above this layer; results find it by name when they are asked, so that importing one loads
no drawing, and no lower layer imports a higher one.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas
    import xarray


def _teller(way: str) -> Any:
    return import_module(f"..output.results.{way}", __package__)


class Showing:
    """A result; what each way needs installed beside halfgain stands with it (`pip install halfgain[notebook]` brings all)."""

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionaries, lists and numbers, as the command's --json has them; units stand in the keys."""
        return dict(_teller("documents").to_dict(self))

    def to_json(self) -> str:
        """The same as JSON text."""
        return str(_teller("documents").to_json(self))

    def to_frame(self) -> pandas.DataFrame:
        """A tidy pandas frame, one row an observation; a figure's name ends in its unit. Needs pandas."""
        return _teller("frames").to_frame(self)

    def plot(self, **options: Any) -> Any:
        """A matplotlib figure of the result; see the class for what it shows and takes."""
        return _teller("figures").plot(self, **options)

    def _repr_html_(self) -> str:
        return str(_teller("tables").html(self))


class ShowingArrays(Showing):
    """A result that is also arrays."""

    def to_xarray(self) -> xarray.Dataset:
        """An xarray Dataset with named dimensions, units as attributes, and the replicates the errors come from. Needs xarray."""
        return _teller("arrays").to_xarray(self)
