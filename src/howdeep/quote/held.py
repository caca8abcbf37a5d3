"""What stands before a promise: holds by their check, the refusal, and what was waived by whom."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import Fault, Held
from ..model.knowledge import RUNGS, Knowledge, Rung
from ..model.results import Assessment, HoldState


@dataclass(frozen=True, slots=True)
class HeldCheck:
    """One check that stands before a promise, and every hold that it clears."""

    check: str
    minutes: float
    holds: tuple[str, ...]


def standing(answer: Assessment, rung: Rung) -> tuple[HoldState, ...]:
    """Holds that stand before `rung` may be promised."""
    return tuple(hold for hold in answer.holds
                 if hold.state == "stands" and RUNGS.index(rung) > RUNGS.index(hold.above))


def held_checks(answer: Assessment, rung: Rung) -> tuple[HeldCheck, ...]:
    """The checks that stand before `rung`, each once, in order of their first hold."""
    found: dict[str, HeldCheck] = {}
    for hold in standing(answer, rung):
        had = found.get(hold.check, HeldCheck(hold.check, hold.minutes, ()))
        found[hold.check] = HeldCheck(hold.check, had.minutes, (*had.holds, hold.hold))
    return tuple(found.values())


def refuse_while_held(knowledge: Knowledge, answer: Assessment, rung: Rung) -> None:
    """Raises Held, one fault a hold, where a promise of `rung` would be made over holds that stand."""
    path = answer.job.path
    faults = []
    for hold in standing(answer, rung):
        check = knowledge.checks.get(hold.check) or knowledge.observations[hold.check]
        faults.append(Fault(path, 0, 0, f"held by {hold.hold}: {knowledge.holds[hold.hold].title}",
                            f"make the check '{check.title}' ({hold.check}) and enter what it showed, or "
                            f"'howdeep waive {path} {hold.hold} --by NAME --how HOW'"))
    if faults:
        raise Held(faults)


def waived_sentences(knowledge: Knowledge, answer: Assessment) -> tuple[str, ...]:
    """Checks that the signs call for and that somebody decided not to make, with who, how and when."""
    result = []
    for hold in answer.holds:
        if hold.state != "waived":
            continue
        entry, waiver = knowledge.holds[hold.hold], answer.job.job.waived[hold.hold]
        check = knowledge.checks.get(hold.check) or knowledge.observations[hold.check]
        told = ", ".join(part for part in (waiver.by, waiver.how, waiver.date) if part)
        result.append(f"Not made: {check.title} ({entry.title[0].lower()}{entry.title[1:]}). Waived by {told}"
                      + (f": {waiver.reason}" if waiver.reason else "") + ".")
    return tuple(result)
