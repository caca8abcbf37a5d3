"""What is said of an engine without a sheet: what it was taken as, which figures stand in, what to look up first."""

from __future__ import annotations

from ..knowledge.figure_words import FIELDS, field_words, figure_title, word_words
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.results import Assessment, LookUp
from .sentences import led_words, lower_first
from .words import money, percent

TOLD = ("fuel", "layout", "cylinders", "use", "cooling", "bores", "bearings", "oiling", "ignition", "frame")
"""Points of the build that are named where they were taken from the kind; the others follow from it."""
LOOK_UP = "Worth looking up first"
TAKEN = "Not said of the engine, so taken from its kind"
USUAL = "Not looked up on this engine, so taken as is usual for such an engine"


def general_sentence(answer: Assessment) -> str:
    """That a paper is made from general figures; empty for an engine with a sheet."""
    general = answer.job.general
    if general is None:
        return ""
    return (
        f"Made from general figures: this engine has no sheet and was taken as {_a(general.title)}. Limits, sizes "
        "and hours are those of such engines, not its maker's; they are settled when the engine is known and "
        "measured, and the sum can move with them."
    )


def _a(title: str) -> str:
    text = lower_first(title)
    return f"{'an' if text[0] in 'aeiou' else 'a'} {text}"


def assumed_lines(answer: Assessment) -> tuple[str, ...]:
    """What nobody said of the engine and was taken as its kind is built, a line for each point that matters; of an
    engine with a sheet, everything that the sheet names as not looked up yet."""
    general = answer.job.general
    if general is None:
        return tuple(field_words(name, word) for name, word in assumed_words(answer.job.engine))
    return tuple(field_words(name, word) for name, word in general.assumed if name in TOLD)


def assumed_title(answer: Assessment) -> str:
    """What stands over these lines."""
    return USUAL if answer.job.general is None else TAKEN


def assumed_words(engine: Engine) -> tuple[tuple[str, str], ...]:
    """(field, word) of everything that a sheet names as taken for usual, in its order."""
    found = []
    for path in engine.assumed:
        within, _, name = path.rpartition(".")
        value = getattr(engine.build if within == "build" else engine, name, None)
        if value is not None:
            found.append((name, "-".join(map(str, value)) if isinstance(value, tuple) else str(value)))
    return tuple(found)


def look_up_lines(knowledge: Knowledge, answer: Assessment) -> tuple[str, ...]:
    """What would be worth looking up first, the weightiest first, each with how far it moves the answer."""
    currency = answer.decision.currency
    return tuple(_line(knowledge, item, currency) for item in answer.look_ups)


def _line(knowledge: Knowledge, item: LookUp, currency: str) -> str:
    then = led_words(knowledge, item.to)
    leads = f"the answer would be another: {then}" if item.changes else "the answer would stay"
    by = [f"what it costs in the end moves by {money(item.money, currency, whole=True)}"] if item.money else []
    by += [f"the chance that it is enough by {percent(item.enough)}"] if item.enough >= 0.01 else []
    far = f", and {' and '.join(by)}" if by else ""
    if item.kind == "build":
        return (
            f"{FIELDS.get(item.subject, item.subject)}: taken as {word_words(item.taken)}; were it "
            f"{word_words(item.other)}, {leads}{far}"
        )
    if item.kind == "reading":
        title = lower_first(knowledge.observations[item.by].title)
        return (
            f"{figure_title(item.subject)}: {item.taken} stands in, and a reading of so much ({title}) would be "
            f"judged by it; with a limit of {item.other}, {leads}{far}"
        )
    return f"{figure_title(item.subject)}: {item.taken} stands in; were it {item.other}, {leads}{far}"
