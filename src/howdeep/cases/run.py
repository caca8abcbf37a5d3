"""Worked cases: jobs with the outcome expected of them, run as tests of the rule base."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import Fault, HowdeepError
from ..knowledge.where import HANDBOOKS
from ..model.frozen import dataclass
from ..model.results import Assessment
from ..quote.build import build_quote
from .expected import failed, misnamed
from .figures import Figures, figures_of, moved, read_figures, said, write_figures

if TYPE_CHECKING:
    from ..assessment.session import Shop


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
    wrong = tuple(misnamed(expect, shop.knowledge))
    if wrong:
        return CaseResult(path.stem, job.job.title, wrong, "")
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
