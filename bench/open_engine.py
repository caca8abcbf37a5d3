"""Every fault that the open engine can show, laid on every worked case that allows it.

What was seen, measured or tried on the open engine is the fault itself. However much the interview denied it, it has to
be believed, and the work that is recommended has to cure it; or the answer has to say aloud that the two do not agree.
"""

from __future__ import annotations

import dataclasses
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import cured_by, prepare
from howdeep.assessment.session import Shop
from howdeep.beliefs.frames import frame_of
from howdeep.beliefs.misfits import misfits_of
from howdeep.beliefs.questions import all_facts, showing
from howdeep.cases.run import case_files
from howdeep.decision.answer_kind import with_kind
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.job import OpenJob
from howdeep.model.knowledge import Knowledge
from howdeep.work.rules import rules_for

BELIEVED = 0.95
"""What the open engine shows has to be believed so far."""


@dataclasses.dataclass(frozen=True, slots=True)
class Laid:
    """One direct finding laid on one case."""

    case: str
    finding: str
    causes: tuple[str, ...]
    """Causes that the finding names, the likeliest first."""
    believed: float
    """Chance of the cause; of a finding that several causes bring, that one of them has a hand in it."""
    kind: str
    """Kind of answer once nothing more is checked."""
    job: str
    cured: bool
    """Whether the recommended work cures the likeliest of the causes, or one that shows it the most often."""
    said: bool
    """Whether the answer says aloud that what is seen and what was told do not agree."""

    @property
    def fault(self) -> str:
        """What is wrong with it; empty where nothing is."""
        where = f"{self.case}: {self.finding}"
        if self.believed < BELIEVED:
            return f"{where}: {self.causes[0]} is believed {self.believed:.3f}"
        if not self.cured and not self.said and self.kind != "stop":
            return f"{where}: {self.job} ({self.kind}) does not cure {self.causes[0]}"
        return ""


def direct_findings(knowledge: Knowledge) -> tuple[str, ...]:
    """Findings that are the fault itself, seen, measured or tried on the open engine."""
    return tuple(
        name
        for name, finding in knowledge.findings.items()
        if finding.direct and finding.explained_by and _on_the_open_engine(knowledge, name)
    )


def _on_the_open_engine(knowledge: Knowledge, finding: str) -> bool:
    moments = {knowledge.observations[name].moment for name in _behind(knowledge, finding)}
    return moments == {"teardown"}


def _behind(knowledge: Knowledge, finding: str) -> set[str]:
    """Observations behind the facts that a finding reads."""
    return {
        name
        for fact in all_facts(knowledge, finding)
        if not fact.startswith("engine.")
        for name in (knowledge.reduced[fact].taken_from if fact in knowledge.reduced else (fact,))
        if name in knowledge.observations
    }


def pairs_of(shop: Shop, folder: Path) -> Iterator[tuple[str, OpenJob, str, dict[str, Any]]]:
    """(case, job, finding, facts that show it) wherever nothing in the case answers those facts already."""
    knowledge = shop.knowledge
    shown: dict[tuple[Any, str], dict[str, Any] | None] = {}
    for path in case_files(folder):
        job = shop.open_job(path)
        built = engine_facts(job.engine)
        causes = set(frame_of(knowledge, built).causes)
        for finding in direct_findings(knowledge):
            key = job.engine.build, finding
            if key not in shown:
                shown[key] = showing(knowledge, built, finding)
            facts = shown[key]
            if facts is None or not causes & knowledge.findings[finding].explained_by.keys():
                continue
            if any(name in job.values for name in _behind(knowledge, finding)):
                continue
            yield path.stem, job, finding, facts


def lay(shop: Shop, case: str, job: OpenJob, finding: str, shown: dict[str, Any]) -> Laid:
    """What is answered of a case on which the open engine shows a fault."""
    knowledge = shop.knowledge
    built = engine_facts(job.engine)
    facts, _ = facts_of(knowledge, job)
    facts = dataclasses.replace(facts, values={**facts.values, **shown})
    laid = dataclasses.replace(job, values={**job.values, **dict.fromkeys(sorted(_behind(knowledge, finding)))})
    ready = prepare(knowledge, laid, facts, evaluate_all(knowledge, facts.values), shop.prices, steps=True)
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, ())
    odds = ready.beliefs.odds()
    causes = tuple(
        sorted(odds.keys() & knowledge.findings[finding].explained_by.keys(), key=lambda name: (-odds[name], name))
    )
    if len(causes) == 1:
        believed = odds[causes[0]]
    else:
        told_by = ready.signs.already.get(finding, finding)  # an answer that lies inside it may be named in its place
        believed = 1 - max((item.nothing for item in ready.beliefs.unexplained if item.finding == told_by), default=1.0)
    job_key = decision.job
    if decision.afterwards == "look_inside":  # nothing is promised yet: what follows is the cheapest job that will do
        reaching = [line for line in decision.jobs if line.enough >= decision.floor and line.expected is not None]
        job_key = min(reaching, key=lambda line: line.expected).job if reaching else decision.job
    named = knowledge.findings[finding].explained_by
    itself = {cause for cause in causes if named[cause] == max(named.values(), key=knowledge.settings.words.get)}
    cured = cured_by(knowledge, rules_for(knowledge, job.engine, built), ready.works[job_key])
    return Laid(
        case,
        finding,
        causes,
        believed,
        decision.afterwards,
        job_key,
        bool({causes[0], *itself} & cured) or job_key == "replace",
        any(
            misfit.finding == finding
            for misfit in misfits_of(ready.evidence, ready.beliefs, knowledge.settings.telling.denied_decibans)
        ),
    )


def opened(shop: Shop, folder: Path, most: int, random: np.random.Generator) -> list[str]:
    """Every fault of the open engine on every case (at most so many, drawn); what is wrong."""
    started = time.perf_counter()
    todo = list(pairs_of(shop, folder))
    if len(todo) > most:
        todo = [todo[index] for index in sorted(random.choice(len(todo), most, replace=False))]
    laid = [lay(shop, *item) for item in todo]
    faults = [item.fault for item in laid if item.fault]
    kinds = Counter(item.kind for item in laid)
    print(
        f"open engine  {len(laid):,} faults laid on {len({item.case for item in laid})} cases; least believed "
        f"{min((item.believed for item in laid), default=1.0):.3f}; "
        f"{sum(not item.cured for item in laid)} not in the work, {sum(item.said for item in laid)} said to "
        "disagree; "
        f"{', '.join(f'{count} {kind}' for kind, count in sorted(kinds.items()))}; {len(faults)} faults; "
        f"{time.perf_counter() - started:.1f} s"
    )
    return faults
