"""What a shop's own rules move: worked cases answered with and without them, and which entry did it.

Answers are compared as they stand if nothing more were checked. An entry did it where the change is gone once that
entry alone is left out; where no single one is, several do it together.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from ..assessment.facts import facts_of, limits_of
from ..assessment.prepared import prepare
from ..assessment.session import Shop
from ..decision.answer_kind import with_kind
from ..errors import HowdeepError
from ..logic.evaluate import evaluate, evaluate_all
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.observations import Hold
from ..model.prices import PriceList
from ..model.terms import DEPTH, RUNGS, Rung
from ..model.truth import Truth
from .run import case_files

SAMPLE = 24
"""Cases that are answered where not all are: for each entry in turn the one in which it has most to say."""
MOST_ENTRIES = 12
"""So many entries are left out one at a time; of more, those that touch most cases."""
MOST_BLAMED = 10
"""Cases of which it is found out which entry did it."""
_LEADING, _HAND, _ENOUGH = 3, 0.1, 0.05


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is otherwise in one case."""

    what: str
    """'cause', 'answer', 'price', 'chance', 'hold', 'caution', 'danger' or 'fault'."""
    before: str
    after: str
    lost: bool = False
    """Whether a hold, a caution or a danger is gone."""
    by: tuple[str, ...] = ()
    """'kind/id' of the entries each of which, left out alone, undoes it."""


@dataclass(frozen=True, slots=True)
class CaseMoves:
    """What is otherwise in one case."""

    name: str
    title: str
    changes: tuple[Change, ...]
    looked_for: bool
    """Whether it was found out which entry did it."""


@dataclass(frozen=True, slots=True)
class Moves:
    """What a folder of own rules moves."""

    folder: str
    replaced: int
    added: int
    answered: int
    """Cases answered with and without it."""
    of: int
    """Cases in all."""
    left_out: tuple[str, ...]
    """Entries that were left out one at a time."""
    not_left_out: int
    """Entries of the folder that were not."""
    cases: tuple[CaseMoves, ...]
    """Those in which something moved."""


@dataclass(frozen=True, slots=True)
class _Answer:
    """What is compared."""

    leading: tuple[tuple[str, float], ...]
    answer: str
    price: str
    enough: float
    holds: Mapping[str, Rung]
    """Hold that stands -> the deepest work that may be promised beside it."""
    cautions: frozenset[str]
    dangers: frozenset[str]


