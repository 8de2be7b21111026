"""The one door to jinja2: escaping on for everything, a missing name is an error."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..output.units import TYPESET

if TYPE_CHECKING:
    from jinja2 import Environment


def environment() -> Environment:
    """Templates of this folder; `asset` puts one of our own files in as it is, `svg` marks a picture of our own as such."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    made = Environment(
        loader=PackageLoader(__package__ or "", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["asset"] = lambda name: Markup(made.get_template(name).render())  # our own files
    made.filters["ratio"] = lambda number: TYPESET.written(str(number), ":1")
    made.filters["svg"] = Markup  # only ever made by inline_svg
    return made
