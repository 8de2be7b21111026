"""The order and mounting sheet: one A4 page as one HTML file that asks for nothing outside itself."""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING

from ...scenes.model import Scene
from ..ordering.order import Order
from ..output.cautions import CAUTIONS
from ..output.order.front import front_figure
from ..output.order.words import AGEING_NOTE, FOLD_CHECK, FOLD_NOTE, age_rows, projector_rows, screen_rows, trade_words
from .isolate import isolated, scene_names
from .svg import inline_svg
from .templating import environment

if TYPE_CHECKING:
    from .offer import Offer

MOST_OPEN = 5  # lines of what is to be settled: more would not fit on a sheet


def order_sheet(found: Order, offer: Offer | None = None) -> str:
    """The sheet as text; every text of the scene and of the offer is escaped by the template, and kept from turning the rest.

    offer  for whom, by whom, when; its logo and what is not included stay out
    """
    scene, fields, names = found.scene, offer.fields if offer else (), offer.names if offer else ()
    sizes = found.sizes
    said = (
        f"The screen wall, {scene.room.width_m:.2f} by {scene.room.height_m:.2f} m, from the seats: white area {sizes.white_width:.3f} by "
        f"{sizes.white_height:.3f} m, lower edge {sizes.lower_edge:.3f} m up."
    )
    text = (
        environment()
        .get_template("order.html")
        .render(
            title=scene.title,
            fields=fields,
            open=_open(found),
            screen=screen_rows(found),
            projector=projector_rows(found),
            front=inline_svg(front_figure(found), "front", said),
            trades=[trade_words(each) for each in found.trades],
            ages=None if found.ages is None else age_rows(found.ages),
            ageing_note=AGEING_NOTE,
            folds=[FOLD_CHECK[each] for each in found.fold_checks],
            fold_note=FOLD_NOTE,
            cautions=CAUTIONS,
            made=_made(scene),
        )
    )
    return isolated(text, [*scene_names(scene), *names])


def _open(found: Order) -> list[str]:
    """What is to be settled, in as many lines as the sheet has room for."""
    texts = [warning.text for warning in found.open]
    if len(texts) <= MOST_OPEN:
        return texts
    return [*texts[: MOST_OPEN - 1], f"and {len(texts) - MOST_OPEN + 1} more: halfgain measure tells all"]


def _made(scene: Scene) -> str:
    """By what and from what the sheet was made, and what it is not."""
    by = f"Made by halfgain {version('halfgain')} from scene {scene.sha256[:16]}."
    return f"{by} Lengths are the scene's, not the site's: measure before you order."
