"""The noisy-OR network of one engine: causes with their odds, and how often each cause shows each finding.

Causes are independent beforehand. Finding f is absent with probability (1 - leak_f) x the product over the causes
present of (1 - q_cf) (Pearl 1988; in diagnosis, Heckerman 1989). Every finding also carries a small chance e of having
been misreported or misread: leak' = 1 - (1 - leak)(1 - e) and q' = q(1 - e), which stays a noisy-OR.

A *direct* finding is the fault itself, seen, measured or tried. On the open engine (a guide past its limit under the
dial) it is hardly ever mistaken, so that no heap of weak outside signs outweighs it; from outside (a thermostat in the
hand, timing by the mark) it is misread as seldom as a sign on the open engine.

No probability is ever 0 or 1: evidence can then never be impossible, and every derivative is finite.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..model.condition import facts_read, findings_read
from ..model.knowledge import Knowledge, Settings
from ..model.truth import Truth
from .condition import evaluate
from .construction import applies
from .order import once_per_value

LEAST = 1e-6
"""No prior, leak or 1 - q is nearer to 0 or 1 than this."""


SEEN_OPEN = 0.1
"""What lies open on the bench, or is tried from outside and is the fault itself, is misread this share as often as an
answer or an outside sign (judgement)."""


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Causes and findings in order of id. Arrays are never written to."""

    causes: tuple[str, ...]
    findings: tuple[str, ...]
    base: np.ndarray
    """[causes] probability from the base word alone."""
    history: tuple[tuple[str, tuple[tuple[int, float], ...]], ...]
    """(history rule that is present, ((cause number, decibans), ...)), in order of id."""
    prior: np.ndarray
    """[causes] probability with history."""
    link_word: np.ndarray
    """[causes, findings] number of the frequency word + 1; 0 where the cause does not show the finding."""
    leak_word: np.ndarray
    """[findings] number of the frequency word of `otherwise`."""
    word_values: tuple[float, ...]
    """Probability of each frequency word."""
    words: tuple[str, ...]
    """The frequency words."""
    misread: float
    q: np.ndarray
    """[causes, findings] chance that the cause, present, shows the finding; misreading applied; 0 where none."""
    leak: np.ndarray
    """[findings] chance that the finding is seen with none of its causes; misreading applied."""
    doubt: np.ndarray | None = None
    """[findings] misreading of each finding as a share of `misread`; None where it is alike for all."""
    direct: np.ndarray | None = None
    """[findings] which are direct; None where none is."""

    def misread_of(self, finding: int) -> float:
        """Chance that this finding was misread."""
        return self.misread if self.doubt is None else float(self.misread * self.doubt[finding])


def network_of(knowledge: Knowledge, engine_facts: Mapping[str, Any], facts: Mapping[str, Any],
               findings: Mapping[str, Truth]) -> Network:
    """The network of an engine built as `engine_facts` say, with the history that `facts` tell.

    `facts` are answers and reduced readings (engine facts are added), `findings` what the rules concluded of them.
    """
    key = tuple(sorted(engine_facts.items()))
    frames = _frames(knowledge)
    if key not in frames:
        frames[key] = _without_history(knowledge, engine_facts)
    return with_history(frames[key], knowledge, {**engine_facts, **facts}, findings)


@once_per_value(keep=4)
def _frames(knowledge: Knowledge) -> dict[tuple, Network]:
    """Networks without history, made once for each way of building an engine."""
    return {}


