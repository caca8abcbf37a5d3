"""What is recommended cures something that is suspected, and opens nothing for next to no more hope."""

import pytest

from howdeep.casebook.read import read_handbooks
from howdeep.decision.recommend import SHALLOW
from howdeep.knowledge.where import shipped_handbooks
from howdeep.model.terms import RUNGS


@pytest.fixture(scope="module")
def told(shop):
    """Every sixth published entry as a job, the complaint and its sign alone, with its answer."""
    entries = [entry for entry in read_handbooks(shipped_handbooks(), shop.knowledge, shop.folders) if entry.job]
    return {entry.name: shop.assess(entry.job, checks=False, flips=False) for entry in entries[::6]}


def suspicion_cured(shop, answer, job):
    """Sum of the hands of the causes that a job's sure work cures."""
    done = {item.operation for item in answer.works[job].items if not item.if_found}
    done |= {other for name in done for other in shop.knowledge.operations[name].instead_of}
    return sum(belief.hand for belief in answer.beliefs if done & set(shop.knowledge.causes[belief.cause].cured_by))


def test_a_job_that_cures_next_to_nothing_is_not_recommended_where_another_cures_something(shop, told):
    seen = 0
    for name, answer in told.items():
        if answer.decision.afterwards in ("can_wait", "stop") or not answer.counted.present:
            continue
        job = answer.decision.job
        if suspicion_cured(shop, answer, job) < 0.05:
            others = [
                line.job
                for line in answer.decision.jobs
                if line.rung != "replace"
                and line.enough >= 0.3
                and suspicion_cured(shop, answer, line.job) >= 0.2
                and RUNGS.index(line.rung) <= RUNGS.index("top_end")
            ]
            assert not others, (name, job, others)
        seen += 1
    assert seen >= 15


def test_no_engine_is_opened_for_next_to_no_more_hope(told, shop):
    opened = 0
    for name, answer in told.items():
        line = answer.decision.line(answer.decision.job)
        depth = RUNGS.index(line.rung)
        if depth <= SHALLOW or answer.decision.afterwards in ("stop", "look_inside") or not answer.counted.present:
            continue  # what is looked at first is told with what likely follows
        opened += 1
        for other in answer.decision.ladder[:depth]:
            more = line.enough - other.enough
            assert other.expected > line.expected or more >= shop.knowledge.settings.deciding.adds - 1e-9, (
                name,
                line.job,
                other.rung,
            )
    assert opened >= 2
