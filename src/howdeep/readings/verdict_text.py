"""Verdicts told in sentences, and what is too close to call or too tight."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from ..model.judged import BandWord
from .figures import shown
from .judge import Judged, basis_of
from .measured import Collect

Words = Mapping[BandWord, str]
"""Band of a judged value -> the word that a fact has for it, where it is not the band's own."""
NO_WORDS: Words = MappingProxyType({})


def listed(values: Iterable[float | None], unit: str) -> str:
    """'1: 112 psi, 2: not taken'."""
    return ", ".join(
        f"{index + 1}: {'not taken' if value is None else shown(value, unit)}" for index, value in enumerate(values)
    )


def in_words(verdict: str | None) -> str:
    """A verdict as words in a sentence."""
    return (verdict or "no limit known").replace("_", " ")


def told_of(judged: Judged, words: Words = NO_WORDS) -> str:
    """A judged value in words; `words` are those of the fact where they are not the bands' own."""
    parts = [shown(judged.measured, judged.unit)]
    if judged.new is not None and judged.new != judged.limit:
        low = f"{shown(judged.low, judged.unit)} to " if judged.low is not None else ""
        parts.append(f"new {low}{shown(judged.new, judged.unit)}")
    if judged.limit is not None:
        parts.append(f"limit {shown(judged.limit, judged.unit)}")
    parts.append(in_words(_word(judged, words)))
    if judged.note:
        parts.append(judged.note)
    return ", ".join(parts)


def _word(judged: Judged, words: Words) -> str | None:
    """The word of a fact in the band that a value fell in."""
    return None if judged.verdict is None else words.get(judged.verdict, judged.verdict)


def all_told(values: Sequence[Judged | None], words: Words = NO_WORDS) -> str:
    told = "; ".join(f"{index + 1}: {told_of(item, words)}" for index, item in enumerate(values) if item is not None)
    error = next((item.error for item in values if item is not None), 0.0)
    unit = next((item.unit for item in values if item is not None), "")
    return f"{told} (gauge error {shown(error, unit)})"


def add_verdicts(
    out: Collect, fact: str, observation: str, values: Sequence[Judged | None], words: Words = NO_WORDS
) -> None:
    """Add a fact with one verdict each, and say which are too close to call and which too tight. A band with a word of
    its own for 'tight' is no fault of a fit, and nothing is said of it."""
    verdicts = tuple(None if item is None else _word(item, words) for item in values)
    out.fact(fact, verdicts, all_told(values, words), basis_of(values))
    _say(out, observation, {index + 1: item for index, item in enumerate(values) if item is not None}, words)


def add_verdict(out: Collect, fact: str, observation: str, item: Judged, words: Words = NO_WORDS) -> None:
    """The same of a single value."""
    out.fact(fact, _word(item, words), told_of(item, words), item.basis)
    _say(out, observation, {1: item}, words)


def _say(out: Collect, observation: str, numbered: dict[int, Judged], words: Words) -> None:
    say_close(out, observation, numbered)
    if "tight" not in words:
        say_tight(out, observation, numbered)


def _judged(values: dict[int, Judged], verdict: str) -> tuple[str, Judged | None]:
    """Those with this verdict, each as measured, and the first of them; None where there is none."""
    found = {number: item for number, item in values.items() if item.verdict == verdict}
    told = ", ".join(f"{number}: {shown(item.measured, item.unit)}" for number, item in found.items())
    return told, next(iter(found.values()), None)


def say_close(out: Collect, observation: str, values: dict[int, Judged]) -> None:
    told, item = _judged(values, "too_close")
    if item is not None:
        limit = f"the limit {shown(item.limit, item.unit)}" if item.limit is not None else "its limit"
        out.remark(
            observation,
            "too close to call",
            f"{told} - within the gauge's error ({shown(item.error, item.unit)}) of {limit}: measure again.",
            observation,
        )


def say_tight(out: Collect, observation: str, values: dict[int, Judged]) -> None:
    """A fit tighter than new is never wear; what it may be is said beside the reading."""
    told, item = _judged(values, "tight")
    if item is None:
        return
    least = f"the least of a new one ({shown(item.low, item.unit)})" if item.low is not None else "a new one"
    out.remark(
        observation,
        "too tight",
        f"{told} - less than {least} by more than the gauge's error. No wear does that: a wrong reading, a wrong part "
        "or one fitted wrong, or a part that has picked up. Run like that it seizes: measure again before anything is "
        "closed.",
        observation,
    )
