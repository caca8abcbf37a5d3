"""Worked cases: jobs with the outcome expected of them, run as tests of the rule base."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import Fault, HowdeepError
from ..knowledge.where import HANDBOOKS
from ..model.frozen import dataclass
from ..model.job import Expect
from ..model.results import Assessment
from ..model.truth import Truth
from ..quote.build import build_quote
from .figures import Figures, figures_of, moved, read_figures, said, write_figures

if TYPE_CHECKING:
    from ..assessment.session import Shop

LEADING = 5
CLEARLY_LEADING = 3
SUSPECT = 0.35
"""A cause less likely to have a hand in it calls for no work of its own: it leads in name only."""
CERTAIN = 0.9
"""A cause this probable is among the leading ones, however many others are as sure."""


@dataclass(frozen=True, slots=True)
class CaseResult:
    """How one case went."""

    name: str
    title: str
    failures: tuple[str, ...]
    """Expectations that do not hold, each with what was found instead."""
    known_gap: str
    """Why it is expected to fail today; empty where it is not."""
    moved: str = ""
    """Figures that are no longer those kept of it, in one line; empty where none has moved."""

    @property
    def holds(self) -> bool:
        """Whether every expectation is met and no figure has moved."""
        return not self.failures and not self.moved


def case_files(folder: Path) -> list[Path]:
    """Case files of a folder, in order of name; what published works say stands beside them and is no case."""
    folder = Path(folder)
    named = folder.resolve().name
    files = [
        path
        for path in sorted(folder.rglob("*.yaml"))
        if HANDBOOKS not in (named, *path.relative_to(folder).parts[:-1])
    ]
    if not files:
        raise HowdeepError(Fault(str(folder), 0, 0, "holds no cases (*.yaml)"))
    return files


def run_one(shop: Shop, path: Path) -> list[CaseResult]:
    """Run one case, held to the figures kept beside it."""
    return [run_case(shop, path, read_figures(path.parent) if len(shop.folders) == 1 else {})]


def run_folder(shop: Shop, folder: Path, *, figures: bool = True) -> list[CaseResult]:
    """Run every case of a folder. A case that cannot be read fails with its faults.

    Where figures are kept beside the cases they must not have moved; but a shop's own rules laid over the shipped ones
    are meant to move them, and are held to the expectations alone, as every case is without `figures`.
    """
    kept = read_figures(folder) if len(shop.folders) == 1 and figures else {}
    paths = case_files(folder)
    results = [run_case(shop, path, kept) for path in paths]
    gone = sorted(kept.keys() - {path.stem for path in paths})
    return results + [CaseResult(name, "", (), "", "figures are kept of a case that is gone") for name in gone]


def run_case(shop: Shop, path: Path, kept: Mapping[str, Figures] | None = None) -> CaseResult:
    """Run one case; with `kept` figures of its folder, hold it to them as well."""
    try:
        job = shop.open_job(path)
    except HowdeepError as error:
        return CaseResult(path.stem, "", tuple(str(fault) for fault in error.faults), "")
    expect = job.job.expect
    if expect is None:
        return CaseResult(path.stem, job.job.title, (f"{path.name}: a case says what it expects (expect: ...)",), "")
    answer = shop.assess(job, checks=False, flips=False)
    if expect.kind or expect.next_check or answer.decision.kind == "stop":  # what hangs on the ranking of the checks
        answer = shop.assess(job, flips=False)
    failures = tuple(failed(expect, answer))
    if expect.quote_total and shop.prices is not None:
        total = build_quote(shop.knowledge, answer, shop.prices).total
        if total is None or f"{total:.2f}" != expect.quote_total:
            failures = (*failures, f"quote total: expected {expect.quote_total}, found {total}")
    if expect.known_gap:
        if failures:
            return CaseResult(path.stem, job.job.title, (), expect.known_gap)
        failures = ("this known gap is closed: take 'known_gap' out",)
    return CaseResult(
        path.stem, job.job.title, failures, expect.known_gap, off_figures(kept, path.stem, answer) if kept else ""
    )


def off_figures(kept: Mapping[str, Figures], name: str, answer: Assessment) -> str:
    """What no longer agrees with the figures kept of a case, in one line; empty where all does."""
    if name not in kept:
        return "no figures are kept of it (howdeep cases --keep-figures)"
    moves = list(moved(kept[name], figures_of(answer)))
    return said(moves) if moves else ""


def keep_figures(shop: Shop, folder: Path) -> Path:
    """Keep the figures that the cases of a folder give now. Raises HowdeepError where one cannot be read."""
    found = {
        path.stem: figures_of(shop.assess(shop.open_job(path), checks=False, flips=False))
        for path in case_files(folder)
    }
    return write_figures(folder, found)


def failed(expect: Expect, answer: Assessment) -> Iterator[str]:
    """Every expectation that the answer does not meet."""
    order = [belief.cause for belief in answer.beliefs]
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    present = sorted(order, key=lambda name: -odds[name])  # what may be there stands beside what has a hand in it
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    shown = ", ".join(f"{name} {hands[name]:.2f}" for name in order[:LEADING])
    certain = {belief.cause for belief in answer.beliefs if belief.hand >= CERTAIN}
    if expect.first and order[0] not in expect.first and not (answer.decision.opened and certain & set(expect.first)):
        yield f"first cause: expected {' or '.join(expect.first)}, found {shown}"
    for name in expect.among_leading:
        if name not in order[:LEADING] and name not in present[:LEADING] and odds.get(name, 0.0) < CERTAIN:
            yield f"among the leading {LEADING}: expected {name} ({odds.get(name, 0):.2f}), found {shown}"
    for name in expect.not_leading:
        if name in order[:CLEARLY_LEADING] and hands[name] >= SUSPECT:
            yield f"not among the leading {CLEARLY_LEADING}: {name}, found {shown}"
    rung = answer.decision.rung
    if expect.scope and rung not in expect.scope:
        yield f"scope: expected {' or '.join(expect.scope)}, found {rung} ({_ladder(answer)})"
    if rung in expect.not_scope:
        yield f"scope: must not be {rung} ({_ladder(answer)})"
    if expect.kind and answer.decision.kind not in expect.kind:
        yield f"kind: expected {' or '.join(expect.kind)}, found {answer.decision.kind}"
    if expect.job and answer.decision.job not in expect.job:
        yield f"job: expected {' or '.join(expect.job)}, found {answer.decision.job}"
    if expect.next_check:
        asked = answer.checks and answer.decision.then == "check_first"
        best = answer.checks[0].check if asked else "quote_now"
        if best not in expect.next_check:
            yield f"next check: expected {' or '.join(expect.next_check)}, found {best}"
    for truth, names in (
        (Truth.PRESENT, expect.present),
        (Truth.ABSENT, expect.absent),
        (Truth.UNKNOWN, expect.unknown),
    ):
        for name in names:
            found = answer.conclusions.findings.get(name)
            if found is not truth:
                yield f"finding {name}: expected {truth.value}, found {found.value if found else 'no such finding'}"
    states = {hold.hold: hold.state for hold in answer.holds}
    for name in expect.held_by:
        if states.get(name) != "stands":
            yield f"hold {name}: expected to stand, found {states.get(name, 'not called for')}"
    for name in expect.not_held_by:
        if states.get(name) == "stands":
            yield f"hold {name}: must not stand"
    invalid = {remark.observation for remark in answer.facts.remarks if remark.kind in ("not valid", "refused")}
    for name in expect.invalid:
        if name not in invalid:
            yield f"not valid: expected {name}, found {', '.join(sorted(invalid)) or 'none'}"
    for name in expect.contradictions:
        if name not in answer.contradictions:
            yield f"contradiction: expected {name}, found {', '.join(answer.contradictions) or 'none'}"
    work = {entry.operation for entry in answer.works[answer.decision.job].items if not entry.if_found}
    done = (
        work
        if answer.decision.kind != "stop"
        else work
        | {  # to stop weighs the rebuild that is not done
            entry.operation for entry in answer.works["rebuild"].items if not entry.if_found
        }
    )
    for name in expect.operations:
        if name not in done:
            yield f"operation {name}: expected in the work"
    for name in expect.not_operations:
        if name in work:
            yield f"operation {name}: must not be in the work"
    for verdict in expect.worth:
        if verdict not in answer.decision.worth:
            yield f"{verdict}: expected, found {' and '.join(answer.decision.worth) or 'no value stated'}"
    for verdict in expect.not_worth:
        if verdict in answer.decision.worth:
            yield f"{verdict}: must not be said ({answer.decision.beyond})"


def _ladder(answer: Assessment) -> str:
    return ", ".join(
        f"{line.rung} {line.enough:.2f}" + (f" {line.expected:.0f}" if line.expected is not None else "")
        for line in answer.decision.ladder
    )
