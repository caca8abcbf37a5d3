"""Small made-up rule bases as values: choice questions, findings that read them, lines of evidence."""

from __future__ import annotations

import dataclasses
from typing import Any

from howdeep.beliefs.frames import network_of
from howdeep.beliefs.signs import signs_of
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.causes import Cause, Finding, Line
from howdeep.model.condition import FactTest
from howdeep.model.engine import Engine, Fit
from howdeep.model.knowledge import Knowledge, Settings
from howdeep.model.observations import Observation
from howdeep.model.operations import Step
from howdeep.model.prices import PriceList

from .bench_readings import build

SETTINGS = Settings(
    words={
        "never": 0.002,
        "rarely": 0.05,
        "sometimes": 0.2,
        "half the time": 0.5,
        "usually": 0.8,
        "nearly always": 0.95,
    },
    base_words={"exceptional": 0.004, "rare": 0.015, "uncommon": 0.04, "common": 0.1, "very common": 0.2},
    misread={"instrument": 0.02, "look": 0.02, "word": 0.02, "hearsay": 0.02},
    include_at=0.35,
    source=(),
)
ENGINE = Engine(
    name="A made-up four",
    build=build(bearings="babbitt", rear_seal_needs="pan_off", oiling="splash", oil_gauge="no", cooling="thermosiphon"),
    bore=Fit(),
    stroke="4 in",
    firing_order=(1, 3, 4, 2),
)
PRICES = PriceList(
    name="Made-up prices",
    date="2024-01-01",
    currency="USD",
    labour_rate="60.00",
    parts={},
    machine={},
    comeback_charge="150.00",
    growth_factor="1.15",
    risk={"some": "5.00"},
)


def knowledge_of(**kinds: Any) -> Knowledge:
    """A rule base with only the kinds given; all others empty."""
    empty = [item.name for item in dataclasses.fields(Knowledge) if item.name not in ("version", "settings")]
    filled = {kind: dict(sorted((kinds.get(kind) or {}).items())) for kind in empty}
    return Knowledge(version="made up", settings=kinds.get("settings", SETTINGS), **filled)


def cause(base="common", applies=None) -> Cause:
    return Cause(
        title="a cause",
        plain="",
        system="rings",
        base=base,
        cured_by=(),
        seen_at=(Step("refresh"),),
        because="",
        source=(),
        applies=applies,
    )


def question(*answers: str, moment="test", minutes=6.0, **more: Any) -> Observation:
    return Observation(
        title="a question",
        ask="?",
        moment=moment,
        group="g",
        kind="choice",
        answers={answer: f"it is {answer}" for answer in answers},
        minutes=minutes,
        **more,
    )


def finding(when: Any, otherwise="rarely", **explained_by: str) -> Finding:
    return Finding(
        title="a finding",
        when=when,
        because="",
        fooled_by="",
        source=(),
        explained_by=explained_by,
        otherwise=otherwise if explained_by else None,
    )


def line(*findings: str) -> Line:
    return Line(title="a story", findings=findings, because="")


def is_(fact: str, *answers: str, **more: Any) -> FactTest:
    return FactTest(fact, one_of=answers, **more)


def facts_of(answers: dict[str, Any], engine: Engine = ENGINE) -> dict[str, Any]:
    return {**engine_facts(engine), **answers}


def reason(knowledge: Knowledge, answers: dict[str, Any], engine: Engine = ENGINE):
    """(facts, findings, signs that count, network) for some answers."""
    facts = facts_of(answers, engine)
    findings = evaluate_all(knowledge, facts)
    network = network_of(knowledge, engine_facts(engine), facts, findings)
    return facts, findings, signs_of(network, knowledge, facts, findings), network


def random_knowledge(rng, causes=6, questions=6, lines=1) -> Knowledge:
    """Causes c0.., questions o0.. with 2 or 3 answers, one finding for each answer but the last; some lines."""
    words = list(SETTINGS.words)
    names = [f"c{i}" for i in range(causes)]
    observations, findings, found = {}, {}, []
    for number in range(questions):
        answers = (*("a", "b", "none")[: int(rng.integers(2, 4)) - 1], "none")
        observations[f"o{number}"] = question(*dict.fromkeys(answers), minutes=float(rng.integers(1, 30)))
        for answer in dict.fromkeys(answers[:-1]):
            explained = {
                names[int(i)]: words[int(rng.integers(1, 6))]
                for i in rng.choice(causes, size=int(rng.integers(1, 4)), replace=False)
            }
            name = f"f{number}{answer}"
            findings[name] = finding(is_(f"o{number}", answer), words[int(rng.integers(0, 3))], **explained)
            found.append(name)
    told = {
        f"l{number}": line(*[found[int(i)] for i in rng.choice(len(found), size=3, replace=False)])
        for number in range(lines)
    }
    bases = list(SETTINGS.base_words)
    return knowledge_of(
        causes={name: cause(bases[int(rng.integers(1, 5))]) for name in names},
        observations=observations,
        findings=findings,
        lines=told,
    )
