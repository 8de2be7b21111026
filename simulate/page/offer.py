"""What the page says as an offer: for whom, by whom, when, what is not included; and the choices with their prices."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ...materials.dataclass import dataclass
from ...materials.text.plain import plain
from ...materials.text.reading import Unreadable
from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ..choices.advice import Advice, HangAdvice
from ..choices.floors import hangs_for
from ..output.advise.role_words import role_words
from .logo import logo_url
from .recommendation import chosen_hang
from .tables import PageTable

LONGEST, MOST_LINES, MOST_CHOICES = (
    100,
    6,
    6,
)  # letters of a field, lines of what is not included, rows of prices: more would not fit on a sheet


@dataclass(frozen=True)
class Offer:
    """Fields of the first sheet, all optional; empty: not shown.

    logo  a data URL as `logo_url` makes it;  not_included  one text a line
    """

    client: str = ""
    project: str = ""
    designer: str = ""
    date: str = ""
    logo: str = ""
    not_included: tuple[str, ...] = ()

    @property
    def fields(self) -> tuple[tuple[str, str], ...]:
        """(name, text) of what is given."""
        named = (("For", self.client), ("Project", self.project), ("By", self.designer), ("Date", self.date))
        return tuple((name, text) for name, text in named if text)

    @property
    def names(self) -> tuple[str, ...]:
        """Every text of the user."""
        return (self.client, self.project, self.designer, self.date, *self.not_included)


def offer_of(
    *,
    client: str | None = None,
    project: str | None = None,
    designer: str | None = None,
    date: str | None = None,
    logo: Path | None = None,
    not_included: Sequence[str] = (),
) -> Offer:
    """The fields of the first sheet, checked; None: not given.

    raises SceneErrors with all that is wrong: empty texts, more than LONGEST letters, letters that do not print, more than
    MOST_LINES lines, a logo that `logo_url` refuses
    """
    errors: list[SceneError] = []
    named = {"--client": client, "--project": project, "--designer": designer, "--date": date}
    texts = {name: text for name, text in named.items() if text is not None}
    for name, text in [*texts.items(), *(("--not-included", line) for line in not_included)]:
        if not (text.strip() and text.isprintable() and len(text) <= LONGEST):
            errors.append(
                SceneError("halfgain", 0, name, plain(text, 60), "is not a line of text", f"1 to {LONGEST} letters that print")
            )
    if len(not_included) > MOST_LINES:
        errors.append(SceneError("halfgain", 0, "--not-included", len(not_included), "too many lines", f"at most {MOST_LINES}"))
    url = ""
    if logo is not None:
        try:
            url = logo_url(logo)
        except Unreadable as fault:
            errors.append(SceneError(str(logo), fault.line, "", NOTHING, str(fault), fault.allowed))
    if errors:
        raise SceneErrors(errors)
    said = [texts.get(name, "").strip() for name in named]
    return Offer(said[0], said[1], said[2], said[3], url, tuple(line.strip() for line in not_included))


def offer_from(fields: Mapping[str, Any]) -> Offer:
    """The same from fields by name. raises SceneErrors as `offer_of`, and for a name that is none or a value that is no text"""
    known = {"client": str, "project": str, "designer": str, "date": str, "logo": str | Path, "not_included": list | tuple}
    errors = [
        SceneError("offer", 0, str(name), plain(repr(value), 60), "cannot be", f"texts by {', '.join(known)}")
        for name, value in fields.items()
        if name not in known
        or not isinstance(value, known[name])
        or (isinstance(value, list | tuple) and not all(isinstance(x, str) for x in value))
    ]
    if errors:
        raise SceneErrors(errors)
    logo = fields.get("logo")
    return offer_of(**{**fields, "logo": None if logo is None else Path(logo)})


def price_table(advice: Advice) -> PageTable | None:
    """The advised screen, the planned one and the other choices with their prices; None without a price list.

    Other choices are taken on the advised hang, where their fabric is made for it.
    Prices are those of the list, in its own currency; what the list lacks is said.
    Source: `Wishes.price`: a fabric and a hang add up.
    """
    if not advice.wishes.prices:
        return None
    hang = chosen_hang(advice)
    scene = advice.scene.screen
    choices: dict[tuple[str, str], str] = {(advice.balanced, hang.hang.value): "advised"}
    planned = (scene.fabric.name, scene.hang.value)
    choices[planned] = "advised, as planned" if planned in choices else "as planned"
    other = _next_hang(advice, hang)
    if other is not None:
        choices.setdefault((advice.balanced, other.hang.value), "the same fabric, hung otherwise")
    for name, roles in advice.roles.items():
        if hang.hang not in hangs_for(advice.of(name).fabric, advice.wishes):
            continue
        choices.setdefault((name, hang.hang.value), ", ".join(role_words(roles, balanced="no weak side")))
    rows = tuple(
        (what[:1].upper() + what[1:], fabric, _price(advice, fabric), hung, _price(advice, hung), _total(advice, fabric, hung))
        for (fabric, hung), what in list(choices.items())[:MOST_CHOICES]
    )
    return PageTable("Choices and prices", ("choice", "fabric", "its price", "hang", "its price", "total"), rows)


def _next_hang(advice: Advice, chosen: HangAdvice) -> HangAdvice | None:
    return next((each for each in advice.hangs if each.possible and each is not chosen), None)


def _price(advice: Advice, name: str) -> str:
    return money(advice.wishes.prices[name]) if name in advice.wishes.prices else "not in the list"


def _total(advice: Advice, fabric: str, hang: str) -> str:
    price = advice.wishes.price(hang, fabric)
    return "open" if price is None else money(price)


def money(amount: float) -> str:
    """An amount with groups of three digits, and cents where it has some. Source: signs of the SI brochure, section 5.4.4."""
    text = f"{amount:,.0f}" if float(amount).is_integer() else f"{amount:,.2f}"
    return text.replace(",", "\u202f")
