"""What the journals of one kind need: use as they are, polish, grind all, or another crankshaft. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from . import gauges
from .figures import Band
from .journals import Measured, shell_bore
from .sizes import FUZZ, Rejected, choose_grind, choose_shell, undersize_text

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
    rejected: tuple[Rejected, ...]
    why: tuple[str, ...]
    """One sentence for each journal that is not good."""


def plan_crank(
    journals: Sequence[Measured | None],
    verdicts: Sequence[str | None],
    looks: Sequence[str | None],
    standard: Band,
    clearance: Band,
    undersizes: Sequence[float],
    *,
    wear: float | None = None,
    smallest: float | None = None,
    most_under: float | None = None,
) -> CrankPlan:
    """Use as it is, polish, grind (all of them if one) or replace the crankshaft.

    `verdicts` are the worst of taper and out-of-round for each journal (good, usable, too_close, beyond or None),
    `looks` what its bearing looks like (good, worn, smeared, broken_up or None). `standard.wear` is the sheet's
    smallest diameter before regrinding; `wear` is how far below the low limit of its size a journal may be where
    neither that nor a clearance band says which journals can stay.

    A journal is ground where it is out of round or tapered past its limit, or where no shell on the sheet gives a
    clearance inside the band; it is polished where it is within its limits but marked: half-way to them, or under a
    bearing that has worn or smeared.
    """
    known = [(item.least, item.most) for item in journals if item is not None]
    common = choose_shell(known, standard, clearance, undersizes)
    can_choose = shell_bore(standard, clearance) is not None
    error = gauges.error("micrometer")
    acts: list[Act | None] = []
    sizes: list[float | None] = []
    why: list[str] = []
    rejected = list(common.rejected)
    for number, (item, verdict, look) in enumerate(zip(journals, verdicts, looks, strict=True), start=1):
        if item is None:
            acts.append(None)
            sizes.append(None)
            continue
        own = (
            common.undersize
            if common.undersize is not None
            else choose_shell([(item.least, item.most)], standard, clearance, undersizes).undersize
        )
        act: Act = "good"
        short = standard.wear.value - item.undersize - item.least if standard.wear is not None else None
        if verdict == "beyond":
            act = "grind"
            why.append(f"{number}: out of round or tapered past its limit")
        elif can_choose and own is None:
            act = "grind"
            why.append(f"{number}: no shell on the sheet gives a clearance inside the band")
        elif short is not None and short > error + FUZZ:
            act = "grind"
            why.append(f"{number}: {short:.4f} in below the smallest diameter before regrinding")
        elif short is None and not can_choose and wear is not None and item.wear > wear + error:
            act = "grind"
            why.append(f"{number}: {item.wear:.4f} in below its low limit")
        elif verdict == "too_close" or (short is not None and short >= -error + FUZZ):
            act = "too_close"
            why.append(f"{number}: within the micrometer's error of its limit; measure again")
        elif verdict == "usable" or look in ("worn", "smeared", "broken_up"):
            act = "polish"
            why.append(f"{number}: within its limits but marked or half-way to them")
        acts.append(act)
        sizes.append(own if act != "grind" else None)
    if "grind" not in acts:
        return CrankPlan(tuple(acts), tuple(sizes), None, tuple(rejected), tuple(why))
    ground = choose_grind(known, standard, undersizes, smallest=smallest, most_under=most_under)
    if ground.undersize is None:
        replaced = tuple("replace" if act == "grind" else act for act in acts)
        return CrankPlan(
            replaced,
            (None,) * len(acts),
            None,
            ground.rejected,
            (*why, "no undersize on the sheet cleans up the smallest journal: another crankshaft"),
        )
    return CrankPlan(
        tuple(None if act is None else "grind" for act in acts),
        tuple(None if act is None else ground.undersize for act in acts),
        ground.undersize,
        ground.rejected,
        (*why, f"if one is ground all are: {undersize_text(ground.undersize)}"),
    )
