"""What a shop's own entry loses or turns round of the shipped one whose place it takes.

An entry is replaced whole, so that what is not written again is gone. Each check names one kind of loss; an excuse in
the entry, with its reason, settles it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

from ..knowledge.condition_names import conditions_of
from ..model.terms import DEPTH, RUNGS, WORDS, Word
from .base import Check, Complaint
from .subject import Subject
from .worlds import PRESENT, TooWide

_WORDING = frozenset(
    {
        "title",
        "plain",
        "because",
        "fooled_by",
        "source",
        "excuse",
        "text",
        "note",
        "phrases",
        "said",
        "ask",
        "procedure",
        "setup",
        "wait",
        "opens",
        "does_not",
    }
)
"""Fields that say it to a person: a shop says it in its own words."""
_OWN_CHECK = frozenset({"cautions", "forbids_running", "forbids_cranking", "runs_engine", "run_on"})
_LISTS = frozenset(
    {
        "brings",
        "parts",
        "machine",
        "proved_by",
        "before",
        "during",
        "cured_by",
        "explained_by",
        "shifts",
        "always",
        "access",
        "observations",
        "checks",
        "findings",
        "needed_for",
        "sheet",
        "opened_by",
        "outcomes",
        "instead_of",
    }
)
"""Fields of which each item counts."""
_RUN_ON = ("harmless", "wears", "damages", "dangerous")
_DOES = ("", "cranks", "runs")
_FAR = 3


def _pairs(subject: Subject, *kinds: str) -> Iterator[tuple[str, str, Any, Any]]:
    """(kind, id, shipped entry, the shop's own) of every entry replaced."""
    for key in subject.knowledge.replaced if subject.shipped is not None else ():
        kind, _, name = key.partition("/")
        if name and (not kinds or kind in kinds) and name in getattr(subject.shipped, kind):
            yield kind, name, getattr(subject.shipped, kind)[name], getattr(subject.knowledge, kind)[name]


class CautionLost(Check):
    """A caution that stood before a step is gone, or holds for fewer engines.

    Why it matters: whoever does the work is no longer warned, and nothing tells him that he was.
    What to do: write the cautions again; where one does not belong there, say why in an excuse.
    Bad: operations/remove_refit_engine written anew without its cautions.
    Good: the same with cautions: [lifting_splitting, ...].
    """

    code, severity = "caution-lost", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for kind, name, before, now in _pairs(subject, "operations", "observations", "cautions"):
            if kind == "cautions":
                if now.applies is not None and now.applies != before.applies:
                    yield Complaint(
                        f"{kind}/{name}",
                        "this caution holds for fewer engines than the shipped one",
                        "leave 'applies' as it was, or say why in an excuse",
                        ("applies",),
                    )
                continue
            lost = [item for item in before.cautions if item not in now.cautions]
            if lost:
                yield Complaint(
                    f"{kind}/{name}",
                    f"lost the caution{'s' if len(lost) > 1 else ''} {', '.join(lost)}",
                    "write it again, or say why in an excuse",
                    ("cautions",) if now.cautions else (),
                )


class DangerLost(Check):
    """What forbade running the engine, or turning it, no longer does.

    Why it matters: a check is then offered, or the engine run, that ruins it or hurts somebody.
    What to do: write forbids_running, forbids_cranking, run_on and runs_engine as they were, or say why in an excuse.
    Bad: findings/plug_wet_coolant written anew without forbids_cranking.
    Good: the same with forbids_running and forbids_cranking: true.
    """

    code, severity = "danger-lost", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for kind, name, before, now in _pairs(subject, "findings", "causes", "observations"):
            key = f"{kind}/{name}"
            if kind == "findings":
                if before.forbids_running and not now.forbids_running:
                    yield Complaint(key, "no longer forbids running the engine", "write forbids_running again")
                elif before.forbids_cranking and not now.forbids_cranking:
                    yield Complaint(
                        key,
                        "no longer forbids turning the engine by starter, handle or tow",
                        "write forbids_cranking: true again",
                    )
                more = [item for item in now.lifted_by if item not in before.lifted_by]
                if more and before.forbids_running:
                    yield Complaint(
                        key,
                        f"the danger is now lifted by {', '.join(more)} as well",
                        "take it out, or say why in an excuse",
                        ("lifted_by",),
                    )
            elif kind == "causes" and _RUN_ON.index(now.run_on) < _RUN_ON.index(before.run_on):
                yield Complaint(
                    key,
                    f"running on is '{now.run_on}' now and was '{before.run_on}'",
                    "leave run_on as it was, or say why in an excuse",
                    ("run_on",),
                )
            elif kind == "observations" and _DOES.index(now.runs_engine) < _DOES.index(before.runs_engine):
                yield Complaint(
                    key,
                    f"no longer says that the engine {before.runs_engine} for it",
                    "write runs_engine again",
                    ("runs_engine",) if now.runs_engine else (),
                )


class HoldWeakened(Check):
    """A hold stands before less than it did, or is cleared by more.

    Why it matters: the cheap fault that looks like a deep one is then passed over, and the deep work is promised.
    What to do: leave above, check and also_by as they were, or say in an excuse why the shop needs no such hold.
    Bad: above: refresh in place of tune_up.
    Good: above: tune_up.
    """

    code, severity = "hold-weakened", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for _, name, before, now in _pairs(subject, "holds"):
            key, do = f"holds/{name}", "leave it as it was, or say why in an excuse"
            if DEPTH[now.above] > DEPTH[before.above]:
                yield Complaint(
                    key,
                    f"holds only what is deeper than '{now.above}', and held what is deeper than '{before.above}'",
                    do,
                    ("above",),
                )
            if now.check != before.check:
                yield Complaint(key, f"is cleared by '{now.check}' and was by '{before.check}'", do, ("check",))
            more = [item for item in now.also_by if item not in before.also_by]
            if more:
                yield Complaint(key, f"is cleared by {', '.join(more)} as well", do, ("also_by",))
            if now.applies is not None and before.applies is None:
                yield Complaint(key, "holds on fewer engines than it did", do, ("applies",))


class ReplacementLoses(Check):
    """An entry that takes the place of a shipped one has lost a field or an item of it.

    Why it matters: an entry is replaced whole. What is not written again is gone: access that the work needs, a part,
    the state in which a test counts, what proves the work.
    What to do: write it again; where it is meant, say why in an excuse.
    Bad: operations/re_ring written anew with brings: [hone_bores] alone.
    Good: the same with all that it brought.
    """

    code, severity = "replacement-loses", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for kind, name, before, now in _pairs(subject):
            for item in dataclasses.fields(before):
                if item.name in _WORDING | _OWN_CHECK:
                    continue
                was, is_ = getattr(before, item.name), getattr(now, item.name)
                if was == is_:
                    continue
                nothing = (
                    item.default
                    if item.default is not dataclasses.MISSING
                    else (item.default_factory() if item.default_factory is not dataclasses.MISSING else None)
                )
                if is_ == nothing or (not is_ and is_ != 0):
                    yield Complaint(
                        f"{kind}/{name}",
                        f"has lost '{item.name}' ({_short(was)})",
                        "write it again, or say why in an excuse",
                    )
                elif item.name in _LISTS:
                    lost = [str(part) for part in was if part not in is_]
                    if lost:
                        yield Complaint(
                            f"{kind}/{name}",
                            f"has lost {', '.join(lost[:6])} of '{item.name}'",
                            "write it again, or say why in an excuse",
                            (item.name,),
                        )


def _short(value: Any) -> str:
    if isinstance(value, (str, int, float, bool)):
        return str(value)
    if isinstance(value, (tuple, dict)):
        parts = [item if isinstance(item, str) else type(item).__name__.lower() for item in value]
        return ", ".join(parts[:4]) + (", ..." if len(parts) > 4 else "")
    return "a condition"


class ConditionTurned(Check):
    """A condition holds only where the shipped one did not.

    Why it matters: the rule then says the contrary of its title: a threshold on the wrong side, a 'not' too many.
    What to do: read the condition aloud with the title; turn it back, or give the rule another id and title.
    Bad: "compression is low" when: {fact: compression.level, is: good, cylinders: every}.
    Good: is: [low, very_low].
    """

    code, severity = "condition-turned", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for kind, name, before, now in _pairs(subject):
            was = {path: condition for _, path, condition in conditions_of(before)}
            for _, path, condition in conditions_of(now):
                if path not in was or was[path] == condition:
                    continue
                try:
                    space = subject.vocabulary.space(was[path], condition)
                    old, new = space.truth(was[path]) == PRESENT, space.truth(condition) == PRESENT
                    apart = not space.any(old & new) and space.any(new)
                except (TooWide, KeyError):
                    continue
                if apart:
                    yield Complaint(
                        f"{kind}/{name}",
                        f"the condition in '{path[0]}' holds only where the shipped one did not",
                        "turn it back",
                        path,
                    )


class WordFarOff(Check):
    """A frequency word lies three or more steps from the shipped one.

    Why it matters: from 'nearly always' to 'never' a sign turns from a proof into a denial, and every job with it.
    What to do: take a step or two, which is all that one shop's jobs can show, or say why in an excuse.
    Bad: explained_by {dirty_air_cleaner: never} where it was nearly always.
    Good: explained_by {dirty_air_cleaner: usually}.
    """

    code, severity = "word-far-off", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for _, name, before, now in _pairs(subject, "findings"):
            words: list[tuple[tuple[str, ...], Word, Word]] = [
                (("explained_by", cause), before.explained_by[cause], word)
                for cause, word in now.explained_by.items()
                if cause in before.explained_by
            ]
            if before.otherwise and now.otherwise:
                words.append((("otherwise",), before.otherwise, now.otherwise))
            for path, was, word in words:
                if abs(WORDS.index(word) - WORDS.index(was)) >= _FAR:
                    yield Complaint(
                        f"findings/{name}",
                        f"'{path[-1]}' is '{word}' and was '{was}'",
                        "take a step or two, or say why in an excuse",
                        path,
                    )


class OrderTurned(Check):
    """Answers that go from sound to worst stand in another order than they did.

    Why it matters: the first is then taken as sound: who answers the worst is told that all is well.
    What to do: write the sound answer first and the worst last.
    Bad: worsens: [lots, some, none].
    Good: worsens: [none, some, lots].
    """

    code, severity = "order-turned", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for kind, name, before, now in _pairs(subject, "observations", "reduced"):
            for field in ("worsens", "named"):
                kept = [item for item in getattr(now, field) if item in getattr(before, field)]
                if kept and kept != [item for item in getattr(before, field) if item in kept]:
                    yield Complaint(
                        f"{kind}/{name}",
                        f"'{field}' is {', '.join(getattr(now, field))} and was {', '.join(getattr(before, field))}",
                        "the sound one first, the worst last",
                        (field,),
                    )


class ShallowerWork(Check):
    """Work is done at a shallower depth than it was.

    Why it matters: it then belongs to jobs that do not open the engine so far, at their price.
    What to do: give it the depth at which it can be reached, or say why in an excuse.
    Bad: rung: outside for new piston rings.
    Good: rung: refresh.
    """

    code, severity = "shallower-work", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for kind, name, before, now in _pairs(subject, "operations", "causes"):
            field = "rung" if kind == "operations" else "seen_at"
            was, is_ = (min((DEPTH[step.rung] for step in getattr(item, field)), default=0) for item in (before, now))
            if is_ < was:
                yield Complaint(
                    f"{kind}/{name}",
                    f"'{field}' is '{RUNGS[is_]}' and was '{RUNGS[was]}'",
                    "give it its depth, or say why in an excuse",
                    (field,),
                )
