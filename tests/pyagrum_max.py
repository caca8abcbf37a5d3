"""The same noisy-MAX network in a general library: one latent child a cause and question, joined by MAX aggregators.

A question's causes are joined two by two, so that no table is wider than three variables, in one order for all
questions. A sound answer is evidence on the latent children themselves: each draws none of what the answer denies.
"""

from __future__ import annotations

import numpy as np
import pyagrum as gum

from howdeep.beliefs.evidence import Evidence, shares_and_cuts


def bayes_net(given: Evidence, *, every: bool = True) -> tuple[gum.BayesNet, dict[str, list[float] | int]]:
    """(network of the causes that any sign speaks of, or without `every` any telling sign; evidence as a likelihood, or
    the one state left, for each latent or joined variable)."""
    network, told = given.network, {}
    net = gum.BayesNet()
    order = [step.cause for step in given.plan.steps]
    linked = order + [
        cause
        for cause in range(len(network.causes))
        if every and cause not in order and any(cause in _causes(given, sign) for sign in given.signs)
    ]
    for cause in linked:
        net.add(gum.LabelizedVariable(network.causes[cause], "", 3))
        prior = network.prior[cause]
        net.cpt(network.causes[cause]).fillWith([1 - prior, *(prior * network.degrees[:, cause])])
    for sign in given.signs:
        node = network.nodes[sign.node]
        count = len(node.findings) + 1
        latent = []
        for cause in sorted(set(_causes(given, sign)) & set(linked), key=linked.index):
            name = f"q{sign.node}_{network.causes[cause]}"
            net.add(gum.LabelizedVariable(name, "", count))
            net.addArc(network.causes[cause], name)
            own = np.concatenate((np.eye(count)[:1], np.diff(node.at_most[:, cause], prepend=0.0, axis=1)))
            net.cpt(name).fillWith(own.ravel().tolist())
            latent.append(name)
        for ladder in ("normal", "unlisted", "misread"):
            name = f"q{sign.node}_{ladder}"
            net.add(gum.LabelizedVariable(name, "", count))
            net.cpt(name).fillWith(np.diff(getattr(node, ladder), prepend=0.0).tolist())
            latent.append(name)
        if not sign.answer:
            denied = set(sign.denies) or set(range(1, count))
            kept = [answer for answer in range(count) if answer not in denied]
            told |= {
                name: kept[0] if len(kept) == 1 else [float(answer in kept) for answer in range(count)]
                for name in latent
            }
            continue
        highest = latent[0]
        for number, name in enumerate(latent[1:]):
            joined = f"q{sign.node}_max{number}"
            net.addMAX(gum.LabelizedVariable(joined, "", count))
            net.addArc(highest, joined)
            net.addArc(name, joined)
            highest = joined
        shares, _ = shares_and_cuts(sign)
        told[highest] = [shares.get(answer, 0.0) for answer in range(count)]
    return net, told


def _causes(given: Evidence, sign) -> list[int]:
    node = given.network.nodes[sign.node]
    return [
        cause
        for cause in range(len(given.network.causes))
        if (node.at_most[:, cause] < 1.0).any() and cause not in sign.silent
    ]


def posteriors(given: Evidence, *, every: bool = True) -> dict[str, tuple[float, float]]:
    """Cause -> (probability that it is there, that it is there and marked), of the causes in the network."""
    net, told = bayes_net(given, every=every)
    engine = gum.LazyPropagation(net)
    engine.setEvidence(told)
    engine.makeInference()
    result = {}
    for cause in given.network.causes:
        if net.exists(cause):
            degrees = engine.posterior(cause).tolist()
            result[cause] = degrees[1] + degrees[2], degrees[2]
    return result
