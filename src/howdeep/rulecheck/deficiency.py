"""Deficiency: what is missing between signs, causes and work (Preece and Shinghal 1994)."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

from ..logic.applicability import rung_on
from ..model.terms import DEPTH, RUNGS
from .base import Check, Complaint
from .subject import Subject


def on_engines(names: list[str], subject: Subject) -> str:
    """'on brockwell-4 and pell-2', or 'on every engine sheet'."""
    if len(names) == len(subject.engines) and len(names) > 1:
        return "on every engine sheet"
    return "on " + (names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}")


class UnreachableCause(Check):
    """A cause that no finding can point to.

    Why it matters: whatever the customer says and the tests show, it keeps its base odds; it can never be recommended,
    and never be ruled out.
    What to do: add the finding that tells it, or list the cause under a finding that it shows; say with `applies` on
    which engines it cannot be.
    Bad: the cause worn_timing_gears, listed by no finding.
    Good: a finding "the valve timing is late", explained by worn_timing_gears: usually.
    """

    code, severity = "unreachable-cause", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for cause, links in subject.telling.items():
            if not links:
                yield Complaint(
                    f"causes/{cause}", f"no finding points to '{cause}'", "list it under a finding it shows"
                )
                continue
            deaf = [
                engine
                for engine in subject.engines_with(subject.knowledge.causes[cause])
                if not any(subject.can_be_present(name, engine) for name in links)
            ]
            if deaf:
                yield Complaint(
                    f"causes/{cause}",
                    f"{on_engines(deaf, subject)} no finding that points to '{cause}' can be present",
                    "add one that can, or say in `applies` which engines cannot have it",
                )


class DeadEndFinding(Check):
    """A finding that explains no cause, forbids nothing, and that nothing reads.

    Why it matters: it is worked out, shown, and changes nothing.
    What to do: list the causes that explain it, let another rule read it, say why it forbids running or what it covers,
    or take it out.
    Bad: a finding "the plugs are sooty" without explained_by, read by no other condition.
    Good: explained_by {rich_carburettor: usually, choke_stuck: usually}, otherwise: rarely.
    """

    code, severity = "dead-end-finding", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind != "findings" or entry.explained_by or entry.forbids_running or entry.covers:
            return
        if name in subject.findings_used:
            return
        if not any(name in item.lifted_by for item in subject.knowledge.findings.values()):
            yield Complaint(
                f"findings/{name}",
                f"'{name}' explains no cause, and nothing reads it",
                "list its causes, let a rule read it, or take it out",
            )


class LookAlikes(Check):
    """Two causes that nothing can tell apart.

    Why it matters: every finding says the same of both, so the odds between them stay what they were, whatever is
    tested. Where they need different work, the depth of the job is then a guess.
    What to do: add a finding that one of them shows more often, or join the two causes.
    Bad: glazed_bores and stuck_rings, both listed by the same findings with the same words.
    Good: a finding "cured by a soak and a hard run" that only stuck rings show.
    """

    code, severity = "look-alikes", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        causes = subject.knowledge.causes
        for first, second in itertools.combinations(sorted(causes), 2):
            if not subject.telling[first] or not subject.telling[second]:
                continue
            if not subject.engines:
                alike = subject.telling[first] == subject.telling[second]
                where: list[str] = []
            else:
                both = [
                    name for name in subject.engines_with(causes[first]) if name in subject.engines_with(causes[second])
                ]
                where = [
                    engine
                    for engine in both
                    if self._seen(subject, first, engine) == self._seen(subject, second, engine) != {}
                ]
                alike = bool(where)
            if alike:
                same_work = set(causes[first].cured_by) == set(causes[second].cured_by)
                beside = f" {on_engines(where, subject)}" if where else ""
                yield Complaint(
                    f"causes/{second}",
                    f"nothing tells '{second}' from '{first}'{beside}",
                    "add a finding that one of them shows more often",
                    severity="note" if same_work else None,
                    also=(f"causes/{first}",),
                )

    @staticmethod
    def _seen(subject: Subject, cause: str, engine: str) -> dict[str, str]:
        return {name: word for name, word in subject.telling[cause].items() if subject.can_be_present(name, engine)}


class NoCure(Check):
    """A cause that no operation cures on an engine that can have it.

    Why it matters: no rung of the ladder but a replacement is then enough, so every promise on that engine is pushed
    to the deepest rung by a cause that may be cheap to put right.
    What to do: add an operation that applies there to cured_by, give the operation a rung for that build, or say with
    `applies` that such an engine cannot have the cause.
    Bad: scored_bores cured by rebore alone, on an engine with wet sleeves to which rebore does not apply.
    Good: cured_by: [rebore, renew_sleeves].
    """

    code, severity = "no-cure", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for name, cause in subject.knowledge.causes.items():
            if not cause.cured_by:
                yield Complaint(f"causes/{name}", f"nothing cures '{name}'", "name the operation in cured_by")
                continue
            without = [
                engine
                for engine in subject.engines_with(cause)
                if not any(subject.rung_of(operation, engine) for operation in cause.cured_by)
            ]
            if without:
                yield Complaint(
                    f"causes/{name}",
                    f"{on_engines(without, subject)} nothing cures '{name}'",
                    "add an operation that can be done there",
                    ("cured_by",),
                )


class NeverSeen(Check):
    """A cause that no rung opens to view on an engine that can have it.

    Why it matters: what is never seen can only come back; the cost of a comeback then counts where a look would do.
    What to do: end seen_at with a step without `when`.
    Bad: seen_at: [{rung: refresh, when: {fact: engine.pan_in_frame, is: yes}}].
    Good: the same, followed by {rung: rebuild}.
    """

    code, severity = "never-seen", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for name, cause in subject.knowledge.causes.items():
            blind = [
                engine
                for engine in subject.engines_with(cause)
                if rung_on(cause.seen_at, subject.engine_facts[engine]) is None
            ]
            if not cause.seen_at or blind:
                where = f"{on_engines(blind, subject)} " if blind else ""
                yield Complaint(
                    f"causes/{name}",
                    f"{where}no rung opens '{name}' to view",
                    "end seen_at with a step without `when`",
                    ("seen_at",),
                )


class IdleScope(Check):
    """A rung that cures nothing that the rung before it does not cure.

    Why it matters: it costs more and is enough no more often, so it can never be the right promise.
    What to do: give it the operations that belong to it, or say why it stands there.
    Bad: a rung "refresh" while every operation sits at outside, top_end or rebuild.
    Good: re_ring and rod bearings at refresh.
    """

    code, severity = "idle-scope", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        base = subject.knowledge
        for rung in RUNGS[:-1]:  # a replacement cures everything
            if rung not in base.scopes:
                continue
            idle = []
            for engine in subject.engines:
                needs = set()
                for cause in base.causes.values():
                    reached = [
                        DEPTH[at]
                        for operation in cause.cured_by
                        if engine in subject.engines_with(cause) and (at := subject.rung_of(operation, engine))
                    ]
                    if reached:
                        needs.add(RUNGS[min(reached)])
                if rung not in needs:
                    idle.append(engine)
            if idle:
                everywhere = len(idle) == len(subject.engines)
                yield Complaint(
                    f"scopes/{rung}",
                    f"{on_engines(idle, subject)} '{rung}' cures nothing that a shallower rung does not cure",
                    "give it the operations that belong to it",
                    severity=None if everywhere else "note",
                )


class IdleOperation(Check):
    """An operation that nothing calls for.

    Why it matters: it cures no cause, no condition asks for it, no other operation brings it and no rung always holds
    it: it can never be in a job, whatever it says.
    What to do: name it in a cause's cured_by, in an operation's brings, in a rung's always, or give it a `when`.
    Bad: resurface_head, named nowhere.
    Good: the cause warped_head cured by resurface_head.
    """

    code, severity = "idle-operation", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        base = subject.knowledge
        called = {name for cause in base.causes.values() for name in cause.cured_by}
        called |= {name for scope in base.scopes.values() for name in scope.always}
        called |= {name for item in base.operations.values() for name in item.may_bring}
        for name, item in base.operations.items():
            if name not in called and item.when is None:
                yield Complaint(
                    f"operations/{name}",
                    f"nothing calls for '{name}'",
                    "name it in cured_by, brings or always, or give it a `when`",
                )
            elif subject.engines and not any(subject.rung_of(name, engine) for engine in subject.engines):
                yield Complaint(
                    f"operations/{name}",
                    f"'{name}' can be done on none of the engine sheets",
                    "correct applies or rung, or add a sheet",
                    severity="note",
                )
