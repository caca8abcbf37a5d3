"""Flatness of head and deck as measured at teardown."""

from __future__ import annotations

from . import flatness
from .figures import figure, first
from .given import Given
from .judge import basis_of
from .measured import Collect
from .verdict_text import say_close, told_of


def reduce_head(given: Given, out: Collect) -> None:
    """The head, lengthwise and crosswise."""
    _flat(given, out, ("along", "across"), given.engine.build.head_takes_resurfacing == "yes")


def reduce_deck(given: Given, out: Collect) -> None:
    """The deck, lengthwise."""
    _flat(given, out, ("along",), True)


def _flat(given: Given, out: Collect, ways: tuple[str, ...], resurfacing: bool) -> None:
    text, judged = given.sheet("flatness"), {}
    for way in ways:
        gap = given.number(way, "in")
        if gap is not None:
            limit = first(figure(text, "in") if isinstance(text, str) else None, given.limit(way, "in"))
            judged[way] = flatness.judge_flatness(
                gap, limit, error=given.error("enters"), hidden=given.error("next"), takes_resurfacing=resurfacing
            )
    if not judged:
        return
    told = "; ".join(f"{way}: {told_of(item)}" for way, item in judged.items())
    out.fact(given.fact("flatness"), flatness.verdict(*judged.values()), told, basis_of(judged.values()))
    for way, item in judged.items():
        if item.verdict == "too_close":
            say_close(out, given.reading(way), {1: item})
