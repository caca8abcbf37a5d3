"""Readings that were taken in the right way, on an engine they can be taken on; what else is kept is remarked on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from ..errors import HowdeepError
from ..model.condition import FactTest, facts_read, walk
from ..model.job import OpenJob
from ..model.judged import Computed
from ..model.knowledge import Knowledge
from ..model.quantity import parse
from ..model.results import Reduction, Remark
from ..model.truth import Truth
from . import atmosphere
from .measured import Taken, take

Valid = Callable[[str], Truth]
"""Observation -> whether its validity conditions were met: present, absent (not valid) or unknown."""


@dataclass(slots=True)
class Admission:
    """Readings while it is asked which of them count."""

    job: OpenJob
    knowledge: Knowledge
    valid: Valid
    values: dict[str, Any]
    remarks: list[Remark] = field(default_factory=list)
    reductions: list[Reduction] = field(default_factory=list)
    altitude_ft: float = 0.0
    altitude_known: bool = False


def admit(job: OpenJob, knowledge: Knowledge, valid: Valid) -> tuple[Taken, list[Remark], list[Reduction]]:
    """The readings that count, what is remarked of the others, and what is known of how a test was taken."""
    desk = Admission(job, knowledge, valid, dict(job.values))
    for by, function in FUNCTIONS.items():
        for item in knowledge.computed.values():
            if item.by == by:
                function(desk, item)
    _valid_only(desk)
    for item in knowledge.computed.values():
        if item.by == "strokes_counted":
            _validity(desk, item)
    taken = take(desk.values, knowledge, job.engine, desk.altitude_ft, desk.altitude_known)
    return taken, desk.remarks, desk.reductions


def place(desk: Admission, by: Computed) -> None:
    """Altitude in feet and whether it is recorded; one that cannot be right is questioned and sea level taken.

    The question is put to the first reading that the place bears on, so that it is seen beside it."""
    where = desk.job.job.place
    touched = next((name for name in by.readings.values() if name in desk.job.values), "place")
    if where.air_temperature:
        try:
            atmosphere.density(0.0, parse(where.air_temperature, unit="degC").to("degC"))
        except HowdeepError as error:
            desk.remarks.append(Remark(touched, "questioned", f"{error}: was it meant in another unit?"))
    if not where.altitude:
        return
    feet = parse(where.altitude, unit="ft").to("ft")
    try:
        atmosphere.pressure_ratio(feet)
    except HowdeepError as error:
        told = f"{error}: was it meant in another unit? Sea level is taken."
        desk.remarks.append(Remark(touched, "questioned", told))
        return
    desk.altitude_ft, desk.altitude_known = feet, True


def refused_on_diesel(desk: Admission, by: Computed) -> None:
    """A reading that misleads on a diesel, with the one to take in its place."""
    name = by.readings["refused"]
    if desk.job.engine.build.fuel == "diesel" and desk.values.pop(name, None) is not None:
        desk.remarks.append(
            Remark(
                name,
                "refused",
                "A wet test on a diesel misleads, and oil in so small a chamber can "
                "lock the engine: measure leakage in its place.",
                by.readings["instead"],
            )
        )


def strokes_counted(desk: Admission, by: Computed) -> None:
    """Readings for which the engine was turned too few times draw no finding."""
    count, least = desk.job.values.get(by.readings["strokes"]), desk.knowledge.limits.get(by.limits["least"])
    few = isinstance(count, (int, float)) and least is not None and count < least.value
    if not few or least is None or desk.values.get(by.readings["first"]) is None:
        return
    for name in (by.readings["first"], by.readings["second"]):
        if desk.values.pop(name, None) is not None:
            desk.remarks.append(
                Remark(
                    name,
                    "not valid",
                    f"Only {count:g} compression strokes; the needle needs at least "
                    f"{least.value:g} to come up. Kept, but no finding is drawn: repeat it.",
                    name,
                )
            )


FUNCTIONS: dict[str, Callable[[Admission, Computed], None]] = {
    "place": place,
    "refused_on_diesel": refused_on_diesel,
    "strokes_counted": strokes_counted,
}
"""Name in the rules -> function, in the order they run."""


def _valid_only(desk: Admission) -> None:
    """Readings whose conditions were not met are left out; conditions that nobody recorded are remarked on."""
    for name in sorted(desk.values):
        observation = desk.knowledge.observations.get(name)
        if observation is None or observation.valid_when is None:
            continue
        truth = desk.valid(name)
        if truth is Truth.ABSENT:
            desk.values.pop(name)
            desk.remarks.append(
                Remark(
                    name,
                    "not valid",
                    f"Not a valid test ({_given(desk, name)}). Kept, but no finding "
                    "is drawn: repeat it in the right way.",
                    name,
                )
            )
        elif truth is Truth.UNKNOWN:
            desk.remarks.append(
                Remark(
                    name,
                    "conditions not recorded",
                    f"Not recorded: {_missing(desk, name)}. The reading is taken as it stands.",
                )
            )


def _validity(desk: Admission, by: Computed) -> None:
    """Whether the test was taken in the right way: yes, no, or nothing where the conditions are not recorded."""
    name, fact = by.readings["first"], by.facts["valid"]
    if desk.job.values.get(name) is None:
        return
    wrong = next((item for item in desk.remarks if item.observation == name and item.kind == "not valid"), None)
    observation = desk.knowledge.observations.get(name)
    if wrong is not None:
        desk.reductions.append(Reduction(fact, "no", wrong.text, "arithmetic"))
    elif observation is not None and observation.valid_when is not None and desk.valid(name) is Truth.PRESENT:
        desk.reductions.append(Reduction(fact, "yes", _given(desk, name), "arithmetic"))


def _conditions(desk: Admission, name: str) -> list[str]:
    """Facts that say whether a test was taken in the right way."""
    when = desk.knowledge.observations[name].valid_when
    return [] if when is None else sorted(facts_read(when))


def _given(desk: Admission, name: str) -> str:
    """The recorded conditions of a test that were not met, as 'title: answer'; all of them where each was."""
    told: dict[str, tuple[bool, str]] = {}
    when = desk.knowledge.observations[name].valid_when
    for part in walk(when) if when is not None else ():
        if not isinstance(part, FactTest):
            continue
        observation, value = desk.knowledge.observations.get(part.fact), desk.job.values.get(part.fact)
        if observation is not None and value is not None:
            shown = (
                observation.answers.get(value, value)
                if isinstance(value, str)
                else f"{value:g} {observation.unit}".strip()
                if isinstance(value, (int, float))
                else f"{value} {observation.unit}".strip()
            )
            told[part.fact] = _met(desk, part), f"{observation.title}: {shown}"
    failed = [text for _, (met, text) in sorted(told.items()) if not met]
    return "; ".join(failed or [text for _, (_, text) in sorted(told.items())]) or "as its conditions ask"


def _met(desk: Admission, part: FactTest) -> bool:
    """Whether a recorded condition is as the test asks."""
    value = desk.job.values.get(part.fact)
    if part.one_of:
        return value in part.one_of
    if not isinstance(value, (int, float)):
        return True
    for comparison, bound in part.bounds:
        limit = desk.knowledge.limits[bound].value if isinstance(bound, str) else bound
        held = {"below": value < limit, "above": value > limit, "at_least": value >= limit, "at_most": value <= limit}
        if not held[comparison]:
            return False
    return True


def _missing(desk: Admission, name: str) -> str:
    """The conditions of a test that were not recorded."""
    titles = [
        desk.knowledge.observations[fact].title
        for fact in _conditions(desk, name)
        if fact in desk.knowledge.observations and desk.job.values.get(fact) is None
    ]
    return ", ".join(titles) or "all of its conditions"
