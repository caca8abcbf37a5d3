"""Right-size parts from teardown measurements: what to order, from what it was measured, and why not another size."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ..model.frozen import dataclass
from . import sizes
from .bores import Bore
from .crank_plan import CrankPlan
from .figures import Band, band, bore_in, shown
from .given import Given
from .journals import Measured, clearance_by_sizes, shell_bore
from .judged import band_of
from .open_crank import clearance_band, plan_journals
from .open_cylinders import fitted_pistons, judged_bores, oversizes_of

GROUND_TO = ", all ground to "
"""Stands before the size that every journal of a kind is ground to."""


@dataclass(frozen=True, slots=True)
class SizeChoice:
    """One size to order."""

    size: str
    """As it goes on the order, e.g. '0.020 in over'."""
    measured_from: str
    """Observation it was measured from."""
    rejected: tuple[str, ...] = ()
    """Why each other size was not chosen."""
    confirmed_by: str = ""
    """The second check and what it said; empty where none was made."""


def _grouped(values: tuple[float | None, ...], text: Callable[[float], str]) -> str:
    """'standard' where all are alike, else 'standard (1, 3), 0.002 in under (2)'."""
    groups: dict[float, list[str]] = {}
    for index, value in enumerate(values):
        if value is not None:
            groups.setdefault(value, []).append(str(index + 1))
    if len(groups) == 1:
        return text(next(iter(groups)))
    return ", ".join(f"{text(size)} ({', '.join(numbers)})" for size, numbers in sorted(groups.items()))


def choose_shells(given: Given) -> Mapping[str, SizeChoice]:
    """Shells for the journals of one kind, as they are or as they will be ground."""
    planned = plan_journals(given.also("journals"))
    if planned is None or given.engine.build.bearings != "inserts":
        return {}
    plan, measured, _, _ = planned
    if all(size is None for size in plan.sizes) or "replace" in plan.acts or "too_close" in plan.acts:
        return {}
    ground = ""
    if plan.grind_to is not None:
        ground = f"{GROUND_TO}{sizes.ground_to_text(plan.grind_to, last=plan.last_size)}"
    return {
        given.fact("size"): SizeChoice(
            _grouped(plan.sizes, sizes.undersize_text) + ground,
            given.reading("size"),
            tuple(item.why for item in plan.rejected),
            _strip(given, plan, measured),
        )
    }


def _strip(given: Given, plan: CrankPlan, measured: tuple[Measured | None, ...]) -> str:
    """What the gauge strip says of the shells that are in now, beside the sizes."""
    read, journal = given.numbers("clearance", "in"), given.journal()
    shell = shell_bore(band(journal.size if journal else None, "in"), clearance_band(given))
    if read is None or shell is None or plan.grind_to is not None:
        return ""
    told = []
    for number, (strip, item, size) in enumerate(zip(read, measured, plan.sizes, strict=True), start=1):
        if strip is not None and item is not None and size is not None:
            now = clearance_by_sizes((item.least + item.most) / 2, shell, size)
            told.append(
                f"{number}: {shown(strip, 'in')} by strip in the old shells, {shown(now, 'in')} expected in "
                f"{sizes.undersize_text(size)}"
            )
    return "; ".join(told)


def choose_shims(given: Given) -> Mapping[str, SizeChoice]:
    """Shims to take from each side of white-metal bearings, rods before mains."""
    thickness, left = given.limit("thickness", "in"), given.word("left")
    if given.engine.build.bearings != "babbitt" or thickness is None or left == "none":
        return {}
    named: list[str] = []
    stuck: list[str] = []
    taken_from = ""
    for kind in ("rods", "mains"):
        rule, values = given.judge(kind), given.numbers(kind, "in")
        if values is None or rule is None:
            continue
        wanted = band_of(given.taken, rule, "in")
        choices = [None if value is None else sizes.choose_shims(value, wanted, thickness.value) for value in values]
        told = [
            f"{index + 1}: {choice.count} from each side"
            for index, choice in enumerate(choices)
            if choice is not None and choice.count
        ]
        if told:
            named.append(f"{kind} {'; '.join(told)}")
            taken_from = taken_from or given.reading(kind)
            stuck += [
                f"{index}: no whole number of {thickness} shims brings {shown(value, 'in')} inside the band"
                for index, (value, choice) in enumerate(zip(values, choices, strict=True), 1)
                if value is not None and choice is not None and choice.count is None
            ]
    if not named:
        return {}
    confirmed = "" if left is None else f"shims left: {left.replace('_', ' ')}"
    return {
        given.fact("shims"): SizeChoice(f"{thickness} shims: {'; '.join(named)}", taken_from, tuple(stuck), confirmed)
    }


def choose_bored(given: Given) -> Mapping[str, SizeChoice]:
    """Bores, pistons, rings and head gasket: the machined size, else rings for the pistons that are in the engine."""
    chosen: dict[str, SizeChoice] = {}
    _bore(given, chosen)
    return chosen


def _bore(given: Given, chosen: dict[str, SizeChoice]) -> None:
    judged, oversizes, measured = judged_bores(given.also("bores")), oversizes_of(given.engine), given.reading("bore")
    known = [item for item in judged or () if item is not None]
    if (
        known
        and any(item.verdict == "too_close" for item in known)
        and not any(item.verdict == "beyond" for item in known)
    ):
        known = []  # measure again first
    worn = any(item.verdict == "beyond" for item in known)
    if worn and given.engine.build.bores == "wet_sleeves":
        for fact in ("pistons", "rings"):
            chosen[given.fact(fact)] = SizeChoice(
                "standard", measured, ("oversizes: a worn wet sleeve is renewed, not bored",)
            )
        return
    if worn:
        choice = sizes.choose_bore(
            [item.most for item in known],
            band(given.engine.bore, "in"),
            oversizes,
            now=[item.oversize for item in known],
        )
        rejected = tuple(item.why for item in choice.rejected)
        if choice.oversize is None:
            whole = len(known) == len(judged or ()) and bool(oversizes)
            _sleeved(given, known if whole else [], oversizes, rejected, chosen)
            return
        text = sizes.oversize_text(choice.oversize)
        for fact in ("bores", "pistons", "rings"):
            chosen[given.fact(fact)] = SizeChoice(text, measured, rejected)
        clear = (bore_in(given.engine) or 0.0) + choice.oversize
        chosen[given.fact("gasket")] = SizeChoice(f"to clear a bore of {clear:.3f} in", measured)
        return
    if known and len(known) == len(judged or ()):
        chosen[given.fact("bores")] = SizeChoice("use as they are", measured)
    _rings(given, oversizes, chosen)


def _sleeved(
    given: Given, every: list[Bore], oversizes: list[float], rejected: tuple[str, ...], chosen: dict[str, SizeChoice]
) -> None:
    """Sizes of a block with a bore past its last oversize; `every` bore, or none where one is not measured."""
    standard, measured = band(given.engine.bore, "in"), given.reading("bore")
    boring = [
        item
        for item in every
        if sizes.choose_bore([item.most], standard, oversizes, now=[item.oversize]).oversize is not None
    ]
    others = sizes.choose_bore(
        [item.most for item in boring], standard, oversizes, now=[item.oversize for item in boring]
    ).oversize
    if every and not boring:
        chosen[given.fact("bores")] = SizeChoice("sleeve every bore back to standard", measured, rejected)
        size = "standard"
    elif others is not None:
        size = sizes.oversize_text(others)
        chosen[given.fact("bores")] = SizeChoice(
            f"{size}; a bore past the last oversize is sleeved and finished to the same", measured, rejected
        )
        clear = (bore_in(given.engine) or 0.0) + others
        chosen[given.fact("gasket")] = SizeChoice(f"to clear a bore of {clear:.3f} in", measured)
    else:
        chosen[given.fact("bores")] = SizeChoice("sleeve: no oversize cleans up the worst bore", measured, rejected)
        return
    for fact in ("pistons", "rings"):
        chosen[given.fact(fact)] = SizeChoice(size, measured, rejected)


def _rings(given: Given, oversizes: list[float], chosen: dict[str, SizeChoice]) -> None:
    """Rings for the pistons that are in the engine."""
    fitted = fitted_pistons(given.also("pistons"))
    if fitted is None:
        return
    choice = sizes.choose_rings(fitted, oversizes)
    skirts = given.numbers("skirt", "in") or ()
    if any(size is None for size, skirt in zip(fitted, skirts, strict=True) if skirt is not None):
        return  # a piston that is no size on the sheet is asked about, not ordered for
    rule = given.judge("gap")
    gaps, wanted = given.numbers("gap", "in"), band_of(given.taken, rule, "in") if rule else Band()
    confirmed = ""
    if gaps is not None and wanted.low is not None and wanted.high is not None:
        error = given.error("gap")
        told = [
            f"{index + 1}: {shown(gap, 'in')} "
            f"{'confirms' if sizes.gap_confirms(gap, wanted, error) else 'does not confirm'}"
            for index, gap in enumerate(gaps)
            if gap is not None
        ]
        confirmed = f"ring gap of {wanted.low} to {wanted.high} wanted; {'; '.join(told)}"
    chosen[given.fact("rings")] = SizeChoice(
        _grouped(choice.oversizes, sizes.oversize_text),
        given.reading("skirt"),
        tuple(item.why for item in choice.rejected),
        confirmed,
    )
