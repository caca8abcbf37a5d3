"""What the journals of one kind need: use as they are, polish, grind all, or another crankshaft. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from ..model.frozen import dataclass
from .figures import Band
from .journals import Measured, shell_bore
from .sizes import FUZZ, Rejected, choose_grind, choose_shell, ground_to_text

Act = Literal["good", "polish", "grind", "replace", "too_close"]


@dataclass(frozen=True, slots=True)
class CrankPlan:
    """What the journals of one kind need and the shells that go with it."""

    acts: tuple[Act | None, ...]
    """One for each journal; None where not measured."""
    sizes: tuple[float | None, ...]
    """Undersize of the shells for each journal; None where it is not known yet."""
    grind_to: float | None
    """Undersize that all are ground to; None where none is ground."""
    last_size: bool
    """Whether that is the last undersize that this shaft can be ground to."""
    rejected: tuple[Rejected, ...]
    why: tuple[str, ...]
    """One sentence for each journal that is not good."""


@dataclass(frozen=True, slots=True)
class _Fit:
    """The shell for one journal as it stands."""

    size: float | None
    known: bool
    """Whether the sheet says enough to choose a shell at all."""
    in_service: bool = False
    """It fits only up to the wear limit of the clearance."""
    nearly: bool = False
    """None fits, but one would within the micrometer's error."""


def _shell_for(
    item: Measured, common: float | None, standard: Band, clearance: Band, undersizes: Sequence[float], error: float
) -> _Fit:
    if shell_bore(standard, clearance) is None:
        return _Fit(None, False)
    if common is not None:
        return _Fit(common, True)
    journal = [(item.least, item.most)]
    own = choose_shell(journal, standard, clearance, undersizes).undersize
    if own is not None:
        return _Fit(own, True)
    if clearance.wear is not None:
        # a worn journal may stay with new shells while its clearance is inside the wear limit everywhere: where the
        # sheet names a smallest diameter before regrinding, or where its middle diameter is inside the new band
        own = choose_shell(journal, standard, clearance, undersizes, up_to=clearance.wear.value).undersize
        middle = (item.least + item.most) / 2
        in_band = choose_shell([(middle, middle)], standard, clearance, undersizes).undersize
        if own is not None and (standard.wear is not None or own == in_band):
            return _Fit(own, True, in_service=True)
    near = choose_shell(journal, standard, clearance, undersizes, slack=error).undersize is not None
    return _Fit(None, True, nearly=near)


def _act(
    item: Measured, verdict: str | None, look: str | None, fit: _Fit, standard: Band, wear: float | None, error: float
) -> tuple[Act, str]:
    """What one journal needs and why; an empty reason for a good one."""
    short = standard.wear.value - item.undersize - item.least if standard.wear is not None else None
    if verdict == "beyond":
        return "grind", "out of round or tapered past its limit"
    if short is not None and short > error + FUZZ:
        return "grind", f"{short:.4f} in below the smallest diameter before regrinding"
    if fit.known and fit.size is None and not fit.nearly:
        return "grind", "no shell on the sheet gives a clearance inside the band"
    if short is None and not fit.known and wear is not None and item.wear > wear + error + FUZZ:
        return "grind", f"{item.wear:.4f} in below its low limit"
    if verdict == "too_close" or fit.nearly or (short is not None and short > -error + FUZZ):
        return "too_close", "within the micrometer's error of its limit; measure again"
    if short is None and not fit.known and wear is not None and item.wear > wear - error + FUZZ:
        return "too_close", "within the micrometer's error of its limit; measure again"
    if fit.in_service:
        return "polish", "worn, but inside the sheet's limits; new shells leave more than the new clearance"
    if verdict == "usable" or look in ("worn", "smeared", "broken_up"):
        return "polish", "within its limits but marked or half-way to them"
    return "good", ""


def plan_crank(
    journals: Sequence[Measured | None],
    verdicts: Sequence[str | None],
    looks: Sequence[str | None],
    standard: Band,
    clearance: Band,
    undersizes: Sequence[float],
    *,
    error: float,
    wear: float | None = None,
    smallest: float | None = None,
    most_under: float | None = None,
) -> CrankPlan:
    """Use as it is, polish, grind (all of them if one) or replace the crankshaft.

    `verdicts` are the worst of taper and out-of-round for each journal (good, usable, too_close, beyond or None),
    `looks` what its bearing looks like (good, worn, smeared, broken_up or None). `standard.wear` is the sheet's
    smallest diameter before regrinding; `wear` is how far below the low limit of its size a journal may be where
    neither that nor a clearance band says which journals can stay; `error` how far one reading may stand off the truth.

    A journal is ground where it is out of round or tapered past its limit, or where no shell on the sheet gives a
    clearance inside the band; it is polished where it is within its limits but marked: half-way to them, or under a
    bearing that has worn or smeared.
    """
    known = [(item.least, item.most) for item in journals if item is not None]
    common = choose_shell(known, standard, clearance, undersizes)
    acts: list[Act | None] = []
    sizes: list[float | None] = []
    why: list[str] = []
    rejected = list(common.rejected)
    for number, (item, verdict, look) in enumerate(zip(journals, verdicts, looks, strict=True), start=1):
        if item is None:
            acts.append(None)
            sizes.append(None)
            continue
        fit = _shell_for(item, common.undersize, standard, clearance, undersizes, error)
        act, reason = _act(item, verdict, look, fit, standard, wear, error)
        acts.append(act)
        sizes.append(None if act == "grind" else fit.size)
        if reason:
            why.append(f"{number}: {reason}")
    if "grind" not in acts:
        return CrankPlan(tuple(acts), tuple(sizes), None, False, tuple(rejected), tuple(why))
    if standard.low is None:
        return CrankPlan(
            tuple(None if act is None else "grind" for act in acts),
            (None,) * len(acts),
            None,
            False,
            tuple(rejected),
            (
                *why,
                "if one of them is ground all are; the standard size is not known: the grinder settles the undersize",
            ),
        )
    ground = choose_grind(known, standard, undersizes, smallest=smallest, most_under=most_under)
    if ground.undersize is None:
        replaced = tuple("replace" if act == "grind" else act for act in acts)
        return CrankPlan(
            replaced,
            (None,) * len(acts),
            None,
            False,
            ground.rejected,
            (*why, "no undersize on the sheet cleans up the smallest journal: another crankshaft"),
        )
    return CrankPlan(
        tuple(None if act is None else "grind" for act in acts),
        tuple(None if act is None else ground.undersize for act in acts),
        ground.undersize,
        ground.last,
        ground.rejected,
        (*why, f"if one of them is ground all are: {ground_to_text(ground.undersize, last=ground.last)}"),
    )
