"""What an outcome of a check would add to what counts, as columns of the elimination, and how many there is room for.

An outcome of a check is a set of answers to questions not yet counted. Its chance is their joint probability given the
evidence: a sound answer multiplies the odds of the causes, a telling answer k is the difference of "k or lower" and
"lower than k", so an outcome with p telling answers is a signed sum of 2^p columns of the same elimination. Outcomes
exclude each other; of what they leave uncovered it is known only that none of them came, and no money is set on that.
Several answers to one test are counted side by side in a short form, so that the chances of its outcomes may come to
more than one: they are then taken as shares of their sum, and what is believed before as what they come to together.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import lru_cache

import numpy as np

from ..arrays import Floats
from ..beliefs.evidence import Evidence, Sign, sound_factor
from ..model.frozen import dataclass
from .open_checks import OpenCheck

MOST_TELLING = 3
"""Most telling answers of one outcome that are counted."""
MOST_CELLS = 2_000_000
"""Cells beyond which nothing is worked out for a further check, wanted or not (about a second). Where that is money
the ranking is marked as estimated, and goes by what a check parts."""


@dataclass(frozen=True, slots=True)
class Answered:
    """One outcome as the signs that it would add."""

    telling: tuple[Sign, ...]
    sound: tuple[Sign, ...]
    kept: int = field(default=0, compare=False, repr=False)
    """Its hash, once that was asked for: an outcome is looked up over and over."""

    def __hash__(self) -> int:
        if not self.kept:
            object.__setattr__(self, "kept", hash((self.telling, self.sound)) or 1)
        return self.kept

    @property
    def is_news(self) -> bool:
        """Whether it would tell anything."""
        return bool(self.telling or self.sound)


def _signed(answer: Answered) -> list[tuple[float, tuple[tuple[Sign, int], ...]]]:
    """(sign of the term, (telling sign, cut) for each telling sign)."""
    telling = answer.telling[:MOST_TELLING]
    return [
        (float((-1) ** sum(low)), tuple((sign, sign.answer - down) for sign, down in zip(telling, low, strict=True)))
        for low in itertools.product((0, 1), repeat=len(telling))
    ]


@lru_cache(maxsize=4)
def _terms(evidence: Evidence) -> dict[Answered, list[tuple[float, Floats]]]:
    """What was worked out so far of outcomes beside this evidence: screening, bits and money ask for the same ones."""
    return {}


def factors_of(evidence: Evidence, answer: Answered) -> list[tuple[float, Floats]]:
    """(signed weight of the leaks, [degrees, causes] what odds are multiplied with) of each column of an outcome."""
    kept = _terms(evidence)
    if answer in kept:
        return kept[answer]
    nodes = evidence.network.nodes
    factor, scale = np.ones_like(evidence.odds), 1.0
    for sign in answer.sound:
        given, leak = sound_factor(evidence.network, sign)
        factor, scale = factor * given, scale * leak
    result = []
    for plus, cuts in _signed(answer):
        here, weight = factor, scale * plus
        for sign, cut in cuts:
            node = nodes[sign.node]
            here, weight = here * node.at_most[:, :, cut], weight * float(node.leak[cut])
        result.append((weight, here))
    kept[answer] = result
    return result


def fitting(
    evidence: Evidence,
    order: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    cells: int,
    each: int,
    wanted: Sequence[str],
) -> tuple[list[str], list[Answered]]:
    """Checks from the front of the order whose outcomes fit into so many cells, wanted ones while they fit into
    MOST_CELLS, and their outcomes without doubles."""
    budget, most = _room(evidence, cells, each)
    names: list[str] = []
    found: dict[Answered, None] = {}
    used = 0
    for check in order:
        new = [answer for answer in dict.fromkeys(answered[check.check]) if answer.is_news and answer not in found]
        more = sum(_columns(answer) for answer in new)
        if used + more > most or (used + more > budget and names and check.check not in wanted):
            break
        used += more
        names.append(check.check)
        found.update(dict.fromkeys(new))
    return names, list(found)


def _columns(answer: Answered) -> int:
    """Columns of one outcome."""
    return 1 << min(len(answer.telling), MOST_TELLING)


def _room(evidence: Evidence, cells: int, each: int) -> tuple[int, int]:
    """(columns worked out for checks of their own accord, most columns worked out for wanted ones)."""
    one = each << min(evidence.width, 20)
    return max(16, cells // one), max(cells, MOST_CELLS) // one


def used_by(
    evidence: Evidence, checks: Sequence[OpenCheck], answered: Mapping[str, Sequence[Answered]], cells: int, each: int
) -> tuple[int, int, int]:
    """(columns of all these checks, and the room as of `_room`)."""
    answers = {answer for check in checks for answer in answered[check.check] if answer.is_news}
    return sum(_columns(answer) for answer in answers), *_room(evidence, cells, each)
