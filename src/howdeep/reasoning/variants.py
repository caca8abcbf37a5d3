"""The same evidence on several networks at once: the same links at other strengths, side by side as columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .elimination import Evidence, evidence_of, on_network, rescaled, strengths_of, summed
from .messages import sums_of
from .network import Network

CELLS = 200_000
"""Cells of one table: more networks are worked off in groups."""


def only(evidence: Evidence) -> Evidence:
    """The same evidence on a network that knows none but the findings that count."""
    network, counted = evidence.network, sorted((*evidence.present, *evidence.absent))
    place = {name: number for number, name in enumerate(counted)}
    small = replace(
        network, findings=tuple(network.findings[name] for name in counted), link_word=network.link_word[:, counted],
        leak_word=network.leak_word[counted], q=network.q[:, counted], leak=network.leak[counted],
        doubt=None if network.doubt is None else network.doubt[counted],
        direct=None if network.direct is None else network.direct[counted])
    return evidence_of(small, tuple(place[name] for name in evidence.present),
                       tuple(place[name] for name in evidence.absent), like=evidence)


def sums_under(evidence: Evidence, networks: Sequence[Network], allowed: np.ndarray) -> np.ndarray:
    """[networks, columns] sums of the evidence under each network, relative to its own column 0.

    The networks have the same causes, findings and links. `allowed` [causes, columns], column 0 allowing every cause.
    """
    columns = allowed.shape[1]
    size = CELLS // (columns << evidence.plan.width)
    if size < 2:  # one table is large enough by itself
        parts = [sums_of(on_network(evidence, network), allowed)[0][None] for network in networks]
    else:
        parts = [_summed(evidence, networks[start: start + size], allowed) for start in range(0, len(networks), size)]
    return np.concatenate(parts) if parts else np.empty((0, columns))


def _summed(evidence: Evidence, networks: Sequence[Network], allowed: np.ndarray) -> np.ndarray:
    columns = allowed.shape[1]
    absent = list(evidence.absent)
    q = np.array([network.q for network in networks])
    leak = np.repeat(np.array([network.leak for network in networks]).T, columns, axis=1)
    prior = np.array([network.prior for network in networks])
    odds = (prior / (1 - prior) * np.prod(1 - q[:, :, absent], axis=2)).T[:, :, None] * allowed[:, None, :]
    shown = {step.cause: np.repeat(q[:, step.cause].T, columns, axis=1) for step in evidence.plan.steps}
    table = np.ones((1, len(networks) * columns))
    for step, strengths in zip(evidence.plan.steps, strengths_of(evidence.plan, shown, leak), strict=True):
        table, _ = rescaled(summed(table, strengths, odds[step.cause].ravel()))
    loose = (1 + odds[evidence.loose]).prod(axis=0)
    sums = table.reshape(len(networks), columns) * loose
    return sums / sums[:, :1]
