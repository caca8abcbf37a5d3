"""What an answer was made with, told from what was loaded and what the answer says of itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from ..knowledge.cache import load_cached
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.used import LaidOver, Used

_NOT_COUNTED = ("not valid", "refused", "questioned")


def laid_over(knowledge: Knowledge, folders: Sequence[Path]) -> LaidOver | None:
    """What the shop's own folder does to the shipped rules; None where there is none."""
    if len(folders) < 2:
        return None
    shipped, folder = load_cached(folders[:1]), Path(folders[-1])
    own = [key for key, (file, _, _) in knowledge.places.items() if Path(file).is_relative_to(folder)]
    return LaidOver(
        str(folder),
        len(knowledge.replaced),
        len(set(own) - set(knowledge.replaced)),
        sum(1 for _ in _corrected(shipped, knowledge)),
    )


def _corrected(shipped: Knowledge, knowledge: Knowledge) -> Iterator[str]:
    """Addresses of the frequency words that differ."""
    for name, entry in knowledge.findings.items():
        before = shipped.findings.get(name)
        if before is not None and before is not entry:
            yield from (
                f"findings/{name}/{cause}"
                for cause, word in before.explained_by.items()
                if entry.explained_by.get(cause, word) != word
            )
            if before.otherwise != entry.otherwise:
                yield f"findings/{name}/otherwise"
    for name, fault in knowledge.causes.items():
        if name in shipped.causes and shipped.causes[name].base != fault.base:
            yield f"causes/{name}"


def used_by(
    knowledge: Knowledge, over: LaidOver | None, prices: PriceList | None, prices_file: str, answer: Assessment
) -> Used:
    """What an answer was made with."""
    job: OpenJob = answer.job
    left_out = dict.fromkeys(
        remark.observation
        for remark in answer.facts.remarks
        if remark.kind in _NOT_COUNTED and remark.observation != "engine_sheet"
    )
    given = (*left_out, *(name for name in answer.dropped if name not in left_out))
    return Used(
        knowledge.version,
        over,
        job.priced_as,
        job.general is None,
        len(answer.stand_ins),
        len(job.general.assumed) if job.general else len(job.engine.assumed),
        prices.name if prices else "",
        prices_file,
        prices.date if prices else "",
        bool(prices and prices.example),
        len(answer.decision.missing),
        (*doubts_of(knowledge, prices), *job.sheet_questions),
        given,
        tuple(knowledge.observations[name].title if name in knowledge.observations else name for name in given),
    )


def doubts_of(knowledge: Knowledge, prices: PriceList | None) -> tuple[str, ...]:
    """What is questioned in the figures of the rules and of the price list, as file:line:column and a sentence."""
    rules = [
        f"{item.file}:{item.line}:{item.column}: {item.message} ({item.hint})"
        for item in knowledge.doubts
        if not item.excused
    ]
    return (*rules, *(prices.questions if prices else ()))
