"""Circularity (Nazareth and Kennedy 1991; Meseguer 1991).

Findings that lead back to themselves are refused when the rules are read. Two other kinds of circle are found here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ..model.condition import facts_read
from .base import Check, Complaint
from .subject import Subject


class BringsCircle(Check):
    """Operations that bring each other into the job.

    Why it matters: whichever of them is called for, all of them join; none can ever be done alone, and a price grows by
    work that nothing calls for.
    What to do: keep the direction that is needed (what cannot be done without the other), and drop the way back.
    Bad: valve_job brings remove_refit_head, and remove_refit_head brings valve_job.
    Good: valve_job brings remove_refit_head.
    """

    code, severity = "brings-circle", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        leads = {name: item.may_bring for name, item in subject.knowledge.operations.items()}
        yield from _told(leads, "operations", "bring each other in", "drop the way back", "brings")


class FollowsCircle(Check):
    """Questions that are each asked only after the other.

    Why it matters: none of them is ever asked.
    What to do: let one of them be asked by itself.
    Bad: smoke_idle follows smoke_start, and smoke_start follows smoke_idle.
    Good: both follow runs.
    """

    code, severity = "follows-circle", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        observations = subject.knowledge.observations
        grounds = {
            name: tuple(sorted(facts_read(item.follows) & observations.keys())) if item.follows else ()
            for name, item in observations.items()
        }
        yield from _told(
            grounds, "observations", "wait for each other", "let one of them be asked by itself", "follows"
        )


def _told(leads: Mapping[str, tuple[str, ...]], kind: str, what: str, remedy: str, field: str) -> Iterator[Complaint]:
    """Every circle of entries of one kind; `field`: where they name each other."""
    for circle in circles(leads):
        first, *others = (f"{kind}/{name}" for name in circle)
        yield Complaint(first, f"{what}: {' -> '.join((*circle, circle[0]))}", remedy, (field,), also=tuple(others))


def circles(leads: Mapping[str, tuple[str, ...]]) -> list[tuple[str, ...]]:
    """One circle, from its first id, for every set of ids that lead to each other."""
    found: list[tuple[str, ...]] = []
    seen: set[str] = set()
    for start in sorted(leads):
        if start in seen:
            continue
        trail = _back_to(start, leads)
        if trail:
            found.append(trail)
            seen.update(trail)
    return found


def _back_to(start: str, leads: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The shortest way from an id back to itself; empty where there is none."""
    came: dict[str, str] = {}
    fringe = [start]
    while fringe:
        following: list[str] = []
        for here in fringe:
            for other in sorted(leads.get(here, ())):
                if other == start:
                    trail = [here]
                    while trail[-1] != start:
                        trail.append(came[trail[-1]])
                    return tuple(reversed(trail))
                if other not in came and other in leads:
                    came[other] = here
                    following.append(other)
        fringe = following
    return ()
