"""The same noisy-MAX network in a general library: one latent child a cause and question, joined by MAX aggregators.

A question's causes are joined two by two, so that no table is wider than three variables. A sound answer is evidence on
the latent children themselves: each draws none of what the answer denies.
"""

from __future__ import annotations

import numpy as np
import pyagrum as gum

from howdeep.beliefs.evidence import Evidence, shares_and_cuts


def bayes_net(given: Evidence) -> tuple[gum.BayesNet, dict[str, list[float]]]:
    """(network of the causes that any sign speaks of, evidence as a likelihood for each latent or joined variable)."""
    network, told = given.network, {}
    net = gum.BayesNet()
    linked = sorted({cause for sign in given.signs for cause in _causes(given, sign)})
    for cause in linked:
        net.add(gum.LabelizedVariable(network.causes[cause], "", 3))
        prior = network.prior[cause]
        net.cpt(network.causes[cause]).fillWith([1 - prior, *(prior * network.shares)])
    for sign in given.signs:
        node = network.nodes[sign.node]
        count = len(node.findings) + 1
        latent = []
        for cause in _causes(given, sign):
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
            told |= {name: [float(answer not in denied) for answer in range(count)] for name in latent}
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
    return [cause for cause in range(len(given.network.causes))
            if (node.at_most[:, cause] < 1.0).any() and cause not in sign.silent]


def posteriors(given: Evidence) -> dict[str, tuple[float, float]]:
    """Cause -> (probability that it is there, that it is there and marked), of the causes that any sign speaks of."""
    net, told = bayes_net(given)
    engine = gum.LazyPropagation(net)
    engine.setEvidence(told)
    engine.makeInference()
    result = {}
    for cause in given.network.causes:
        if net.exists(cause):
            degrees = engine.posterior(cause).tolist()
            result[cause] = degrees[1] + degrees[2], degrees[2]
    return result
