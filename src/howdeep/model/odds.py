"""Odds in words, by one published scale."""

from __future__ import annotations

from typing import Literal

OddsWord = Literal[
    "almost no chance", "very unlikely", "unlikely", "about even", "likely", "very likely", "almost certain"
]
ODDS: dict[OddsWord, tuple[float, float]] = {
    "almost no chance": (0.0, 0.05),
    "very unlikely": (0.05, 0.2),
    "unlikely": (0.2, 0.45),
    "about even": (0.45, 0.55),
    "likely": (0.55, 0.8),
    "very likely": (0.8, 0.95),
    "almost certain": (0.95, 1.0),
}
"""Word -> from which probability, below which; the last holds 1 as well. Source: Intelligence Community Directive 203
(2015), section D.6.e(2)(a); the scale leaves gaps at 45 and 55 %, closed here."""


def odds_words(probability: float) -> OddsWord:
    """A probability (0 to 1) in words: almost no chance to 5 %, very unlikely to 20 %, unlikely to 45 %, about even to
    55 %, likely to 80 %, very likely to 95 %, almost certain above."""
    return next((word for word, (_, below) in ODDS.items() if probability < below), "almost certain")


def at_least(probability: float, word: OddsWord) -> bool:
    """Whether a probability is what the word says, or more."""
    return probability >= ODDS[word][0]


def at_most(probability: float, word: OddsWord) -> bool:
    """Whether a probability is what the word says, or less."""
    return word == "almost certain" or probability < ODDS[word][1]
