"""The trace names the limit that judged: the engine sheet's or a general one, both where both did."""

import dataclasses
import itertools

import pytest

from howdeep.assessment.explain import explain
from howdeep.assessment.facts import facts_of
from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases
from howdeep.readings.figures import Figure
from howdeep.readings.judge import VERDICTS, judge


def test_the_figure_that_decided_is_the_one_named():
    """Every verdict, with each figure's own basis: taking away the figures not named leaves the verdict as it is."""
    met = set()
    for measured, low, new, limit in itertools.product(
        (0.5, 1.5, 2.5, 3.0, 4.0), (None, 1.0), (None, 2.0), (None, 3.0)
    ):
        figures = {"low": low, "new": new, "limit": limit}
        given = {name: Figure(value, "in", f"the {name}") for name, value in figures.items() if value is not None}
        whole = judge(measured, "in", error=0.1, **given)
        if whole.verdict is None:
            continue
        named = {name: item for name, item in given.items() if item.basis in whole.basis}
        left = judge(measured, "in", error=0.1, **named)
        assert left.verdict == whole.verdict, (measured, given, whole.basis)
        met.add((whole.verdict, whole.basis))
    assert {
        ("good", "the new"),
        ("beyond", "the limit"),
        ("too_close", "the limit"),
        ("tight", "the low"),
        ("usable", "the limit and the new"),
    } <= met


@pytest.fixture(scope="module")
def opened(shop):
    """Every worked case with something measured on the open engine."""
    found = {}
    for path in case_files(shipped_cases()):
        job = shop.open_job(path)
        if any(shop.knowledge.observations[name].moment == "teardown" for name in job.values):
            found[path.stem] = job
    assert len(found) > 60
    return found


def last(value):
    """The worst word of a verdict, which is what calls for work."""
    words = {word for word in (value if isinstance(value, tuple) else (value,)) if word is not None}
    return max(words & set(VERDICTS), key=VERDICTS.index, default=None), words - set(VERDICTS)


def test_over_every_opened_case_the_general_limits_named_are_those_that_decide(shop, opened):
    """Without the general limits that are not named, a verdict is what it was."""
    knowledge, seen = shop.knowledge, {"sheet": 0, "general": 0, "both": 0}
    kept = {"bore_limit_share_usable", "journal_polish_to", "journal_wear", "journal_regrind_most"}  # shares, no limits
    for case, job in opened.items():
        facts, _ = facts_of(knowledge, job)
        judged = {
            name: item
            for name, item in facts.reductions.items()
            if name.endswith("verdict") and knowledge.reduced[name].worsens
        }
        for basis in {item.basis for item in judged.values()}:
            named = {part.removeprefix("general limit ") for part in basis.split(" and ")}
            limits = {name: item for name, item in knowledge.limits.items() if name in named | kept}
            bare, _ = facts_of(dataclasses.replace(knowledge, limits=limits), job)
            for name, item in judged.items():
                if item.basis != basis:
                    continue
                again = bare.reductions.get(name)
                assert again is not None and last(again.value) == last(item.value), (case, name, basis)
                kind = "sheet" if basis == "engine sheet" else "both" if "engine sheet" in basis else "general"
                seen[kind] += 1
    assert min(seen["sheet"], seen["general"]) > 10, seen


def test_why_tells_the_limit_that_judged(shop, opened):
    told = 0
    for job in list(opened.values())[::12]:
        answer = shop.assess(job, checks=False, flips=False)
        for firing in answer.conclusions.firings:
            used = [name for name, _ in firing.matched if name in answer.facts.reductions and name.endswith("verdict")]
            for name in used:
                leaves = [
                    leaf.text
                    for branch in explain(shop.knowledge, answer, firing.rule).chains
                    for leaf in branch.leaves()
                ]
                basis = answer.facts.reductions[name].basis
                told += any(basis in text for text in leaves)
    assert told > 5
