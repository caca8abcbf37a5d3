"""Numbers in words: odds, shares, money, and the sentences that stand under every answer."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ..model.odds import at_least
from ..model.odds import odds_words as odds_words

ADVICE = (
    "This is advice, not a verdict. The engine maker's manual governs; local codes, waste rules and licensed trades "
    "come first. Odds and frequencies are judgement written down, not measurements."
)

ADVICE_SHORT = (
    "Advice, not a verdict: odds are our judgement, not measurements. The engine maker's manual and local "
    "codes come first."
)
"""The same on a page that must stay one page."""

ADVICE_LINE = "Advice, not a verdict; the maker's manual governs. The odds are judgement."
"""The same in one line of a screen."""

STAGES = {
    "strip": "Taking apart and measuring",
    "block": "Block and bores",
    "crank": "Crankshaft and camshaft",
    "pistons": "Pistons and rods",
    "bottom": "Timing gear, oil pump and pan",
    "top": "Valves and head on the bench",
    "head": "Head on",
    "gear": "Valve gear and what hangs on the outside",
    "settings": "Setting",
    "start": "Fluids, engine in and first start",
    "proof": "Once it has run",
}
"""Stage of the work -> its heading on the sheet."""


def percent(probability: float) -> str:
    """A probability as a whole percent; never 0 % or 100 % for what is only nearly so."""
    if 0.0 < probability < 0.005:
        return "<1 %"
    if 0.995 <= probability < 1.0:
        return ">99 %"
    return f"{100 * probability:.0f} %"


def chance(probability: float) -> str:
    """'likely (76 %)': a chance as every paper writes it."""
    return f"{odds_words(probability)} ({percent(probability)})"


NONE_LIKELY = "First suspects, none likely yet"
"""What stands over suspects of which not one is as likely as not."""


def suspects_title(hands: Iterable[float], likely: str) -> str:
    """`likely` where the likeliest is at least about even, else that none is likely yet."""
    return likely if at_least(max(hands, default=1.0), "about even") else NONE_LIKELY


UNNOTICED = 0.1
"""From so great a difference the chance that no fault at all is left is told beside the chance of being enough."""


SURER_BY = 0.1
"""What it was brought in for has a chance of its own where that is so much surer than that all noticed goes away."""


def came_for_words(came_for: float | None, enough: float) -> str:
    """'37 %, unlikely; that what it was brought in for goes away: 71 %', the latter where it is much the surer."""
    said = f"{percent(enough)}, {odds_words(enough)}"
    if came_for is None or came_for < enough + SURER_BY:
        return said
    return f"{said}; that what it was brought in for goes away: {percent(came_for)}"


def every_words(enough: float, every: float | None) -> str:
    """The chance that no fault at all is left; empty where that says no more."""
    if every is None or enough - every < UNNOTICED:
        return ""
    return f"That it leaves no fault at all in the engine, noticed or not: {percent(every)}."


FEW_IN = ((1, 4), (3, 10), (1, 3), (2, 5))
"""Shares of chances that lie too far from every 'one in so many'."""


def one_in(probability: float) -> str:
    """'about 1 in 7', or 'about 6 in 7' for what is more likely than not."""
    if probability <= 0.0005:
        return "less than 1 in 1000"
    if probability > 0.99:
        return "more than 99 in 100"
    if odds_words(probability) == "about even":
        return "about an even chance"
    rare = min(probability, 1 - probability)
    count = round(1 / rare)
    few, count = min(FEW_IN, key=lambda pair: abs(pair[0] / pair[1] - rare)) if rare > 0.225 else (1, count)
    if count > 20:
        count = round(count, -1)
    return f"about {few if probability <= 0.5 else count - few} in {count}"


def money(amount: Decimal | None, currency: str = "", *, whole: bool = False) -> str:
    """'USD 1,240.00', or 'no price' where there is none."""
    if amount is None:
        return "no price"
    text = f"{amount:,.0f}" if whole else f"{amount:,.2f}"
    return f"{currency} {text}".strip()


def moved(amount: Decimal) -> str:
    """'+1,240.00', '-20.00' or '0.00': by how much a sum moved."""
    return f"{amount:+,.2f}" if amount else f"{abs(amount):,.2f}"


def times(decibans: float) -> str:
    """What a step does to the odds: 'x 2.5' multiplies them, '/ 4.0' divides, 'x 1.0' leaves them."""
    factor = 10 ** (abs(decibans) / 10)
    return (
        f"{'/' if decibans < -0.05 else 'x'} {factor:,.1f}"
        if factor < 10
        else (f"{'/' if decibans < 0 else 'x'} {factor:,.0f}")
    )


def chance_of(decibans: float) -> str:
    """Odds in decibans as a chance: '20 %'."""
    return percent(1 / (1 + 10 ** (-decibans / 10)))


def parts_words(parts: float) -> str:
    """How well a check parts the suspects; `parts` in bits of who has a hand in it."""
    if parts >= 0.3:
        return "parts the suspects well"
    return (
        "parts some of the suspects"
        if parts >= 0.1
        else ("parts the suspects a little" if parts >= 0.02 else "hardly parts the suspects")
    )


def takes(count: float, days: float) -> str:
    """'12 min', or '12 min + 5 days' of waiting until its answer is there."""
    return f"{minutes(count)} + {days:g} day{'s' * (days != 1)}" if days else minutes(count)


def minutes(count: float) -> str:
    """'12 min' or '1 h 30 min'."""
    whole = round(count)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60} min" if whole % 60 else f"{whole // 60} h"
