"""All readings of a job to facts that rules can read, with how each came about and what is to be said of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ..errors import HowdeepError
from ..knowledge.engine_facts import engine_facts
from ..model.condition import facts_read
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.results import Facts, Reduction, Remark
from ..model.truth import Truth
from ..quantity import parse
from . import atmosphere
from .at_teardown import reduce_teardown
from .at_test import reduce_tests
from .order import SizeChoice, choose_sizes
from .questioned import question_values
from .taken import Taken, take

Valid = Callable[[str], Truth]
"""Observation -> whether its validity conditions were met: present, absent (not valid) or unknown."""


def reduce(job: OpenJob, knowledge: Knowledge, valid: Valid) -> Facts:
    """Facts of a job: its answers and readings, how the engine is built, and every reduced fact.

    A reading whose validity is absent, that is refused on this engine or that cannot be right is kept in the job but is
    in neither values nor reductions; a remark says so. Pure: same job and rule base, same facts.
    """
    taken, remarks = _admitted(job, knowledge, valid)
    taken, questioned = question_values(taken)
    found = reduce_tests(taken) + reduce_teardown(taken)
    refused = {remark.observation for remark in found.remarks if remark.kind == "refused"}
    values = {name: value for name, value in taken.values.items() if name not in refused}
    reductions = [*found.reductions, *_validity(job, knowledge, valid, remarks)]
    sheet = [Remark("engine_sheet", "questioned", text) for text in job.sheet_questions]
    everything = sorted(
        (*sheet, *remarks, *questioned, *found.remarks), key=lambda item: (item.observation, item.kind, item.text)
    )
    return Facts(
        values=dict(
            sorted({**values, **engine_facts(job.engine), **{item.fact: item.value for item in reductions}}.items())
        ),
        reductions={item.fact: item for item in sorted(reductions, key=lambda item: item.fact)},
        remarks=tuple(dict.fromkeys(everything)),
    )


def order_sizes(job: OpenJob, knowledge: Knowledge, valid: Valid | None = None) -> Mapping[str, SizeChoice]:
    """Size fact -> what to order, from what it was measured, why not another size, and the second check.

    Only what the measurements decide; questioned and invalid measurements decide nothing. Pure.
    """
    taken, _ = _admitted(job, knowledge, valid or (lambda name: Truth.PRESENT))
    return choose_sizes(question_values(taken)[0])


def _admitted(job: OpenJob, knowledge: Knowledge, valid: Valid) -> tuple[Taken, list[Remark]]:
    """The readings that were taken in the right way on an engine they can be taken on."""
    remarks: list[Remark] = []
    altitude, known = _altitude(job, remarks)
    values = dict(job.values)
    if job.engine.build.fuel == "diesel" and values.pop("compression_wet", None) is not None:
        remarks.append(
            Remark(
                "compression_wet",
                "refused",
                "A wet test on a diesel misleads, and oil in so small a chamber can "
                "lock the engine: measure leakage in its place.",
                "leakage",
            )
        )
    if values.get("compression_dry") is not None and _few_strokes(job, knowledge):
        count = job.values["compression_strokes"]
        least = knowledge.limits["compression_least_strokes"].value
        for name in ("compression_dry", "compression_wet"):
            if values.pop(name, None) is not None:
                remarks.append(
                    Remark(
                        name,
                        "not valid",
                        f"Only {count:g} compression strokes; the needle needs at least "
                        f"{least:g} to come up. Kept, but no finding is drawn: repeat it.",
                        name,
                    )
                )
    for name in sorted(values):
        observation = knowledge.observations.get(name)
        if observation is None or observation.valid_when is None:
            continue
        truth = valid(name)
        if truth is Truth.ABSENT:
            values.pop(name)
            remarks.append(
                Remark(
                    name,
                    "not valid",
                    f"Not a valid test ({_given(job, knowledge, name)}). Kept, but no finding "
                    "is drawn: repeat it in the right way.",
                    name,
                )
            )
        elif truth is Truth.UNKNOWN:
            remarks.append(
                Remark(
                    name,
                    "conditions not recorded",
                    f"Not recorded: {_missing(job, knowledge, name)}. The reading is taken as it stands.",
                )
            )
    return take(values, knowledge, job.engine, altitude, known), remarks


def _altitude(job: OpenJob, remarks: list[Remark]) -> tuple[float, bool]:
    """Altitude in feet and whether it is recorded; one that cannot be right is questioned and sea level taken.

    The question is put to the first reading that the place bears on, so that it is seen beside it."""
    place = job.job.place
    touched = next((name for name in ("compression_dry", "vacuum_level") if name in job.values), "place")
    if place.air_temperature:
        try:
            atmosphere.density(0.0, parse(place.air_temperature, unit="degC").to("degC"))
        except HowdeepError as error:
            remarks.append(Remark(touched, "questioned", f"{error}: was it meant in another unit?"))
    if not place.altitude:
        return 0.0, False
    feet = parse(place.altitude, unit="ft").to("ft")
    try:
        atmosphere.pressure_ratio(feet)
    except HowdeepError as error:
        told = f"{error}: was it meant in another unit? Sea level is taken."
        remarks.append(Remark(touched, "questioned", told))
        return 0.0, False
    return feet, True


def _few_strokes(job: OpenJob, knowledge: Knowledge) -> bool:
    count, least = job.values.get("compression_strokes"), knowledge.limits.get("compression_least_strokes")
    return isinstance(count, (int, float)) and least is not None and count < least.value


def _validity(job: OpenJob, knowledge: Knowledge, valid: Valid, remarks: list[Remark]) -> list[Reduction]:
    """The fact compression.valid: yes, no, or nothing where the conditions are not recorded."""
    if job.values.get("compression_dry") is None:
        return []
    wrong = next((item for item in remarks if item.observation == "compression_dry" and item.kind == "not valid"), None)
    if wrong is not None:
        return [Reduction("compression.valid", "no", wrong.text, "arithmetic")]
    observation = knowledge.observations.get("compression_dry")
    if observation is None or observation.valid_when is None or valid("compression_dry") is not Truth.PRESENT:
        return []
    return [
        Reduction(
            "compression.valid",
            "yes",
            f"taken in the right way: {_given(job, knowledge, 'compression_dry')}",
            "arithmetic",
        )
    ]


def _given(job: OpenJob, knowledge: Knowledge, name: str) -> str:
    """The recorded conditions of a test, as 'title: answer'."""
    told = []
    for fact in _conditions(knowledge, name):
        observation, value = knowledge.observations.get(fact), job.values.get(fact)
        if observation is not None and value is not None:
            shown = (
                observation.answers.get(value, value)
                if isinstance(value, str)
                else f"{value} {observation.unit}".strip()
            )
            told.append(f"{observation.title}: {shown}")
    return "; ".join(told) or "as its conditions ask"


def _conditions(knowledge: Knowledge, name: str) -> list[str]:
    """Facts that the conditions of a valid test read, in order."""
    wanted = knowledge.observations[name].valid_when
    return [] if wanted is None else sorted(facts_read(wanted))


def _missing(job: OpenJob, knowledge: Knowledge, name: str) -> str:
    """The conditions of a test that were not recorded."""
    titles = [
        knowledge.observations[fact].title
        for fact in _conditions(knowledge, name)
        if fact in knowledge.observations and job.values.get(fact) is None
    ]
    return ", ".join(titles) or "all of its conditions"
