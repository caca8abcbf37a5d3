"""A made-up shop: jobs with known truth, drawn from frequencies that differ from the rule base's.

Every engine gets faults, its signs are drawn from the shop's own frequencies, answers are chosen to fit the signs, and
what was there is written down for the causes that were looked at. All of it is invented.
"""

from __future__ import annotations

import argparse
import dataclasses
import random
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from howdeep.assessment.quick import quick_answer
from howdeep.assessment.session import Shop, open_shop
from howdeep.files.plain_yaml import dump
from howdeep.job.read import open_text
from howdeep.job.sections import section_of
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine
from howdeep.logic.applicability import applies
from howdeep.model.condition import FactTest
from howdeep.model.knowledge import Knowledge
from howdeep.model.terms import RUNGS, WORDS

ENGINES = ("brockwell-4", "tarn-30")
MISTAKEN = 0.03


def own_frequencies(knowledge: Knowledge, share: float, seed: int) -> Knowledge:
    """The rule base as it would be if this shop's engines behaved otherwise: a share of the words two steps off."""
    rng = random.Random(seed)
    findings = {}
    for name, finding in knowledge.findings.items():
        moved = {}
        for cause, word in finding.explained_by.items():
            place = WORDS.index(word)
            if rng.random() < share and word != "never":
                place = max(1, place - 2) if place >= 3 else min(len(WORDS) - 1, place + 2)
            moved[cause] = WORDS[place]
        findings[name] = dataclasses.replace(finding, explained_by=moved)
    return dataclasses.replace(knowledge, findings=findings)


def simple_findings(knowledge: Knowledge) -> dict[str, dict[str, frozenset[str]]]:
    """Talk question -> {finding -> answers that make it present}, for findings that rest on that one answer alone."""
    result: dict[str, dict[str, frozenset[str]]] = {}
    for name, finding in knowledge.findings.items():
        test = finding.when
        if isinstance(test, FactTest) and test.one_of and finding.explained_by:
            item = knowledge.observations.get(test.fact)
            if item and item.kind == "choice" and not item.each and item.moment == "talk":
                result.setdefault(test.fact, {})[name] = frozenset(test.one_of)
    return result


ASKED = 0.4
"""Share of the questions that a shop in a hurry asks."""


def drawn_job(
    knowledge: Knowledge,
    truth: Knowledge,
    questions: Mapping[str, Mapping[str, frozenset[str]]],
    engine: Any,
    rng: random.Random,
) -> tuple[dict[str, str], frozenset[str]]:
    """(answers, causes present) of one engine."""
    facts = engine_facts(engine)
    base = knowledge.settings.base_words
    causes = [name for name, item in knowledge.causes.items() if applies(item, facts)]
    present = {name for name in causes if rng.random() < base[truth.causes[name].base]}
    if not present:
        present = {rng.choice(causes)}
    words = knowledge.settings.words
    answers: dict[str, str] = {}
    for question, findings in questions.items():
        item = knowledge.observations[question]
        if not applies(item, facts) or rng.random() > ASKED:
            continue
        shown = {}
        for name in findings:
            finding = truth.findings[name]
            dark = 1 - words[finding.otherwise or "never"]
            for cause in finding.explained_by.keys() & present:
                dark *= 1 - words[finding.explained_by[cause]]
            shown[name] = rng.random() > dark
        fits = {answer: sum((answer in findings[name]) == shown[name] for name in findings) for answer in item.answers}
        best = max(fits.values())
        chosen = rng.choice([answer for answer in item.answers if fits[answer] == best])
        answers[question] = rng.choice(list(item.answers)) if rng.random() < MISTAKEN else chosen
    return answers, frozenset(present)


def write_jobs(
    folder: Path, count: int, seed: int, *, promises: bool = False, share: float = 0.25, shop: Shop | None = None
) -> Knowledge:
    """Write closed jobs to a folder; returns the rule base that they were drawn from.

    `promises` stores in each the promise of today's rule base (odds and chances; a short one, without the quote).
    """
    shop = shop or open_shop(example_prices=True)
    knowledge = shop.knowledge
    truth = own_frequencies(knowledge, share, seed)
    questions = simple_findings(knowledge)
    rng = random.Random(seed)
    engines = {name: load_engine(find(name, shop.folders)) for name in ENGINES}
    needs = {}
    folder.mkdir(parents=True, exist_ok=True)
    kept: dict[str, Any] | None = None
    for index in range(count):
        name = ENGINES[index % len(ENGINES)]
        answers, present = drawn_job(knowledge, truth, questions, engines[name], rng)
        plain: dict[str, Any] = {"howdeep_job": 1, "title": f"Invented job {index}", "engine": name}
        for question, answer in answers.items():
            plain.setdefault(section_of(knowledge.observations[question]), {})[question] = answer
        facts = engine_facts(engines[name])
        looked = [
            cause
            for cause, item in knowledge.causes.items()
            if applies(item, facts) and (cause in present or rng.random() < 0.5)
        ]
        if promises and (kept is None or index % 50 == 0):
            # a fresh promise for every fiftieth job keeps the making of ten thousand files short
            job = open_text(dump(plain), "x", folder, knowledge, shop.folders, engines[name])
            quick = quick_answer(knowledge, job, shop.prices)
            kept = {
                "date": "2026-01-05",
                "rule_base": knowledge.version,
                "rung": quick.rung,
                "recommended": quick.rung,
                "enough": {rung: round(chance, 6) for rung, chance in quick.enough.items()},
                "causes": {cause: round(chance, 6) for cause, chance in quick.odds.items()},
            }
        if name not in needs:
            from howdeep.assessment.prepared import levels_of
            from howdeep.work.rules import work_rules

            needs[name] = levels_of(knowledge, work_rules(knowledge, facts), facts)[0]
        deepest = max((RUNGS.index(needs[name][cause]) for cause in present), default=0)
        if promises:
            plain["promises"] = {"first": kept}
        plain["found"] = {
            "date": "2026-02-01",
            "scope_done": RUNGS[deepest],
            "came_back": "no",
            "causes": {cause: "present" if cause in present else "absent" for cause in looked},
        }
        (folder / f"job-{index:05d}.yaml").write_text(dump(plain))
    return truth


def main() -> None:
    """Write a folder of jobs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--jobs", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--promises", action="store_true")
    options = parser.parse_args()
    write_jobs(options.folder, options.jobs, options.seed, promises=options.promises)
    print(f"{options.jobs} invented jobs in {options.folder}", file=sys.stderr)


if __name__ == "__main__":
    main()