def _without_history(knowledge: Knowledge, engine_facts: Mapping[str, Any]) -> Network:
    settings = knowledge.settings
    causes = tuple(name for name in sorted(knowledge.causes) if applies(knowledge.causes[name], engine_facts))
    names = tuple(name for name in sorted(knowledge.findings) if knowledge.findings[name].explained_by)
    words = tuple(settings.words)
    number = {cause: index for index, cause in enumerate(causes)}
    link_word = np.zeros((len(causes), len(names)), dtype=np.int8)
    leak_word = np.zeros(len(names), dtype=np.int8)
    for column, name in enumerate(names):
        finding = knowledge.findings[name]
        leak_word[column] = words.index(finding.otherwise or "never")
        for cause, word in finding.explained_by.items():
            if cause in number:
                link_word[number[cause], column] = words.index(word) + 1
    base = np.clip([settings.base_words[knowledge.causes[name].base] for name in causes], LEAST, 1 - LEAST)
    direct = np.array([knowledge.findings[name].direct for name in names], dtype=bool)
    opened = np.array([_rests_on_teardown(knowledge, name) for name in names], dtype=bool)
    surely = settings.direct_mistaken / settings.misread if settings.misread else 0.0
    doubt = np.where(opened & direct, surely, np.where(opened | direct, SEEN_OPEN, 1.0))
    network = Network(causes, names, base, (), base, link_word, leak_word, (), words, settings.misread, base, base,
                      doubt, direct)
    return with_words(network, settings)


def with_words(network: Network, settings: Settings) -> Network:
    """The same network with other numbers for the frequency words or another chance of misreading."""
    values = tuple(settings.words[word] for word in network.words)
    findings = len(network.findings)
    direct = np.zeros(findings, dtype=bool) if network.direct is None else network.direct
    sure = 1 - settings.misread * (np.ones(findings) if network.doubt is None else network.doubt)
    shown = np.array([0.0, *values])[network.link_word]
    never = np.array(values)[network.leak_word]
    if direct.any():
        highest, lowest = values.index(max(values)) + 1, values.index(min(values))
        shown = np.where(direct & (network.link_word == highest), settings.direct_shown, shown)
        never = np.where(direct & (network.leak_word == lowest), 0.0, never)
    q = np.minimum(shown * sure, 1 - LEAST)
    leak = np.clip(1 - (1 - never) * sure, LEAST, 1 - LEAST)
    return replace(network, word_values=values, misread=settings.misread, q=q, leak=leak)


def _rests_on_teardown(knowledge: Knowledge, finding: str) -> bool:
    """Whether a finding reads only what was seen or measured on the open engine."""
    facts = facts_read(knowledge.findings[finding].when)
    taken = [name for fact in facts for name in (
        knowledge.reduced[fact].taken_from if fact in knowledge.reduced else (fact,))]
    return bool(taken) and not findings_read(knowledge.findings[finding].when) and all(
        name in knowledge.observations and knowledge.observations[name].moment == "teardown" for name in taken)


def with_history(network: Network, knowledge: Knowledge, facts: Mapping[str, Any],
                 findings: Mapping[str, Truth]) -> Network:
    """The same network with the history rules that are present: each shifts base odds by so many decibans."""
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    number = {cause: index for index, cause in enumerate(network.causes)}
    told = []
    for name in sorted(knowledge.history):
        rule = knowledge.history[name]
        if evaluate(rule.when, facts, findings, limits) is not Truth.PRESENT:
            continue
        shifts = tuple((number[cause], db) for cause, db in sorted(rule.shifts.items()) if cause in number and db)
        if shifts:
            told.append((name, shifts))
    return with_told(network, tuple(told))


def with_told(network: Network, told: tuple[tuple[str, tuple[tuple[int, float], ...]], ...]) -> Network:
    """The same network with these history rules present: (rule, ((cause number, decibans), ...)), in order of id."""
    log_odds = np.log(network.base) - np.log1p(-network.base)
    for _, shifts in told:
        for cause, decibans in shifts:
            log_odds[cause] += decibans * math.log(10) / 10
    prior = np.clip(1 / (1 + np.exp(-log_odds)), LEAST, 1 - LEAST) if told else network.base
    return replace(network, history=told, prior=prior)


def numbers_of(network: Network, names: tuple[str, ...]) -> tuple[int, ...]:
    """Numbers of findings by name; a finding that the network does not know is left out."""
    number = {name: index for index, name in enumerate(network.findings)}
    return tuple(number[name] for name in names if name in number)
