"""What is in doubt: answers that contradict each other, readings left out, faults found against the answers."""

from __future__ import annotations

from collections.abc import Iterable

from ..knowledge.engine_facts import engine_facts
from ..logic.applicability import applies
from ..model.knowledge import Knowledge
from ..model.results import Assessment, Remark
from ..quote.texts import first_sentence, lower_first
from ..work.job_network import read_before
from .section import Line
from .sentences import check_title, step_title, subject_title

DENIED = 3
"""Most answers named that do not agree with what was found."""
LEFT_OUT = ("questioned", "refused", "not valid")
"""Kinds of remark on a reading that then moves nothing."""
SHEET = "engine_sheet"
"""Where a remark on the engine sheet stands."""


def doubt_lines(knowledge: Knowledge, answer: Assessment, *, sheet: bool = True) -> tuple[Line, ...]:
    """What nobody may overlook: answers that contradict each other, readings that are left out, fits tighter than new,
    and with `sheet` what is questioned in the engine sheet. The short text is the beginning of the long one."""
    told = [
        Line(
            f"In doubt: {knowledge.contradictions[name].title}. Ask again; neither is resolved here.",
            short=f"In doubt: {knowledge.contradictions[name].title}. Ask again.",
            warns=True,
        )
        for name in answer.contradictions
    ]
    for remark in answer.facts.remarks:
        own = remark.observation == SHEET
        if remark.kind in LEFT_OUT and (sheet or not own):
            said = f"{remark.kind}{'' if own else ', so left out'}"
            told.append(_remarked(knowledge, remark, said, _instead(knowledge, remark)))
        elif remark.kind == "too tight":
            again = "Measure again before anything is closed."
            told.append(_remarked(knowledge, remark, remark.kind, again, always=again))
    return _once([*told, *_dropped(knowledge, answer), *_read_before(knowledge, answer)])


def remark_lines(knowledge: Knowledge, answer: Assessment) -> tuple[Line, ...]:
    """What else is to be said of readings that count: too close to call, taken under unknown conditions."""
    told = []
    for remark in answer.facts.remarks:
        if remark.kind in (*LEFT_OUT, "too tight"):
            continue
        # 'conditions not recorded' stands in its own text
        text = lower_first(remark.text) if remark.kind == "conditions not recorded" else f"{remark.kind}. {remark.text}"
        more = " ".join(filter(None, (text, _instead(knowledge, remark))))
        told.append(Line(more, subject_title(knowledge, remark.observation), ask=_asked(knowledge, remark)))
    return _once(told)


def misfit_lines(knowledge: Knowledge, answer: Assessment) -> tuple[Line, ...]:
    """Faults found on the open engine that the answers spoke against, with those answers and what to do."""
    told = []
    for misfit in answer.misfits:
        denied = [step_title(knowledge, name, "absent") for name, _ in misfit.answers[:DENIED]]
        more = len(misfit.answers) - len(denied)
        told.append(
            Line(
                f"{knowledge.findings[misfit.finding].title}. The answers do not agree with that "
                f"({'; '.join(denied)}{f'; and {more} more' if more else ''}). Look and measure once more, or "
                "believe what was found: here it is believed.",
                why=misfit.finding,
                warns=True,
            )
        )
    return tuple(told)


def overlooked(knowledge: Knowledge, answer: Assessment, *, sheet: bool = True) -> tuple[str, ...]:
    """What nobody may overlook, as short sentences."""
    return tuple(line.brief for line in doubt_lines(knowledge, answer, sheet=sheet))


def _remarked(knowledge: Knowledge, remark: Remark, said: str, more: str, always: str = "") -> Line:
    """A line on a reading; `always` is said even where there is little room."""
    return Line(
        " ".join(filter(None, (f"{said}. {remark.text}", more))),
        subject_title(knowledge, remark.observation),
        " ".join(filter(None, (f"{said}. {first_sentence(remark.text)}", always))),
        ask=_asked(knowledge, remark),
        warns=True,
    )


def _instead(knowledge: Knowledge, remark: Remark) -> str:
    other = remark.instead and remark.instead != remark.observation
    return f"Instead: {check_title(knowledge, remark.instead)}." if other else ""


def _asked(knowledge: Knowledge, remark: Remark) -> str:
    return remark.observation if remark.observation in knowledge.observations else ""


def _dropped(knowledge: Knowledge, answer: Assessment) -> list[Line]:
    """What was answered and does not count, with the reason."""
    engine = engine_facts(answer.job.engine)
    return [
        Line(
            "its ground is gone, so left out."
            if applies(item, engine)
            else "not asked of an engine built like this one, so left out. Is the engine right?",
            item.title,
            ask=name,
            warns=True,
        )
        for name, item in ((name, knowledge.observations[name]) for name in answer.dropped)
    ]


def _read_before(knowledge: Knowledge, answer: Assessment) -> list[Line]:
    """What was read of a part that the work done for the trouble has put right since."""
    return [
        Line(
            "left out, for the work done since cures just that. Was it read after the work, then leave that work out "
            "of 'done'.",
            knowledge.findings[name].title,
            short="left out, for the work done since cures just that.",
            warns=True,
        )
        for name in read_before(knowledge, answer.job, answer.conclusions.findings)
        if name not in answer.counted.present
    ]


def _once(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Each thing once: of lines that say the same the first."""
    kept: dict[str, Line] = {}
    for line in lines:
        kept.setdefault(line.told, line)
    return tuple(kept.values())