def moves_of(
    shipped: Shop,
    own: Shop,
    folder: Path,
    *,
    every: bool = False,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> Moves:
    """What the shop's rules of `own` move in the worked cases of a folder. Raises HowdeepError where there are none."""
    files = case_files(folder)
    keys = own_entries(own)
    read = {path: touched_by(shipped.knowledge, own, path, keys) for path in files}
    touched = {path: told for path, (_, told) in read.items()}
    chosen = files if every else chosen_for(touched, keys, SAMPLE)
    # engine by engine, since what is worked out of the rules for one engine serves all its cases
    chosen = sorted(chosen, key=lambda path: (read[path][0], path))
    found: list[tuple[Path, str, tuple[Change, ...]]] = []
    for number, path in enumerate(chosen):
        progress(number, len(chosen))
        title, changes = _compared(shipped, own, path)
        if changes:
            found.append((path, title, changes))
    counted = sorted(keys, key=lambda key: (-sum(key in touched[path] for path, _, _ in found), key))
    tried = counted[:MOST_ENTRIES]
    without = {key: shop for key in tried if (shop := _without(shipped, own, key)) is not None}
    looked_for = [path for path, _, _ in found[:MOST_BLAMED]] if without else []
    left = _left_out(shipped, without, {path: touched[path] for path in looked_for})
    cases = [
        CaseMoves(path.stem, title, tuple(_blamed(changes, left[path])) if path in left else changes, path in left)
        for path, title, changes in found
    ]
    replaced = len(own.knowledge.replaced)
    return Moves(
        str(own.folders[-1]),
        replaced,
        len(keys) - replaced,
        len(chosen),
        len(files),
        tuple(without),
        len(keys) - len(without),
        tuple(cases),
    )


def own_entries(shop: Shop) -> tuple[str, ...]:
    """'kind/id' of every entry of the shop's own folder, replaced or added, and 'settings' where it has them."""
    folder = Path(shop.folders[-1])
    return tuple(
        sorted(key for key, (file, _, _) in shop.knowledge.places.items() if Path(file).is_relative_to(folder))
    )


def touched_by(shipped: Knowledge, own: Shop, path: Path, keys: Sequence[str]) -> tuple[str, dict[str, int]]:
    """(engine, entry of the folder -> how much it has to say in a case, where it has: a rule that is present, with or
    without the folder, more than one that is absent; a cause, and work that cures it, by the signs that name it;
    settings, limits and the like a little everywhere)."""
    try:
        job = own.open_job(path)
    except HowdeepError:
        return "", dict.fromkeys(keys, 1)
    base = own.knowledge
    facts, _ = facts_of(base, job)
    findings, limits = evaluate_all(base, facts.values), limits_of(base)
    named = Counter(
        cause
        for name, truth in findings.items()
        if truth is Truth.PRESENT
        for cause in base.findings[name].explained_by
    )
    work = Counter[str]()
    for cause, count in named.items():
        for name in base.causes[cause].cured_by:
            work[name] += count
    told: dict[str, int] = {}
    for key in keys:
        kind, _, name = key.partition("/")
        if kind in ("history", "holds", "contradictions", "first_looks", "findings"):
            entries = [getattr(item, kind)[name] for item in (shipped, base) if name in getattr(item, kind)]
            truths = [evaluate(entry.when, facts.values, findings, limits) for entry in entries]
            told[key] = 2 * (Truth.PRESENT in truths) + (kind == "findings" and Truth.ABSENT in truths)
            if kind == "holds" and told[key] and any(_is_made(base, job, entry) for entry in entries):
                told[key] = 1  # its check was made, so it does not stand
        elif kind in ("causes", "operations"):
            told[key] = (named if kind == "causes" else work)[name]
        else:
            told[key] = int(kind != "observations" or name in job.values)
    return str(job.job.engine), {key: much for key, much in told.items() if much}


def _is_made(knowledge: Knowledge, job: OpenJob, hold: Hold) -> bool:
    check = knowledge.checks.get(hold.check)
    return any(name in job.values for name in ((check.observations if check else (hold.check,)) + hold.also_by))


def chosen_for(touched: Mapping[Path, Mapping[str, int]], keys: Sequence[str], most: int) -> list[Path]:
    """So many cases that each entry has its own among them: in turn for each entry the one in which it has most to say
    of those not taken yet."""

    def most_first(key: str) -> list[Path]:
        return sorted(
            (path for path in touched if key in touched[path]), key=lambda path: (-touched[path][key], path.name)
        )

    wanted = {key: most_first(key) for key in keys}
    taken: dict[Path, None] = {}
    while len(taken) < most and any(wanted.values()):
        for key in keys:
            while wanted[key]:
                path = wanted[key].pop(0)
                if path not in taken:
                    taken[path] = None
                    break
            if len(taken) >= most:
                break
    return list(taken)


def _compared(shipped: Shop, own: Shop, path: Path) -> tuple[str, tuple[Change, ...]]:
    job = shipped.open_job(path)
    before = _answer(shipped.knowledge, job, shipped.prices)
    try:
        after = _answer(own.knowledge, own.open_job(path), own.prices)
    except HowdeepError as error:
        return job.job.title, (Change("fault", "", str(error.faults[0])),)
    return job.job.title, tuple(_changes(before, after))


def _answer(knowledge: Knowledge, job: OpenJob, prices: PriceList) -> _Answer:
    facts, _ = facts_of(knowledge, job)
    ready = prepare(knowledge, job, facts, evaluate_all(knowledge, facts.values), prices, steps=False)
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, ())
    line, work = decision.line(decision.job), ready.works[decision.job]
    checks = {*work.before, *work.during, *work.after}
    cautions = {name for item in work.items for name in item.cautions}
    cautions |= {
        f"{name} before {check}"
        for check in checks
        if check in knowledge.observations
        for name in knowledge.observations[check].cautions
    }
    hands = sorted(ready.beliefs.hands().items(), key=lambda item: (-round(item[1], 6), item[0]))[:_LEADING]
    return _Answer(
        tuple(hands),
        f"{decision.kind} {decision.job}",
        "" if line.price is None else f"{line.price:.2f}",
        line.enough,
        {hold.hold: hold.above for hold in ready.case.holds if hold.state == "stands"},
        frozenset(cautions),
        frozenset(danger.subject for danger in decision.dangers),
    )


