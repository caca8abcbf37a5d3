"""All checks over a rule base: every anomaly at once, with the excuses that the rules carry."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ..errors import Fault, HowdeepError, nearest
from ..model.frozen import dataclass
from . import (
    cases,
    circles,
    conflict,
    counting,
    dangers,
    deficiency,
    explanation,
    figures,
    judged,
    names,
    outcomes,
    questions,
    redundancy,
    replaced,
    said,
    sources,
    stages,
    telling,
)
from .base import Anomaly, Check, Complaint, Severity
from .explanation import is_filler
from .pairs import say
from .subject import Subject
from .worlds import TooWide


class NeedlessExcuse(Check):
    """An excuse that excuses nothing.

    Why it matters: the anomaly was put right and the excuse stayed; it would hide the next one.
    What to do: take it out.
    Bad: excuse {counted-twice: ...} on a finding that no check complains about.
    Good: no excuse.
    """

    code, severity = "needless-excuse", "warning"


class UnknownExcuse(Check):
    """An excuse for a code that no check has.

    Why it matters: it excuses nothing, and who reads it believes it does.
    What to do: correct the code; "howdeep rules explain" lists them.
    Bad: excuse {count-twice: ...}.
    Good: excuse {counted-twice: ...}.
    """

    code, severity = "unknown-excuse", "error"


class ThinExcuse(Check):
    """An excuse without a reason.

    Why it matters: an anomaly is excused by a reason, not by a word.
    What to do: say in a sentence why the rule is right all the same.
    Bad: excuse {counted-twice: ok}.
    Good: excuse {counted-twice: "the snap test is made at another throttle, and tells guides from rings"}.
    """

    code, severity = "thin-excuse", "error"


class TooWideToDecide(Check):
    """A condition reads more questions than can be looked at exhaustively.

    Why it matters: the checks that try every combination of answers pass over it, so nothing is proved of it.
    What to do: let it read findings instead of many answers, or split it.
    Bad: one condition over thirty questions.
    Good: a few intermediate findings, and one condition over those.
    """

    code, severity = "too-wide", "note"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for key, _, path, condition, _ in subject.conditions:
            try:
                subject.vocabulary.space(condition)
            except TooWide as error:
                yield Complaint(
                    key, f"{error} of answers to {say(condition)[:60]}... are not all looked at", "split it", path
                )


class UnreadableSheet(Check):
    """An engine sheet cannot be read.

    Why it matters: jobs on that engine stop, and the checks that go over every engine pass over it.
    What to do: correct what the message names.
    Bad: stroke: 4.
    Good: stroke: 4 in.
    """

    code, severity = "unreadable-sheet", "error"


class ImplausibleSheet(Check):
    """A figure of an engine sheet that can hardly be right.

    Why it matters: it is printed on the assembly sheet and judges the parts.
    What to do: correct the figure; if it is right, say so in the sheet: sure: {figure: why}.
    Bad: lash_inlet: 0.15 in.
    Good: lash_inlet: 0.015 in.
    """

    code, severity = "implausible-sheet", "warning"


CHECKS: tuple[type[Check], ...] = (
    *tuple(
        found
        for module in (
            names,
            redundancy,
            conflict,
            circles,
            dangers,
            deficiency,
            counting,
            cases,
            explanation,
            figures,
            judged,
            outcomes,
            questions,
            sources,
            stages,
            telling,
            replaced,
            said,
        )
        for found in vars(module).values()
        if isinstance(found, type) and issubclass(found, Check) and found.__module__ == module.__name__
    ),
    NeedlessExcuse,
    UnknownExcuse,
    ThinExcuse,
    TooWideToDecide,
    UnreadableSheet,
    ImplausibleSheet,
)
BY_CODE: dict[str, type[Check]] = {check.code: check for check in sorted(CHECKS, key=lambda check: check.code)}


@dataclass(frozen=True, slots=True)
class Report:
    """What the checks found."""

    anomalies: tuple[Anomaly, ...]
    """All of them, those excused too, by file and line."""
    checked: int
    """Entries looked at."""

    def standing(self, severity: Severity) -> tuple[Anomaly, ...]:
        """Anomalies of one severity that are not excused."""
        return tuple(item for item in self.anomalies if item.severity == severity and not item.excused)

    @property
    def excused(self) -> tuple[Anomaly, ...]:
        return tuple(item for item in self.anomalies if item.excused)

    @property
    def clean(self) -> bool:
        """No error and no warning stands; notes may."""
        return not self.standing("error") and not self.standing("warning")


def run(subject: Subject, codes: Sequence[str] = ()) -> Report:
    """Run the checks (all, or those with the codes given). Raises HowdeepError for an unknown code."""
    for code in codes:
        if code not in BY_CODE:
            raise HowdeepError(
                Fault(
                    "",
                    0,
                    0,
                    f"there is no check '{code}'",
                    nearest(code, BY_CODE) or "howdeep rules explain lists them",
                )
            )
    chosen = [check() for code, check in BY_CODE.items() if not codes or code in codes]
    found: list[tuple[Check, Complaint]] = []
    entries = list(subject.entries())
    for check in chosen:
        for kind, name, entry in entries:
            found += [(check, complaint) for complaint in check.validate(subject, kind, name, entry)]
        found += [(check, complaint) for complaint in check.finalize(subject)]
    anomalies, used = [], set()
    excuses = {f"{kind}/{name}": entry.excuse for kind, name, entry in entries}
    for check, complaint in found:
        excused = ""
        for key in (complaint.key, *complaint.also):
            reason = excuses.get(key, {}).get(check.code)
            if reason is not None:
                used.add((key, check.code))
                excused = excused or reason
        anomalies.append(_anomaly(subject, check, complaint, excused))
    anomalies += [
        _anomaly(subject, check, complaint, "")
        for check, complaint in _about_excuses(
            entries, used, {check.code for check in chosen}, ran_cases=subject.cases is not None
        )
    ]
    of_sheets: tuple[tuple[type[Check], Sequence[Fault]], ...] = (
        (UnreadableSheet, subject.sheet_faults),
        (ImplausibleSheet, subject.sheet_questions),
    )
    for about, faults in of_sheets:
        if not codes or about.code in codes:
            anomalies += [
                Anomaly(
                    fault.file,
                    fault.line,
                    fault.column,
                    about.code,
                    about.severity,
                    "engines",
                    fault.message,
                    fault.hint,
                )
                for fault in faults
            ]
    return Report(tuple(sorted(set(anomalies))), len(entries))


def _anomaly(subject: Subject, check: Check, complaint: Complaint, excused: str) -> Anomaly:
    file, line, column = subject.place(complaint.key, complaint.path)
    severity = complaint.severity or check.severity
    return Anomaly(file, line, column, check.code, severity, complaint.key, complaint.message, complaint.do, excused)


def _about_excuses(
    entries: list[tuple[str, str, Any]], used: set[tuple[str, str]], ran: set[str], *, ran_cases: bool
) -> Iterator[tuple[Check, Complaint]]:
    needs_cases = {cases.NeverFired.code, cases.NeverSilent.code, outcomes.LowCoverage.code}
    for kind, name, entry in entries:
        for code, reason in entry.excuse.items():
            key, path = f"{kind}/{name}", ("excuse", code)
            if code not in BY_CODE:
                if UnknownExcuse.code in ran:
                    yield (
                        UnknownExcuse(),
                        Complaint(
                            key,
                            f"no check has the code '{code}'",
                            nearest(code, BY_CODE) or "howdeep rules explain lists them",
                            path,
                        ),
                    )
                continue
            if is_filler(reason) and ThinExcuse.code in ran:
                yield (
                    ThinExcuse(),
                    Complaint(
                        key,
                        f"the excuse for {code} gives no reason: '{reason}'",
                        "say in a sentence why the rule is right all the same",
                        path,
                    ),
                )
            silent = code in needs_cases and not ran_cases
            if (key, code) not in used and code in ran and NeedlessExcuse.code in ran and not silent:
                yield NeedlessExcuse(), Complaint(key, f"the excuse for {code} excuses nothing", "take it out", path)


def explain(code: str) -> str:
    """The explanation of a check, from its own docstring. Raises HowdeepError for an unknown code."""
    if code not in BY_CODE:
        raise HowdeepError(
            Fault("", 0, 0, f"there is no check '{code}'", nearest(code, BY_CODE) or "howdeep rules explain lists them")
        )
    check = BY_CODE[code]
    return f"{code} ({check.severity})\n\n{check.explanation()}\n"
