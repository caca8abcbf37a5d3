"""An unchanged job gives an empty change sheet, for every job that could be promised; the whole runs in a bench."""

import pytest

from howdeep.cases.run import case_files
from howdeep.errors import HowdeepError
from howdeep.knowledge.where import shipped_cases
from howdeep.quote.build import build_quote
from howdeep.quote.jobs import asked_for, is_only, key_for, rung_of

from .unchanged import broken

SAMPLE = case_files(shipped_cases())[::25]


@pytest.mark.parametrize("path", SAMPLE, ids=lambda path: path.stem[:40])
def test_nothing_has_changed_and_nothing_is_asked_for(shop, path):
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    assert list(broken(shop, answer)) == []


def test_a_quote_is_for_the_job_of_the_answer_unless_another_is_asked_for(shop):
    """By default the job that the answer speaks of, with a scope its package, with `only` the targeted job there."""
    smaller = 0
    for path in SAMPLE[::2]:
        answer = shop.assess(shop.open_job(path), checks=False, flips=False)
        knowledge = shop.knowledge
        assert build_quote(knowledge, answer, shop.prices).job == answer.decision.job
        assert asked_for(knowledge, answer, None, only=False) == answer.decision.job
        for rung in knowledge.scopes:
            assert asked_for(knowledge, answer, rung, only=False) == rung
            key = key_for(rung, only=True)
            if key in answer.works and is_only(key):
                assert asked_for(knowledge, answer, rung, only=True) == key and rung_of(key) == rung
                quote = build_quote(knowledge, answer, shop.prices, key)
                assert quote.subtotal == answer.decision.line(key).price and "only what cures it" in quote.title
                smaller += 1
            elif is_only(key):
                with pytest.raises(HowdeepError, match="no smaller job"):
                    asked_for(knowledge, answer, rung, only=True)
    assert smaller