def _changes(before: _Answer, after: _Answer) -> Iterator[Change]:
    names = [[name for name, _ in answer.leading] for answer in (before, after)]
    if names[0] != names[1] or any(
        abs(was - now) >= _HAND for (_, was), (_, now) in zip(before.leading, after.leading, strict=True)
    ):
        was, now = (
            ", ".join(f"{name} {100 * hand:.0f} %" for name, hand in answer.leading) for answer in (before, after)
        )
        yield Change("cause", was, now)
    if before.answer != after.answer:
        yield Change("answer", before.answer, after.answer)
    elif before.price != after.price:
        yield Change("price", before.price, after.price)
    if before.answer == after.answer and abs(before.enough - after.enough) >= _ENOUGH:
        yield Change("chance", f"{100 * before.enough:.0f} %", f"{100 * after.enough:.0f} %")
    for name, above in sorted(before.holds.items()):
        now_above = after.holds.get(name)
        if now_above is None:
            yield Change("hold", name, "", lost=True)
        elif DEPTH[now_above] > DEPTH[above]:
            yield Change("hold", f"{name} (before {RUNGS[DEPTH[above] + 1]})", "", lost=True)
    yield from (Change("hold", "", name) for name in sorted(after.holds.keys() - before.holds.keys()))
    for what in ("caution", "danger"):
        was, now = getattr(before, f"{what}s"), getattr(after, f"{what}s")
        if what == "caution" and before.answer != after.answer:
            continue  # other work has other cautions
        yield from (Change(what, name, "", lost=True) for name in sorted(was - now))
        if what == "danger":
            yield from (Change(what, "", name) for name in sorted(now - was))


def _without(shipped: Shop, own: Shop, key: str) -> Shop | None:
    """The shop with one entry of its folder left out: the shipped one in its place, or none. None where the rest of the
    folder needs it."""
    kind, _, name = key.partition("/")
    knowledge = own.knowledge
    if kind == "settings":
        changed = dataclasses.replace(knowledge, settings=shipped.knowledge.settings)
    else:
        entries = dict(getattr(knowledge, kind))
        before = getattr(shipped.knowledge, kind).get(name)
        if before is not None:
            entries[name] = before
        elif kind in ("findings", "causes", "operations", "observations", "limits", "checks", "reduced"):
            return None  # other entries may name it
        else:
            del entries[name]
        of_kind: dict[str, Any] = {kind: entries}
        changed = dataclasses.replace(knowledge, **of_kind)
    return dataclasses.replace(own, knowledge=changed)


def _left_out(
    shipped: Shop, without: Mapping[str, Shop], touched: Mapping[Path, Mapping[str, int]]
) -> dict[Path, dict[str, frozenset[tuple[str, str, str]]]]:
    """Case -> entry -> what still moves in it once that entry alone is left out."""
    before = {path: _answer(shipped.knowledge, shipped.open_job(path), shipped.prices) for path in touched}
    left: dict[Path, dict[str, frozenset[tuple[str, str, str]]]] = {path: {} for path in touched}
    for key, shop in without.items():
        for path in touched:
            if key not in touched[path]:
                continue
            try:
                after = _answer(shop.knowledge, shop.open_job(path), shop.prices)
            except (HowdeepError, KeyError):  # what is left of the folder does not hang together
                continue
            left[path][key] = frozenset(_kind_of(change) for change in _changes(before[path], after))
    return left


def _blamed(changes: Sequence[Change], left: Mapping[str, frozenset[tuple[str, str, str]]]) -> Iterator[Change]:
    """Each change with the entries that, left out alone, undo it."""
    for change in changes:
        yield dataclasses.replace(change, by=tuple(key for key in left if _kind_of(change) not in left[key]))


def _kind_of(change: Change) -> tuple[str, str, str]:
    """What makes two changes the same: for holds, cautions and dangers which, for the rest that there is one."""
    named = change.what in ("hold", "caution", "danger")
    return change.what, change.before if named else "", change.after if named else ""
