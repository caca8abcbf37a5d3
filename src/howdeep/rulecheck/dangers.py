"""What forbids running the engine is said with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from .base import Check, Complaint
from .subject import Subject


class DangerUnsaid(Check):
    """A cause is dangerous and does not say what happens.

    Why it matters: a customer who is told not to run his engine, and not why, runs it.
    What to do: write in wait what happens if it is run on.
    Bad: run_on: dangerous, and no wait.
    Good: run_on: dangerous, wait: "Water in the oil ruins bearings within hours."
    """

    code, severity = "danger-unsaid", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind == "causes" and entry.run_on == "dangerous" and not entry.wait.strip():
            yield Complaint(
                f"{kind}/{name}", "it is dangerous to run on, and nothing says what happens", "write wait", ("run_on",)
            )


class CrankingAlone(Check):
    """A finding says more of a danger than that it is one.

    Why it matters: what must not be turned by the starter must not be run, and what forbids nothing cannot be lifted;
    without the reason in forbids_running neither forbids_cranking nor lifted_by nor for_seconds does anything.
    What to do: write the reason in forbids_running, or take the others out.
    Bad: forbids_cranking: true alone.
    Good: forbids_running: "Water in a cylinder bends the rod.", forbids_cranking: true.
    """

    code, severity = "cranking-alone", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind != "findings" or entry.forbids_running.strip():
            return
        for field, what in (
            ("forbids_cranking", "cranking is forbidden"),
            ("lifted_by", "a danger is lifted"),
            ("for_seconds", "it may be run for some seconds"),
        ):
            if getattr(entry, field):
                yield Complaint(f"{kind}/{name}", f"{what} and running is not", "write forbids_running", (field,))


class HarmlessForbidden(Check):
    """A finding forbids running although every cause that it speaks for does no harm.

    Why it matters: the engine is stopped for something that can wait, or the cause is called harmless and is not.
    What to do: correct run_on of the cause, or take forbids_running out.
    Bad: forbids_running on a finding that speaks only for a cause whose run_on is harmless.
    Good: forbids_running where at least one of its causes wears or damages the engine.
    """

    code, severity = "harmless-forbidden", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind != "findings" or not entry.forbids_running or not entry.explained_by:
            return
        causes = [subject.knowledge.causes[cause] for cause in entry.explained_by if cause in subject.knowledge.causes]
        if causes and all(cause.run_on == "harmless" for cause in causes):
            yield Complaint(
                f"{kind}/{name}",
                "it forbids running, and all that it speaks for is harmless",
                "correct run_on or take it out",
                ("forbids_running",),
            )
