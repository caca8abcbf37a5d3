"""Bores, pistons, rings and sleeves as measured at teardown."""

from __future__ import annotations

from ..model.values import Grid
from . import bores, sizes
from .bores import cells
from .figures import Band, Figure, amounts, band, bore_in, figure, filled, first, shown
from .judge import Judged, basis_of
from .taken import Collect, Taken
from .telling import add_verdicts, all_told, in_words, say_close


def reduce_cylinders(taken: Taken, out: Collect) -> None:
    """Facts bore.*, piston.*, ring.* and sleeve.*."""
    for part in (_bores, _pistons, _rings, _sleeves):
        part(taken, out)


def oversizes_of(taken: Taken) -> list[float]:
    """Piston oversizes on the sheet, in inches, smallest first."""
    return sorted(amounts(taken.engine.oversizes, "in"))


def judged_bores(taken: Taken) -> tuple[bores.Bore | None, ...] | None:
    """Every bore against its limits; None where none was measured."""
    grids = taken.grids("bore_size", "in")
    if grids is None:
        return None
    engine, size = taken.engine, bore_in(taken.engine)
    standard, stroke = band(engine.bore, "in"), figure(engine.stroke, "in")
    wear = first(standard.wear, taken.per_inch("bore_wear_per_inch", size))
    tapered = first(
        figure(engine.bore_taper, "in"), taken.per_inch("bore_taper_per_inch", stroke.value if stroke else None)
    )
    oval = first(figure(engine.bore_out_of_round, "in"), taken.limits.get("bore_out_of_round", "in"))
    share = taken.limits.get("bore_limit_share_usable", "percent")
    return tuple(
        None
        if grid is None
        else bores.judge_bore(
            grid,
            standard if first(standard.high, standard.low) else least_of(grid),
            oversizes_of(taken),
            wear=wear,
            taper_limit=tapered,
            round_limit=oval,
            usable_share=share.value / 100.0 if share else 0.5,
        )
        for grid in grids
    )


def least_of(grid: Grid) -> Band:
    """The least reading of a bore for its size, where nobody knows the standard: wear is then at least what shows."""
    taken = cells(grid)
    least = Figure(min(taken), "in", "arithmetic") if taken else None
    return Band(least, least)


def _bores(taken: Taken, out: Collect) -> None:
    judged = judged_bores(taken)
    if judged is None:
        return
    standard = band(taken.engine.bore, "in")
    known = first(standard.high, standard.low) is not None
    if not known:
        out.remark(
            "bore_size",
            "conditions not recorded",
            "The standard bore is not known: each bore is held to its own least-worn place, so it may be worn more "
            "than it shows. Read the piston crown or the manual for its size.",
        )

    def column(part: str) -> tuple[Judged | None, ...]:
        return tuple(None if item is None else getattr(item, part) for item in judged)

    for fact in ("wear", "taper", "out_of_round"):
        values = column(fact)
        if any(item is not None for item in values):
            basis = basis_of(values)
            out.fact(
                f"bore.{fact}",
                tuple(None if item is None else item.measured for item in values),
                all_told(values),
                basis,
            )
    told = "; ".join(
        f"{index + 1}: {sizes.oversize_text(item.oversize) if known else shown(item.least, 'in')} bore, "
        f"{in_words(item.verdict)}"
        for index, item in enumerate(judged)
        if item is not None
    )
    stands = {item.oversize for item in judged if item is not None}
    if len(stands) > 1:
        told += "; the bores do not all stand at the same size"
    parts = [part for item in judged if item is not None for part in (item.wear, item.taper, item.out_of_round)]
    out.fact(
        "bore.verdict",
        tuple(None if item is None else item.verdict for item in judged),
        told,
        basis_of(parts),
    )
    close = {
        index + 1: part
        for index, item in enumerate(judged)
        if item is not None
        for part in (item.wear, item.taper, item.out_of_round)
        if part is not None and part.verdict == "too_close" and item.verdict == "too_close"
    }
    say_close(out, "bore_size", close)
    _next_oversize(taken, judged, out)


def _next_oversize(taken: Taken, judged: tuple[bores.Bore | None, ...], out: Collect) -> None:
    """Whether an oversize on the sheet still cleans up each bore of the block."""
    oversizes = oversizes_of(taken)
    if taken.engine.build.bores != "in_block" or not oversizes:
        return
    words: list[str | None] = []
    told = []
    for index, item in enumerate(judged):
        if item is None:
            words.append(None)
            continue
        choice = sizes.choose_bore([item.most], band(taken.engine.bore, "in"), oversizes, now=[item.oversize])
        words.append("none" if choice.oversize is None else "left")
        size = "past the last oversize" if choice.oversize is None else sizes.oversize_text(choice.oversize)
        told.append(f"{index + 1}: {shown(item.most, 'in')} at its largest, {size}")
    out.fact("bore.next_oversize", tuple(words), "; ".join(told), "engine sheet")


