"""What a quote says of its own prices: those it lacks, those that are examples, those that have grown old."""

from __future__ import annotations

import datetime

from ..model.prices import PriceList
from ..model.results import Assessment
from ..pricing.places import figure_at
from ..quote.values import Quote, QuoteLine
from .words import money

NAMED = 8
"""Prices named in one sentence; of more, how many more."""
BY_KIND = {"labour": "labour rate", "supplies": "percentage for supplies"}
"""Kinds of line that share one figure of the list."""
OWN_LIST = "howdeep prices new prices.yaml"


def missing_words(name: str) -> str:
    """'part head_gasket' -> 'head gasket'; 'machine work surface_head' -> 'surface head (machine shop)'."""
    if name.startswith("machine work "):
        return f"{name.removeprefix('machine work ').replace('_', ' ')} (machine shop)"
    return name.removeprefix("part ").replace("_", " ")


def listed_some(names: list[str], most: int = NAMED) -> str:
    """'a, b, c and 4 more'."""
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")


def is_old(line: QuoteLine, quote: Quote, today: str) -> bool:
    """Whether the price of a line is older than the list lets prices grow; never without a date of today."""
    try:
        age = datetime.date.fromisoformat(today) - datetime.date.fromisoformat(line.dated)
    except ValueError:
        return False
    return age.days > quote.old_after_days


def gap_sentences(answer: Assessment, prices: PriceList | None = None) -> tuple[str, ...]:
    """What is to be said under an answer of the prices that it rests on: those that stood in for missing ones, and what
    follows if they are far off (where that was worked out); with `prices`, that a whole list is an example."""
    decision = answer.decision
    if prices is not None and prices.example:
        return (f"The prices are an invented example's; '{OWN_LIST}' begins your own.",)
    if not decision.missing or decision.provisional:
        return ()
    names = [missing_words(name) for name in decision.missing]
    told = (
        f"Not in the price list: {listed_some(names, 4)}. Here the example list's figures, scaled by the labour "
        "rate, stand in; a quote leaves them out."
    )
    gaps = answer.gaps
    if gaps is None:
        return (told,)
    if not gaps:
        return (f"{told} Half or double of them, the answer stays.",)
    return (told, *(f"At {flip.at} of what stands in the answer is another: {answer_words(flip.to)}." for flip in gaps))


def answer_words(short: str) -> str:
    """'promise top_end:only' -> 'promise top end, only what cures it'."""
    kind, _, job = short.partition(" ")
    rung, _, only = job.partition(":")
    return f"{kind.replace('_', ' ')}, {rung.replace('_', ' ')}" + (", only what cures it" if only else "")


def shown_figure(prices: PriceList, place: str) -> str:
    """What stands at a place, with its mark: 'USD 48.00, example'; empty where nothing does."""
    text, mark = figure_at(prices, place), prices.mark(place)
    if not text:
        return ""
    shown = (
        f"{text} %"
        if place.endswith("_percent")
        else text
        if place == "growth_factor"
        else (f"{prices.currency} {text.split()[-1]}")
    )
    if place == "tax_percent" and text != "0":
        shown += f" on {', '.join(prices.tax_on)}"
    return f"{shown}, {'example' if mark.example else mark.date}"


def line_note(line: QuoteLine, quote: Quote, today: str) -> str:
    """What stands beside one line: 'example price', 'price of 2023-05-01, old'; empty for a price of the shop's own."""
    if quote.example or line.kind in BY_KIND:
        return ""
    if line.example:
        return "example price"
    return f"price of {line.dated}, old" if is_old(line, quote, today) else ""


def kind_note(lines: list[QuoteLine], quote: Quote, today: str) -> str:
    """What stands beside the heading of lines that share one figure, the labour rate or the percentage for supplies."""
    if quote.example or not lines or lines[0].kind not in BY_KIND:
        return ""
    first = lines[0]
    return (
        f"example {BY_KIND[first.kind]}"
        if first.example
        else (f"{BY_KIND[first.kind]} of {first.dated}, old" if is_old(first, quote, today) else "")
    )


def price_notes(quote: Quote, today: str = "") -> list[str]:
    """Sentences on the prices behind a quote; none where every one is there, the shop's own and not old."""
    notes = []
    if quote.unpriced:
        notes.append(
            f"Without a price, and so in no sum here: {listed_some([line.title for line in quote.unpriced])}. "
            f"What has a price comes to {money(quote.known_total, quote.currency)} with tax; this is no "
            "total."
        )
    wanted = sorted({missing_words(name) for item in quote.allowances for name in item.lacks})
    lacking = [f"What may turn up has no full price, for want of: {listed_some(wanted)}."] if wanted else []
    if quote.example:
        notes.append(
            f"Every price here is an invented example, not this shop's. '{OWN_LIST}' begins a list of your own."
        )
        return notes + lacking
    examples = [_named(line) for line in quote.lines if line.example]
    if examples:
        names = list(dict.fromkeys(examples))
        notes.append(
            f"Examples, not this shop's prices: {listed_some(names)} ({len(examples)} of {len(quote.lines)} lines)."
        )
    if quote.tax_example and quote.known_tax:
        notes.append("The tax is an example, too.")
    notes += lacking
    old = list(dict.fromkeys(_named(line) for line in quote.lines if is_old(line, quote, today) and not line.example))
    if old:
        notes.append(f"Older than {quote.old_after_days} days: the price of {listed_some(old)}.")
    return notes


def _named(line: QuoteLine) -> str:
    return f"the {BY_KIND[line.kind]}" if line.kind in BY_KIND else line.title.lower()
