"""Crankpins and main journals as measured at teardown."""

from __future__ import annotations

from ..model.engine import Journal
from . import journals
from .crank_plan import CrankPlan, plan_crank
from .figures import Band, Figure, band, figure, first, shown
from .given import Given
from .journals import Measured
from .judge import Judged, Verdict, basis_of, worst
from .judged import band_of
from .measured import Collect


def undersizes_of(journal: Journal) -> list[float]:
    """Undersizes on the sheet, in inches, smallest first."""
    return sorted(item.value for item in (figure(text, "in") for text in journal.undersizes) if item)


def clearance_band(given: Given) -> Band:
    """Oil clearance as the fact that judges it is held to."""
    rule = given.judge("clearance")
    return band_of(given.taken, rule, "in") if rule is not None else Band()


def journal_limits(given: Given, journal: Journal) -> tuple[Figure | None, Figure | None, float]:
    """Limits of out-of-round and taper, and up to what polishing is enough."""
    size = band(journal.size, "in").middle()
    oval = first(figure(journal.out_of_round, "in"), given.limit("out_of_round", "in", size))
    tapered = first(figure(journal.taper, "in"), given.limit("taper", "in"))
    polish = given.limit("polish", "in")
    return oval, tapered, polish.value if polish else 0.0005


def plan_journals(given: Given) -> tuple[CrankPlan, tuple[Measured | None, ...], str, str] | None:
    """What the journals of one kind need, with their measures, one sentence and what judged them; None where
    none was measured."""
    journal, grids, error = given.journal(), given.grids("size", "in"), given.error("gauge")
    if journal is None or grids is None:
        return None
    standard, undersizes = band(journal.size, "in"), undersizes_of(journal)
    oval, tapered, polish = journal_limits(given, journal)
    measured = tuple(None if grid is None else journals.measure(grid, standard, undersizes, error) for grid in grids)
    verdicts: list[Verdict | None] = []
    told: list[str] = []
    judged: list[Judged | None] = []
    for number, item in enumerate(measured, start=1):
        if item is None:
            verdicts.append(None)
            continue
        parts = {
            "out of round": journals.judge_round(item, oval, polish, error),
            "taper": journals.judge_taper(item, tapered, polish, error),
        }
        judged += parts.values()
        verdicts.append(worst(part.verdict for part in parts.values() if part is not None))
        spans = "".join(
            f", {name} {shown(part.measured, 'in')} (limit {shown(part.limit, 'in') if part.limit else 'unknown'})"
            for name, part in parts.items()
            if part is not None
        )
        told.append(f"{number}: {shown(item.least, 'in')} to {shown(item.most, 'in')}{spans}")
    looks = given.words("look") or (None,) * len(measured)
    # white metal is poured and fitted to the journal: no shell decides whether it can stay
    babbitt = given.engine.build.bearings == "babbitt"
    clearance = Band() if babbitt else clearance_band(given)
    wear, most = given.limit("wear", "in"), given.limit("most_under", "in")
    smallest = figure(journal.smallest, "in")
    plan = plan_crank(
        measured,
        verdicts,
        looks,
        standard,
        clearance,
        undersizes,
        error=error,
        wear=wear.value if wear else None,
        smallest=smallest.value if smallest else None,
        most_under=most.value if most else None,
    )
    return plan, measured, "; ".join((*told, *plan.why)), basis_of(judged)


def reduce_journals(given: Given, out: Collect) -> None:
    """What the journals of one kind need."""
    planned, name = plan_journals(given), given.reading("size")
    if planned is None:
        return
    plan, _, told, basis = planned
    out.fact(given.fact("verdict"), plan.acts, told, basis)
    close = [str(index + 1) for index, act in enumerate(plan.acts) if act == "too_close"]
    if close:
        out.remark(
            name,
            "too close to call",
            f"journal {', '.join(close)}: within the micrometer's error of a limit; measure again.",
            name,
        )
