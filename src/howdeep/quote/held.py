"""What stands before a promise: holds by their check, the refusal, and what was waived by whom."""

from __future__ import annotations

from collections.abc import Iterator

from ..errors import Fault, Held, HowdeepError
from ..knowledge.tools import tool_sentence
from ..model.frozen import dataclass
from ..model.job import OTHER_WAIVERS, Waiver
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, HoldState
from ..model.terms import DEPTH, Rung
from .jobs import rung_of

NOT_MADE, WAIVED_BY = "Not made: ", " Waived by "
"""How a sentence of a waiver begins where a check is not made, and where it says who decided."""


@dataclass(frozen=True, slots=True)
class HeldCheck:
    """One check that stands before a promise, and every hold that it clears."""

    check: str
    minutes: float
    holds: tuple[str, ...]


def standing(answer: Assessment, rung: Rung) -> tuple[HoldState, ...]:
    """Holds that stand before `rung` may be promised: before the job of the answer where that is its depth."""
    job = answer.decision.job if answer.decision.rung == rung else rung
    return tuple(hold for hold in answer.holds if hold.holds(rung, job))


def held_checks(answer: Assessment, rung: Rung) -> tuple[HeldCheck, ...]:
    """The checks that stand before `rung`, each once, in order of their first hold."""
    found: dict[str, HeldCheck] = {}
    for hold in standing(answer, rung):
        had = found.get(hold.check, HeldCheck(hold.check, hold.minutes, ()))
        found[hold.check] = HeldCheck(hold.check, had.minutes, (*had.holds, hold.hold))
    return tuple(found.values())


def refuse_while_held(knowledge: Knowledge, answer: Assessment, rung: Rung) -> None:
    """Raises Held, one fault a hold, where a promise of `rung` would be made over holds that stand."""
    faults = list(_held_faults(knowledge, answer, rung))
    if faults:
        raise Held(faults)


def _held_faults(knowledge: Knowledge, answer: Assessment, rung: Rung) -> Iterator[Fault]:
    path = answer.job.path
    for hold in standing(answer, rung):
        check = knowledge.checks.get(hold.check) or knowledge.observations[hold.check]
        lacking = check_lacking(knowledge, hold.check)
        yield Fault(
            path,
            0,
            0,
            f"held by {hold.hold}: {knowledge.holds[hold.hold].title}",
            f"make the check '{check.title}' ({hold.check}{f'; {lacking}' if lacking else ''}) and enter what "
            "it showed, or "
            f"'howdeep waive {path} {hold.hold} --by NAME --how HOW'",
        )


def refuse_idle_waiver(answer: Assessment, hold: str) -> None:
    """Raises HowdeepError where a hold of the rules does not stand (and was not waived), so that nothing is waived."""
    state = next((item.state for item in answer.holds if item.hold == hold), None)
    if state not in ("stands", "waived"):
        told = {
            None: "the signs in this job do not call for it",
            "cleared": "its check was made",
            "too late": "the engine stands open",
        }[state]
        raise HowdeepError(Fault(answer.job.path, 0, 0, f"{hold} need not be waived: {told}"))


def check_lacking(knowledge: Knowledge, check: str) -> str:
    """What a check (or an observation that is one) needs and the shop does not own, in words; empty for nothing."""
    entry = knowledge.checks.get(check)
    sentences = (tool_sentence(knowledge, name) for name in (entry.observations if entry else (check,)))
    return next((sentence for sentence in sentences if sentence), "")


def refuse_promise(knowledge: Knowledge, answer: Assessment, prices: PriceList, key: str, enough: float) -> None:
    """Raises Held, one fault a reason, where a job may not be promised (`before_promise`)."""
    faults = [fault for _, fault in before_promise(knowledge, answer, prices, key, enough)]
    if faults:
        raise Held(faults)


def before_promise(
    knowledge: Knowledge, answer: Assessment, prices: PriceList, key: str, enough: float
) -> tuple[tuple[str, Fault], ...]:
    """(what can be waived, fault) of every reason why a job may not be promised: a hold stands, it is less likely to be
    enough than the shop promises from, it is deep and not firm enough to be sold unseen, or the answer is no promise.

    `answer` has its checks ranked. An engine that stands open has been looked into already.
    """
    rung, decision, waived = rung_of(key), answer.decision, answer.job.job.waived
    faults = [
        (hold.hold, fault)
        for hold, fault in zip(standing(answer, rung), _held_faults(knowledge, answer, rung), strict=True)
    ]
    path = answer.job.path
    fewer = "" if decision.opened else _fewer(prices, answer, rung, enough)
    if not fewer and key == decision.job and decision.then == "look_inside":
        fewer = f"the answer is to look inside first: {' '.join(decision.because)}"
    if "floor" not in waived:
        go_on = f"'howdeep waive {path} floor --by NAME --how HOW'"
        if enough < decision.floor:
            faults.append(
                (
                    "floor",
                    Fault(
                        path,
                        0,
                        0,
                        f"the chance that it is enough is {100 * enough:.0f} %, and this shop promises from "
                        f"{100 * decision.floor:.0f} %",
                        f"make the next checks ('howdeep assess {path}'), or {go_on}",
                    ),
                )
            )
        elif not faults and not fewer and key == decision.job and decision.then not in ("promise", "look_inside"):
            faults.append(
                (
                    "floor",
                    Fault(
                        path,
                        0,
                        0,
                        f"the answer is no promise: {' '.join(decision.because)}",
                        f"see 'howdeep assess {path}', or {go_on}",
                    ),
                )
            )
    if fewer and "two_steps" not in waived:
        faults.append(
            (
                "two_steps",
                Fault(
                    path,
                    0,
                    0,
                    fewer,
                    f"open it and look first, or 'howdeep waive {path} two_steps --by NAME --how HOW'",
                ),
            )
        )
    return tuple(faults)


def _fewer(prices: PriceList, answer: Assessment, rung: Rung, enough: float) -> str:
    """Why a deep job is not sold unseen; empty where it may be."""
    deep = DEPTH["refresh"] <= DEPTH[rung] < DEPTH["replace"]
    if not deep or enough >= prices.firm_floor or not answer.decision.looks:
        return ""
    return (
        f"the chance that it is enough is {100 * enough:.0f} %, and so deep a job is sold unseen from "
        f"{100 * prices.firm_floor:.0f} %"
    )


def waived_sentences(knowledge: Knowledge, answer: Assessment) -> tuple[str, ...]:
    """What the signs or the odds call for and somebody decided to go on without, with who, how and when."""
    result = []
    for hold in answer.holds:
        if hold.state != "waived":
            continue
        entry, waiver = knowledge.holds[hold.hold], answer.job.job.waived[hold.hold]
        check = knowledge.checks.get(hold.check) or knowledge.observations[hold.check]
        result.append(f"{NOT_MADE}{check.title} ({entry.title[0].lower()}{entry.title[1:]}).{_by(waiver)}")
    result += [
        f"{text[0].upper()}{text[1:]}.{_by(answer.job.job.waived[name])}"
        for name, text in OTHER_WAIVERS.items()
        if name in answer.job.job.waived
    ]
    return tuple(result)


def _by(waiver: Waiver) -> str:
    told = ", ".join(part for part in (waiver.by, waiver.how, waiver.date) if part)
    return f"{WAIVED_BY}{told}" + (f": {waiver.reason}" if waiver.reason else "") + "."
