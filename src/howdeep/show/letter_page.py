"""The letter that explains the estimate, as one self-contained HTML page."""

from __future__ import annotations

from ..model.prices import Letterhead
from ..model.results import Assessment
from ..quote.values import Quote
from .paper_parts import Letter, letter_parts
from .templates import environment


def letter_page(
    letter: Letter,
    quote: Quote,
    answer: Assessment,
    *,
    shop: Letterhead | None = None,
    units: str = "",
    date: str = "",
    number: str = "",
    back: str = "",
) -> str:
    """The letter alone, on the shop's paper."""
    return (
        environment()
        .get_template("letter.html")
        .render(
            letter=letter,
            parts=letter_parts(letter),
            quote=quote,
            job=answer.job.job,
            engine=answer.job.engine,
            shop=shop,
            signs="",
            units=units,
            date=date,
            number=number,
            general="",
            back=back,
        )
    )
