"""The figures of a price list that a quote lacks or has only as examples."""

from __future__ import annotations

from ..pricing.stand_ins import place_of
from .values import Quote


def lacking_places(quote: Quote) -> tuple[str, ...]:
    """Places in the list, in the order in which they matter: missing from the lines, examples in the lines (the labour
    rate first), then what may turn up."""
    lines = [line.place for line in quote.lines if line.place and line.amount is None]
    lines += [line.place for line in quote.lines if line.place and line.amount is not None and line.example]
    lines += ["tax_percent"] if quote.tax_example else []
    turns_up = [place_of(name) for item in quote.allowances for name in item.lacks]
    return tuple(dict.fromkeys((*lines, *turns_up)))
