"""The numbers of the model that can be asked about: base odds, links and leaks, how far each may move, and how the
columns move with it.

Every prior, link and leak enters each column linearly: the slope of a column in one of them is exact however far it
moves. A base word or a frequency word is tried one word lower and one word higher.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..model.knowledge import Knowledge
from ..reasoning.messages import Messages
from ..reasoning.network import LEAST, Network
from ..reasoning.slopes import slopes_of
from .setting import Setting

NONE = -1


@dataclass(frozen=True, slots=True, eq=False)
class Numbers:
    """Numbers of the model: first every prior, then every link that counts, then every leak that counts."""

    network: Network
    cause: np.ndarray
    """[numbers] whose prior or link it is; NONE for a leak."""
    finding: np.ndarray
    """[numbers] of which link or leak; NONE for a prior."""
    value: np.ndarray
    low: np.ndarray
    high: np.ndarray
    words: np.ndarray
    """[numbers, 3] the frequency word of each, the one below and the one above; NONE for a prior."""
    slopes: np.ndarray
    """[numbers, columns] change of the sums per unit."""

    def kind(self, number: int) -> str:
        """'prior' for base odds, 'link' for a link or a leak."""
        return "prior" if self.finding[number] == NONE else "link"

    def subject(self, number: int) -> str:
        """'rings worn', 'smoke given rings worn' or 'smoke otherwise', by ids."""
        cause, finding = int(self.cause[number]), int(self.finding[number])
        if finding == NONE:
            return self.network.causes[cause]
        given = "otherwise" if cause == NONE else f"given {self.network.causes[cause]}"
        return f"{self.network.findings[finding]} {given}"

    def said(self, number: int, x: float) -> str:
        """How the value x of a number is said: in percent, or the frequency word it lies towards."""
        word, below, above = self.words[number]
        if word == NONE:
            return percent(x)
        return self.network.words[word if x == self.value[number] else below if x < self.value[number] else above]


def every_number(setting: Setting, knowledge: Knowledge, messages: Messages) -> Numbers:
    """Every number that counts in this evidence."""
    network, evidence = setting.network, setting.evidence
    slopes = slopes_of(messages)
    off, on, shown, leaked = slopes.off, slopes.on, slopes.links, slopes.leaks
    causes = np.arange(len(network.causes))
    spared = evidence.odds * (1 - network.prior) / network.prior
    prior_slopes = (spared[:, None] * on - off) / (1 - network.prior)[:, None]
    low, high = _base_steps(np.array(sorted(knowledge.settings.base_words.values())), network.base, network.prior)

    absent = np.array(evidence.absent, dtype=int)
    rows, places = np.nonzero(network.q[:, absent])
    dark = -evidence.odds[rows, None] * on[rows] / (1 - network.q[rows, absent[places]])[:, None]
    links = np.array([*shown, *zip(rows.tolist(), absent[places].tolist(), strict=True)],
                     dtype=int).reshape(-1, 2)
    link_slopes = np.concatenate((np.array(list(shown.values())).reshape(-1, off.shape[1]), dark))
    order = np.lexsort((links[:, 1], links[:, 0]))
    links, link_slopes = links[order], link_slopes[order]
    leaks = np.array(sorted(leaked), dtype=int)
    leak_slopes = np.array([leaked[name] for name in leaks.tolist()]).reshape(-1, off.shape[1])

    near = _near_words(network)
    link_words = near[network.link_word[links[:, 0], links[:, 1]].astype(int) - 1]
    leak_words = near[network.leak_word[leaks].astype(int)]
    values = np.array(network.word_values)
    sure = 1 - network.misread * (np.ones(len(network.findings)) if network.doubt is None else network.doubt)
    shown_ends = np.minimum(values[link_words[:, 1:]] * sure[links[:, 1], None], 1 - LEAST)
    leak_ends = np.clip(1 - (1 - values[leak_words[:, 1:]]) * sure[leaks, None], LEAST, 1 - LEAST)
    return Numbers(
        network,
        np.concatenate((causes, links[:, 0], np.full(len(leaks), NONE))),
        np.concatenate((np.full(len(causes), NONE), links[:, 1], leaks)),
        np.concatenate((network.prior, network.q[links[:, 0], links[:, 1]], network.leak[leaks])),
        np.concatenate((low, shown_ends[:, 0], leak_ends[:, 0])),
        np.concatenate((high, shown_ends[:, 1], leak_ends[:, 1])),
        np.concatenate((np.full((len(causes), 3), NONE), link_words, leak_words)),
        np.concatenate((prior_slopes, link_slopes, leak_slopes)))


def _near_words(network: Network) -> np.ndarray:
    """[words, 3] each word, the one below it and the one above; at the ends of the scale the word itself."""
    order = sorted(range(len(network.words)), key=lambda index: network.word_values[index])
    near = np.empty((len(order), 3), dtype=int)
    for place, word in enumerate(order):
        near[word] = word, order[max(0, place - 1)], order[min(len(order) - 1, place + 1)]
    return near


def _base_steps(words: np.ndarray, base: np.ndarray, prior: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """[causes] the priors with the base word one step lower, and one step higher, history kept."""
    below = np.where(words < base[:, None] * 0.999, words, -np.inf).max(axis=1)
    above = np.where(words > base[:, None] * 1.001, words, np.inf).min(axis=1)
    below = np.where(np.isfinite(below), below, base / 2.5)
    above = np.where(np.isfinite(above), above, np.minimum(0.5, base * 2))
    shift = _logit(prior) - _logit(base)
    low, high = (np.clip(1 / (1 + np.exp(-_logit(value) - shift)), LEAST, 1 - LEAST) for value in (below, above))
    return low, high


def _logit(p: np.ndarray) -> np.ndarray:
    return np.log(p / (1 - p))


def percent(probability: float) -> str:
    """Two figures: '0.42 %', '4.2 %', '42 %'."""
    value = 100 * probability
    digits = 2 if value < 0.95 else 1 if value < 9.5 else 0
    return f"{value:.{digits}f} %"
