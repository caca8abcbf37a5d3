"""Crankpins, main journals, their bearings and the end play as measured at teardown."""

from __future__ import annotations

from ..model.engine import Journal
from . import journals
from .crank_plan import CrankPlan, plan_crank
from .figures import Band, Figure, above, amounts, band, figure, filled, first, shown
from .journals import Measured
from .judge import Judged, Verdict, basis_of, worst
from .taken import Collect, Taken
from .telling import add_verdicts, say_close, say_tight, told_of


def reduce_crank(taken: Taken, out: Collect) -> None:
    """Facts crankpin.*, main.*, rod.*, end_play.* and crank.*."""
    for part in (_crank, _clearances, _end_play, _bend):
        part(taken, out)


JOURNALS = (("crankpin", "crankpin_size", "bearing_look"), ("main", "main_size", "main_bearing_look"))


def journal_of(taken: Taken, kind: str) -> Journal | None:
    """The sheet's crankpins or mains."""
    return taken.engine.crankpins if kind == "crankpin" else taken.engine.mains


def undersizes_of(journal: Journal) -> list[float]:
    """Undersizes on the sheet, in inches, smallest first."""
    return sorted(amounts(journal.undersizes, "in"))


def clearance_band(taken: Taken, journal: Journal | None) -> Band:
    """Oil clearance: the sheet's band, else general ones by the diameter; the replace limit of the sheet, else the high
    limit and so much per inch of diameter."""
    size = band(journal.size, "in").middle() if journal else None
    given = band(journal.clearance, "in") if journal else Band()
    new = filled(
        given,
        low=taken.per_inch("bearing_clearance_low_per_inch", size),
        high=taken.per_inch("bearing_clearance_high_per_inch", size),
    )
    over = above(new.high, taken.per_inch("bearing_clearance_over_high_per_inch", size))
    return Band(new.low, new.high, first(given.wear, over))


def journal_limits(taken: Taken, journal: Journal) -> tuple[Figure | None, Figure | None, float]:
    """Limits of out-of-round and taper, and up to what polishing is enough."""
    size = band(journal.size, "in").middle()
    oval = first(figure(journal.out_of_round, "in"), taken.per_inch("journal_out_of_round_per_inch", size))
    tapered = first(figure(journal.taper, "in"), taken.limits.get("journal_taper", "in"))
    polish = taken.limits.get("journal_polish_to", "in")
    return oval, tapered, polish.value if polish else 0.0005


def plan_journals(taken: Taken, kind: str) -> tuple[CrankPlan, tuple[Measured | None, ...], str, str] | None:
    """What the journals of one kind need, with their measures, one sentence and what judged them; None where
    none was measured."""
    journal = journal_of(taken, kind)
    name, look = next((size, look) for item, size, look in JOURNALS if item == kind)
    grids = taken.grids(name, "in")
    if journal is None or grids is None:
        return None
    standard, undersizes = band(journal.size, "in"), undersizes_of(journal)
    oval, tapered, polish = journal_limits(taken, journal)
    measured = tuple(None if grid is None else journals.measure(grid, standard, undersizes) for grid in grids)
    verdicts: list[Verdict | None] = []
    judged: list[Judged | None] = []
    told = []
    for number, item in enumerate(measured, start=1):
        if item is None:
            verdicts.append(None)
            continue
        parts = {
            "out of round": journals.judge_round(item, oval, polish),
            "taper": journals.judge_taper(item, tapered, polish),
        }
        judged += parts.values()
        verdicts.append(worst(part.verdict for part in parts.values() if part is not None))
        spans = "".join(
            f", {name} {shown(part.measured, 'in')} (limit {shown(part.limit, 'in') if part.limit else 'unknown'})"
            for name, part in parts.items()
            if part is not None
        )
        told.append(f"{number}: {shown(item.least, 'in')} to {shown(item.most, 'in')}{spans}")
    looks = taken.words(look) or (None,) * len(measured)
    # white metal is poured and fitted to the journal: no shell decides whether it can stay
    babbitt = taken.engine.build.bearings == "babbitt"
    clearance = Band() if babbitt else clearance_band(taken, journal)
    wear, most = taken.limits.get("journal_wear", "in"), taken.limits.get("journal_regrind_most", "in")
    smallest = figure(journal.smallest, "in")
    plan = plan_crank(
        measured,
        verdicts,
        looks,
        standard,
        clearance,
        undersizes,
        wear=wear.value if wear else None,
        smallest=smallest.value if smallest else None,
        most_under=most.value if most else None,
    )
    return plan, measured, "; ".join((*told, *plan.why)), basis_of(judged)


def _crank(taken: Taken, out: Collect) -> None:
    for kind, name, _ in JOURNALS:
        planned = plan_journals(taken, kind)
        if planned is None:
            continue
        plan, _, told, basis = planned
        out.fact(f"{kind}.verdict", plan.acts, told, basis)
        close = [str(index + 1) for index, act in enumerate(plan.acts) if act == "too_close"]
        if close:
            out.remark(
                name,
                "too close to call",
                f"journal {', '.join(close)}: within the micrometer's error of a limit; measure again.",
                name,
            )


def _clearances(taken: Taken, out: Collect) -> None:
    for kind, name in (("crankpin", "rod_clearance"), ("main", "main_clearance")):
        values = taken.numbers(name, "in")
        if values is None:
            continue
        limits = clearance_band(taken, journal_of(taken, kind))
        add_verdicts(
            out,
            f"{'rod' if kind == 'crankpin' else 'main'}.clearance_verdict",
            name,
            [None if value is None else journals.judge_clearance(value, limits) for value in values],
        )


def _end_play(taken: Taken, out: Collect) -> None:
    play = taken.number("end_play_measured", "in")
    if play is None:
        return
    given = band(taken.engine.end_play, "in")
    new = filled(given, low=taken.limits.get("end_play_low", "in"), high=taken.limits.get("end_play_high", "in"))
    limits = Band(new.low, new.high, first(given.wear, above(new.high, taken.limits.get("end_play_over_high", "in"))))
    judged = journals.judge_end_play(play, limits)
    out.fact("end_play.verdict", judged.verdict, told_of(judged), judged.basis)
    say_close(out, "end_play_measured", {1: judged})
    say_tight(out, "end_play_measured", {1: judged})


def _bend(taken: Taken, out: Collect) -> None:
    bend, limit = taken.number("crank_bend_measured", "in"), taken.limits.get("crank_bend", "in")
    if bend is None or limit is None:
        return
    judged = journals.judge_bend(bend, limit)
    out.fact("crank.bend_verdict", judged.verdict, told_of(judged), judged.basis)
    say_close(out, "crank_bend_measured", {1: judged})
