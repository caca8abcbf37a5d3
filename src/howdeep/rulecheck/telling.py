"""What the findings say of the causes, as the beliefs weigh it on each engine: answers of one question against one
another, answers that lower what they name, causes that no sign can prove, direct findings that are not marked so."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..arrays import Floats
from ..beliefs.evidence import Sign
from ..beliefs.frames import frame_of
from ..beliefs.network import Network
from ..beliefs.questions import Question, all_facts
from ..beliefs.speakers import readings_of
from ..beliefs.waterfall import decibans, says_alone, says_together
from ..model.causes import Finding
from ..model.knowledge import Knowledge
from ..model.terms import Word
from .base import Check, Complaint
from .subject import Subject

NEVER = "never"
HIGHEST = "nearly always"
ROUGH = 1.1
"""Words are rough: shares that together come to no more than this are let stand."""
NOTHING = 0.05
"""Decibans that are nothing."""
SECOND = 8
"""Strongest signs of a cause of which every two are laid together."""


def networks(subject: Subject) -> Iterator[tuple[str, Network]]:
    """(engine sheet, network) of every sheet."""
    for engine, facts in subject.engine_facts.items():
        yield engine, frame_of(subject.knowledge, facts)


def shares_of(knowledge: Knowledge, question: Question, cause: str) -> dict[str, float]:
    """Finding -> how often a cause (or with an empty name none of the causes) is said to show it."""
    settings = knowledge.settings
    shown = {}
    for name in question.findings:
        finding = knowledge.findings[name]
        word = finding.explained_by.get(cause) if cause else _otherwise(finding)
        shown[name] = 0.0 if word is None else settings.words[word]
    return shown


def _otherwise(finding: Finding) -> Word | None:
    return None if finding.direct and finding.otherwise == NEVER else finding.otherwise


def questions_with_causes(subject: Subject) -> Iterator[tuple[Question, str]]:
    """(question of several answers, cause that one of them names, or '' for none of the causes), each once."""
    seen = set()
    for _, network in networks(subject):
        own = set(network.causes)
        for node in network.nodes:
            named = {cause for name in node.findings for cause in subject.knowledge.findings[name].explained_by}
            for cause in ["", *sorted(named & own)] if len(node.findings) > 1 else []:
                key = node.question.findings, node.question.inside, cause
                if key not in seen:
                    seen.add(key)
                    yield node.question, cause


class MoreThanAlways(Check):
    """Answers to one question are each said to be seen with one cause, together more than always.

    Why it matters: only one of them is given. What lies inside another (heavy blue inside blue) is counted once. Where
    the rest still comes to more than always, or where sound engines are said to give more than one answer, every answer
    is weighed at less than what is written.
    What to do: share the frequency out between the answers, the usual one first.
    Bad: "the timing is late" and "the timing is early", each nearly always seen where the timing is off.
    Good: each half the time.
    """

    code, severity = "more-than-always", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for question, cause in questions_with_causes(subject):
            shown = shares_of(subject.knowledge, question, cause)
            own = {}
            for place, name in enumerate(question.findings):
                inner = sum(shown[question.findings[number]] for number in question.inside[place])
                own[name] = max(shown[name] - inner, 0.0)
            total, told = sum(own.values()), [name for name, share in own.items() if share > 0]
            if total > ROUGH + 1e-9:
                told.sort(key=lambda name: (-own[name], name))
                who = f"'{cause}' is said to show" if cause else "with none of the causes one is said to see"
                yield Complaint(
                    f"findings/{told[0]}",
                    f"{who} {' or '.join(told)}, all answers to "
                    f"{' and '.join(question.facts)}, {100 * total:.0f} % of the time together",
                    "share the frequency out between them",
                    ("explained_by", cause) if cause else ("otherwise",),
                    also=tuple(f"findings/{name}" for name in told[1:]),
                )


class NestedLikelier(Check):
    """An answer that lies inside another is said to be seen oftener than that.

    Why it matters: whoever sees the inner one sees the outer one too. Where the inner is said to be likelier, nothing
    is left for the outer one alone, and it speaks against a cause that it names or hardly knows.
    What to do: give the outer finding the cause at least as often as the inner, or make the outer one leave the inner
    out.
    Bad: "it lacks power" with fades as one of its answers names the coil rarely, "power fades when hot" half the time.
    Good: "it lacks power" names the coil half the time as well.
    """

    code, severity = "nested-likelier", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for question, cause in questions_with_causes(subject):
            shown = shares_of(subject.knowledge, question, cause)
            for place, outer in enumerate(question.findings):
                for number in question.inside[place]:
                    inner = question.findings[number]
                    if shown[inner] > shown[outer]:
                        who = f"with '{cause}'" if cause else "with none of the causes"
                        yield Complaint(
                            f"findings/{outer}",
                            f"is said to be seen {who} {100 * shown[outer]:.0f} % of "
                            f"the time, and '{inner}', which lies inside it, {100 * shown[inner]:.0f} %",
                            f"make it at least as frequent, or let it leave '{inner}' out",
                            ("explained_by",) if cause else ("otherwise",),
                            also=(f"findings/{inner}",),
                        )


class LowersItsCause(Check):
    """An answer lowers a cause that it names, although the cause gives no heavier answer oftener.

    Why it matters: who lists a cause under a sign means that the sign speaks for it. An answer that is seen oftener
    without the cause speaks against it. An answer that would be named before this one, and that the cause gives
    oftener, is a reason to be lowered; without one there is none.
    What to do: say how often the answer is seen otherwise, or give the cause a stronger word, or take it out.
    Bad: the middle one of three answers, usually seen with no cause at all, half the time with worn rings.
    Good: rarely seen with no cause at all.
    """

    code, severity = "lowers-its-cause", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        told = set()
        for engine, network in networks(subject):
            for number, node in enumerate(network.nodes):
                own = np.diff(node.at_most[1], axis=-1)
                for answer, name in enumerate(node.findings, start=1):
                    says = says_alone(network, Sign(number, answer))
                    for place, cause in enumerate(network.causes):
                        word = subject.knowledge.findings[name].explained_by.get(cause, NEVER)
                        heavier = own[place, answer:].max(initial=0.0)
                        if (
                            word != NEVER
                            and says[place] < -NOTHING
                            and heavier < own[place, answer - 1]
                            and (name, cause) not in told
                        ):
                            told.add((name, cause))
                            yield Complaint(
                                f"findings/{name}",
                                f"names '{cause}' ({word}) and lowers it by {-says[place]:.1f} decibans on '{engine}'",
                                "look at otherwise, or at the word",
                                ("explained_by", cause),
                            )


class NothingProvesIt(Check):
    """No sign, and no two signs together, make a cause likelier than not.

    Why it matters: whatever is answered, tested or seen, the cause stays in doubt, and work for it is never promised.
    What to do: add the sign by which a mechanic is sure of it (seen, measured or tried), marked direct; or strengthen
    the words. Where the trade itself has no such sign, say so in an excuse.
    Bad: a cause that only "it lacks power" and "it starts badly" point to.
    Good: the same, and a finding in which it is seen itself.
    """

    code, severity = "nothing-proves-it", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        in_doubt: dict[str, list[tuple[str, float, str]]] = {}
        for engine, network in networks(subject):
            signs = [
                Sign(node, answer)
                for node, item in enumerate(network.nodes)
                for answer in range(1, len(item.findings) + 1)
            ]
            alone = np.array([says_alone(network, sign) for sign in signs]).reshape(len(signs), len(network.causes))
            base = decibans(network.base / (1 - network.base))
            pairs: dict[tuple[Sign, Sign], Floats] = {}
            for place, cause in enumerate(network.causes):
                best = max(
                    (
                        (base[place] + said, _named(network, (sign,)))
                        for sign, said in zip(signs, alone[:, place], strict=True)
                    ),
                    default=(base[place], ""),
                )
                if best[0] < 0:
                    strongest = [signs[index] for index in np.argsort(-alone[:, place], kind="stable")[:SECOND]]
                    for index, first in enumerate(strongest):
                        for second in strongest[index + 1 :]:
                            if first.node == second.node:
                                continue
                            if (first, second) not in pairs:
                                pairs[first, second] = says_together(network, (first, second))
                            said = base[place] + pairs[first, second][place]
                            best = max(best, (said, _named(network, (first, second))))
                if best[0] < 0:
                    in_doubt.setdefault(cause, []).append((engine, float(best[0]), best[1]))
        for cause, found in sorted(in_doubt.items()):
            engine, odds, signs_ = max(found, key=lambda item: (-item[1], item[0]))
            chance = 100 / (1 + 10 ** (-odds / 10))
            yield Complaint(
                f"causes/{cause}",
                f"no two signs make '{cause}' likelier than not on '{engine}': at most "
                f"{chance:.0f} %" + (f" with {signs_}" if signs_ else ""),
                "add the sign by which it is seen itself, marked direct",
            )


def _named(network: Network, signs: tuple[Sign, ...]) -> str:
    return " and ".join(f"'{network.nodes[sign.node].findings[sign.answer - 1]}'" for sign in signs)


class UnmarkedDirect(Check):
    """A finding of the open engine names exactly one cause, and that nearly always, and is not marked direct.

    Why it matters: what is seen, measured or tried on the open engine is the fault itself. Unmarked, it is weighed as a
    sign of it, and a heap of healthy answers outweighs it.
    What to do: write direct: true and otherwise: never. Where it is a sign all the same, give it the word that a sign
    deserves, or say why in an excuse.
    Bad: "a ring is broken" nearly always seen with broken rings, rarely otherwise, without direct.
    Good: the same with direct: true and otherwise: never.
    """

    code, severity = "unmarked-direct", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        base = subject.knowledge
        for name, finding in base.findings.items():
            words = list(finding.explained_by.values())
            if finding.direct or len(words) != 1 or words[0] != HIGHEST:
                continue
            readings = readings_of(base, (fact for fact in all_facts(base, name) if not fact.startswith("engine.")))
            moments = {base.observations[item].moment for item in readings if item in base.observations}
            if moments == {"teardown"}:
                cause = next(iter(finding.explained_by))
                yield Complaint(
                    f"findings/{name}",
                    f"is found on the open engine, names only '{cause}' and that "
                    "nearly always, and is not marked direct",
                    "write direct: true and otherwise: never",
                )
