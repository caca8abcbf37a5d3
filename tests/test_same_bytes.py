"""The same job gives the same answer, byte for byte, in whatever order it and the rules are written."""

from __future__ import annotations

import dataclasses

import pytest

from howdeep.assessment.assess import assess
from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases


def turned(mapping):
    return dict(reversed(mapping.items()))


@pytest.mark.parametrize("path", case_files(shipped_cases())[::60], ids=lambda path: path.stem)
def test_the_order_of_answers_and_of_what_findings_name_changes_no_byte(shop, path):
    job = shop.open_job(path)
    other = dataclasses.replace(job, values=turned(job.values))
    first = dataclasses.replace(shop.assess(job, flips=False), job=None)
    assert repr(dataclasses.replace(shop.assess(other, flips=False), job=None)) == repr(first)
    knowledge = shop.knowledge
    rules = dataclasses.replace(
        knowledge,
        findings={
            name: dataclasses.replace(finding, explained_by=turned(finding.explained_by))
            for name, finding in knowledge.findings.items()
        },
    )
    again = assess(rules, other, shop.prices, flips=False)
    without = dataclasses.replace(first, used=None, doubts=())  # the shop's words
    assert repr(dataclasses.replace(again, job=None)) == repr(without)