def piston_band(taken: Taken) -> Band:
    """Skirt clearance: the sheet's band, else general ones by the bore."""
    size = bore_in(taken.engine)
    return filled(
        band(taken.engine.piston_clearance, "in"),
        low=taken.per_inch("piston_clearance_low_per_inch", size),
        high=taken.per_inch("piston_clearance_high_per_inch", size),
        wear=taken.per_inch("piston_clearance_wear_per_inch", size),
    )


def fitted_pistons(taken: Taken) -> tuple[float | None, ...] | None:
    """Oversize of each piston that is in the engine, from its skirt; None where skirts or the nominal are missing."""
    skirts, nominal = taken.numbers("piston_skirt_size", "in"), figure(taken.engine.piston_skirt, "in")
    if skirts is None or nominal is None:
        return None
    worn = taken.per_inch("piston_wear_per_inch", nominal.value)
    return tuple(
        None
        if skirt is None
        else bores.fitted_oversize(skirt, nominal.value, oversizes_of(taken), wear=worn.value if worn else 0.001)
        for skirt in skirts
    )


def _pistons(taken: Taken, out: Collect) -> None:
    skirts, grids = taken.numbers("piston_skirt_size", "in"), taken.grids("bore_size", "in")
    if skirts is None:
        return
    fitted = fitted_pistons(taken)
    if fitted is not None:
        known = {size for size, skirt in zip(fitted, skirts, strict=True) if skirt is not None}
        word = "standard" if known == {0.0} else "unclear" if None in known or len(known) > 1 else "oversize"
        told = ", ".join(
            f"{index + 1}: {shown(skirt, 'in')} is {'unclear' if size is None else sizes.oversize_text(size)}"
            for index, (skirt, size) in enumerate(zip(skirts, fitted, strict=True))
            if skirt is not None
        )
        out.fact("piston.fitted", word, f"nominal skirt {taken.engine.piston_skirt}; {told}", "engine sheet")
    if grids is None:
        return
    limits, judged = piston_band(taken), []
    for skirt, grid in zip(skirts, grids, strict=True):
        bore = bores.skirt_bore(grid) if grid is not None else None
        judged.append(None if skirt is None or bore is None else bores.judge_piston(bore, skirt, limits))
    if any(judged):
        out.fact(
            "piston.clearance",
            tuple(None if item is None else item.measured for item in judged),
            all_told(judged),
            "arithmetic",
        )
        add_verdicts(out, "piston.clearance_verdict", "piston_skirt_size", judged)


def ring_gap_band(taken: Taken) -> Band:
    """Ring end gap: the sheet's band, else general ones by the bore."""
    size = bore_in(taken.engine)
    return filled(
        band(taken.engine.ring_gap, "in"),
        low=taken.per_inch("ring_gap_per_inch", size),
        high=taken.per_inch("ring_gap_high_per_inch", size),
        wear=taken.per_inch("ring_gap_wear_per_inch", size),
    )


def _rings(taken: Taken, out: Collect) -> None:
    gaps, sides = taken.numbers("ring_gap_measured", "in"), taken.numbers("ring_side_clearance", "in")
    if gaps is not None:
        limits = ring_gap_band(taken)
        add_verdicts(
            out,
            "ring.gap_verdict",
            "ring_gap_measured",
            [None if gap is None else bores.judge_ring_gap(gap, limits) for gap in gaps],
        )
    if sides is not None:
        limits = filled(
            band(taken.engine.ring_side, "in"),
            low=taken.limits.get("ring_side_low", "in"),
            high=taken.limits.get("ring_side_high", "in"),
            wear=taken.limits.get("ring_side_wear", "in"),
        )
        add_verdicts(
            out,
            "ring.side_verdict",
            "ring_side_clearance",
            [None if side is None else bores.judge_ring_side(side, limits) for side in sides],
        )


def _sleeves(taken: Taken, out: Collect) -> None:
    values = taken.numbers("sleeve_protrusion_measured", "in")
    if values is None:
        return
    limits = filled(
        band(taken.engine.sleeve_protrusion, "in"),
        low=taken.limits.get("sleeve_protrusion_least", "in"),
        high=taken.limits.get("sleeve_protrusion_most", "in"),
    )
    add_verdicts(
        out,
        "sleeve.protrusion_verdict",
        "sleeve_protrusion_measured",
        bores.judge_protrusion(values, limits, taken.limits.get("sleeve_protrusion_spread", "in")),
    )
