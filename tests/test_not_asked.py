"""An answer to a question that an engine built like this one is not asked counts for nothing, and is said."""

import pytest

from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import prepare
from howdeep.job import write
from howdeep.job.read import open_text
from howdeep.knowledge.engine_facts import count_of, engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.logic.applicability import applies
from howdeep.logic.evaluate import evaluate_all
from howdeep.show.doubts import doubt_lines, overlooked


def alien_answers(shop, name):
    """One choice answer, the most telling one, for each question that the engine is not asked."""
    engine = load_engine(find(name, shop.folders))
    for key, item in sorted(shop.knowledge.observations.items()):
        if (
            item.kind == "choice"
            and not applies(item, engine_facts(engine))
            and (not item.each or count_of(engine, item.each))
        ):
            yield key, next(answer for answer in reversed(item.answers) if answer not in item.sound)


@pytest.mark.parametrize("name", sheet_ids([shipped_rules()]))
def test_an_alien_answer_moves_nothing_and_is_said(shop, name):
    bare = shop.assess(
        open_text(f"howdeep_job: 1\nengine: {name}\n", "bare", shop.folders[0], shop.knowledge, shop.folders),
        flips=False,
        checks=False,
    )
    tried = list(alien_answers(shop, name))[::4]
    assert tried
    for key, value in tried:
        plain = write.with_answer(shop.knowledge, key, {1: value} if shop.knowledge.observations[key].each else value)(
            write.new_job(name, title="alien")
        )
        job = open_text(write.text_of(plain), "alien", shop.folders[0], shop.knowledge, shop.folders)
        answer = shop.assess(job, flips=False, checks=False)
        assert answer.dropped == (key,)
        assert answer.beliefs == bare.beliefs and answer.decision.ladder == bare.decision.ladder, key
        said = f"{shop.knowledge.observations[key].title}: not asked of an engine built like this one"
        for sentences in (
            [line.told for line in doubt_lines(shop.knowledge, answer)],
            overlooked(shop.knowledge, answer),
        ):
            assert any(line.startswith(said) for line in sentences), sentences


def test_what_stands_open_by_an_alien_answer_does_not_stand_open(shop):
    plain = write.with_answer(shop.knowledge, "shims_left", "none")(write.new_job("skerry-6", title="alien"))
    job = open_text(write.text_of(plain), "alien", shop.folders[0], shop.knowledge, shop.folders)
    facts, dropped = facts_of(shop.knowledge, job)
    ready = prepare(shop.knowledge, job, facts, evaluate_all(shop.knowledge, facts.values), shop.prices, steps=False)
    assert dropped == ("shims_left",) and ready.case.opened == ()
