"""The spec card of an engine as one self-contained page for printing."""

from __future__ import annotations

from ..sheets.card import BLANK, USUAL, Card
from .templates import environment


def card_page(card: Card) -> str:
    """The card; blanks are lines to write on."""
    known, every = card.filled
    usual = any(row.usual for part in card.parts for row in part.rows)
    return (
        environment()
        .get_template("card.html")
        .render(card=card, known=known, every=every, blank=BLANK, usual=USUAL if usual else "")
    )
