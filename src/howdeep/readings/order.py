"""Right-size parts from teardown measurements: what to order, from what it was measured, and why not another size."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from . import sizes
from .bores import Bore
from .crank_plan import CrankPlan
from .figures import band, bore_in, shown
from .journals import Measured, clearance_by_sizes, shell_bore
from .open_crank import JOURNALS, clearance_band, journal_of, plan_journals
from .open_cylinders import fitted_pistons, judged_bores, oversizes_of, ring_gap_band
from .taken import Taken

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


def choose_sizes(taken: Taken) -> Mapping[str, SizeChoice]:
    """Size fact -> choice, in order of id; only what the measurements decide.

    size.rod_bearings, size.main_bearings: shells. size.bores: what the bores are machined to. size.pistons, size.rings:
    the machined size, else rings for the pistons that are in the engine. size.head_gasket: the bore it must clear.
    size.shims: shims to take from each side of a white-metal bearing.
    """
    chosen: dict[str, SizeChoice] = {}
    for kind, name, _ in JOURNALS:
        _shells(taken, kind, name, chosen)
        _shims(taken, kind, chosen)
    _bore(taken, chosen)
    return dict(sorted(chosen.items()))


def _grouped(values: tuple[float | None, ...], text: Callable[[float], str]) -> str:
    """'standard' where all are alike, else 'standard (1, 3), 0.002 in under (2)'."""
    groups: dict[float, list[str]] = {}
    for index, value in enumerate(values):
        if value is not None:
            groups.setdefault(value, []).append(str(index + 1))
    if len(groups) == 1:
        return text(next(iter(groups)))
    return ", ".join(f"{text(size)} ({', '.join(numbers)})" for size, numbers in sorted(groups.items()))


def _shells(taken: Taken, kind: str, name: str, chosen: dict[str, SizeChoice]) -> None:
    planned = plan_journals(taken, kind)
    if planned is None or taken.engine.build.bearings != "inserts":
        return
    plan, measured, _, _ = planned
    if all(size is None for size in plan.sizes) or "replace" in plan.acts or "too_close" in plan.acts:
        return
    fact = "size.rod_bearings" if kind == "crankpin" else "size.main_bearings"
    ground = f"{GROUND_TO}{sizes.undersize_text(plan.grind_to)}" if plan.grind_to is not None else ""
    chosen[fact] = SizeChoice(
        _grouped(plan.sizes, sizes.undersize_text) + ground,
        name,
        tuple(item.why for item in plan.rejected),
        _strip(taken, kind, plan, measured),
    )


def _strip(taken: Taken, kind: str, plan: CrankPlan, measured: tuple[Measured | None, ...]) -> str:
    """What the gauge strip says of the shells that are in now, beside the sizes."""
    observation = "rod_clearance" if kind == "crankpin" else "main_clearance"
    read, journal = taken.numbers(observation, "in"), journal_of(taken, kind)
    shell = None if journal is None else shell_bore(band(journal.size, "in"), clearance_band(taken, journal))
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


def _shims(taken: Taken, kind: str, chosen: dict[str, SizeChoice]) -> None:
    observation = "rod_clearance" if kind == "crankpin" else "main_clearance"
    values, thickness = taken.numbers(observation, "in"), taken.limits.get("shim_take_up", "in")
    if taken.engine.build.bearings != "babbitt" or values is None or thickness is None:
        return
    wanted = clearance_band(taken, journal_of(taken, kind))
    choices = [None if value is None else sizes.choose_shims(value, wanted, thickness.value) for value in values]
    told = [
        f"{index + 1}: {choice.count} from each side"
        for index, choice in enumerate(choices)
        if choice is not None and choice.count
    ]
    stuck = [
        f"{index}: no whole number of {thickness} shims brings {shown(value, 'in')} inside the band"
        for index, (value, choice) in enumerate(zip(values, choices, strict=True), start=1)
        if value is not None and choice is not None and choice.count is None
    ]
    left = taken.word("shims_left")
    if not told or left == "none":
        return
    name = f"{'rods' if kind == 'crankpin' else 'mains'} {'; '.join(told)}"
    before = chosen.get("size.shims")
    text = f"{thickness} shims: {name}" if before is None else f"{before.size}; {name}"
    chosen["size.shims"] = SizeChoice(
        text,
        before.measured_from if before else observation,
        (*(before.rejected if before else ()), *stuck),
        "" if left is None else f"shims left: {left.replace('_', ' ')}",
    )


def _bore(taken: Taken, chosen: dict[str, SizeChoice]) -> None:
    judged, oversizes = judged_bores(taken), oversizes_of(taken)
    known = [item for item in judged or () if item is not None]
    if (
        known
        and any(item.verdict == "too_close" for item in known)
        and not any(item.verdict == "beyond" for item in known)
    ):
        known = []  # measure again first
    worn = any(item.verdict == "beyond" for item in known)
    if worn and taken.engine.build.bores == "wet_sleeves":
        for fact in ("size.pistons", "size.rings"):
            chosen[fact] = SizeChoice("standard", "bore_size", ("oversizes: a worn wet sleeve is renewed, not bored",))
        return
    if worn:
        choice = sizes.choose_bore(
            [item.most for item in known],
            band(taken.engine.bore, "in"),
            oversizes,
            now=[item.oversize for item in known],
        )
        rejected = tuple(item.why for item in choice.rejected)
        if choice.oversize is None:
            whole = len(known) == len(judged or ()) and bool(oversizes)
            _sleeved(taken, known if whole else [], oversizes, rejected, chosen)
            return
        text = sizes.oversize_text(choice.oversize)
        for fact in ("size.bores", "size.pistons", "size.rings"):
            chosen[fact] = SizeChoice(text, "bore_size", rejected)
        _gasket(taken, choice.oversize, chosen)
        return
    if known and len(known) == len(judged or ()):
        chosen["size.bores"] = SizeChoice("use as they are", "bore_size")
    _rings(taken, oversizes, chosen)


def _gasket(taken: Taken, oversize: float, chosen: dict[str, SizeChoice]) -> None:
    """The head gasket of a block that is bored, where the sheet says from which bore."""
    standard = bore_in(taken.engine)
    if standard is not None:
        chosen["size.head_gasket"] = SizeChoice(f"to clear a bore of {standard + oversize:.3f} in", "bore_size")


def _sleeved(
    taken: Taken, every: list[Bore], oversizes: list[float], rejected: tuple[str, ...], chosen: dict[str, SizeChoice]
) -> None:
    """Sizes of a block with a bore past its last oversize; `every` bore, or none where one is not measured."""
    standard = band(taken.engine.bore, "in")
    boring = [
        item
        for item in every
        if sizes.choose_bore([item.most], standard, oversizes, now=[item.oversize]).oversize is not None
    ]
    others = sizes.choose_bore(
        [item.most for item in boring], standard, oversizes, now=[item.oversize for item in boring]
    ).oversize
    if every and not boring:
        chosen["size.bores"] = SizeChoice("sleeve every bore back to standard", "bore_size", rejected)
        size = "standard"
    elif others is not None:
        size = sizes.oversize_text(others)
        chosen["size.bores"] = SizeChoice(
            f"{size}; a bore past the last oversize is sleeved and finished to the same", "bore_size", rejected
        )
        _gasket(taken, others, chosen)
    else:
        chosen["size.bores"] = SizeChoice("sleeve: no oversize cleans up the worst bore", "bore_size", rejected)
        return
    for fact in ("size.pistons", "size.rings"):
        chosen[fact] = SizeChoice(size, "bore_size", rejected)


def _rings(taken: Taken, oversizes: list[float], chosen: dict[str, SizeChoice]) -> None:
    """Rings for the pistons that are in the engine."""
    fitted = fitted_pistons(taken)
    if fitted is None:
        return
    choice = sizes.choose_rings(fitted, oversizes)
    skirts = taken.numbers("piston_skirt_size", "in") or ()
    if any(size is None for size, skirt in zip(fitted, skirts, strict=True) if skirt is not None):
        return  # a piston that is no size on the sheet is asked about, not ordered for
    gaps, wanted = taken.numbers("ring_gap_measured", "in"), ring_gap_band(taken)
    confirmed = ""
    if gaps is not None and wanted.low is not None and wanted.high is not None:
        told = [
            f"{index + 1}: {shown(gap, 'in')} {'confirms' if sizes.gap_confirms(gap, wanted) else 'does not confirm'}"
            for index, gap in enumerate(gaps)
            if gap is not None
        ]
        confirmed = f"ring gap of {wanted.low} to {wanted.high} wanted; {'; '.join(told)}"
    chosen["size.rings"] = SizeChoice(
        _grouped(choice.oversizes, sizes.oversize_text),
        "piston_skirt_size",
        tuple(item.why for item in choice.rejected),
        confirmed,
    )
