"""Bores, pistons and sleeves as measured at teardown."""

from __future__ import annotations

from ..model.engine import Engine
from . import bores, gauges, sizes
from .bores import Grid, cells
from .figures import Band, Figure, band, bore_in, figure, filled, first, shown
from .given import Given
from .judge import Judged, basis_of
from .measured import Collect
from .verdict_text import add_verdicts, all_told, in_words, say_close


def oversizes_of(engine: Engine) -> list[float]:
    """Piston oversizes on the sheet, in inches, smallest first."""
    return sorted(item.value for item in (figure(text, "in") for text in engine.oversizes) if item)


def judged_bores(given: Given) -> tuple[bores.Bore | None, ...] | None:
    """Every bore against its limits; None where none was measured."""
    grids = given.grids("size", "in")
    if grids is None:
        return None
    engine, size = given.engine, bore_in(given.engine)
    standard, stroke = band(engine.bore, "in"), figure(engine.stroke, "in")
    wear = first(standard.wear, given.limit("wear", "in", size))
    tapered = first(figure(engine.bore_taper, "in"), given.limit("taper", "in", stroke.value if stroke else None))
    oval = first(figure(engine.bore_out_of_round, "in"), given.limit("out_of_round", "in"))
    share = given.limit("good_share", "percent")
    return tuple(
        None
        if grid is None
        else bores.judge_bore(
            grid,
            standard if first(standard.high, standard.low) else least_of(grid),
            oversizes_of(given.engine),
            wear=wear,
            taper_limit=tapered,
            round_limit=oval,
            usable_share=share.value / 100.0 if share else 0.5,
            error=given.error("gauge"),
        )
        for grid in grids
    )


def least_of(grid: Grid) -> Band:
    """The least reading of a bore for its size, where nobody knows the standard: wear is then at least what shows."""
    taken = cells(grid)
    least = Figure(min(taken), "in", "arithmetic") if taken else None
    return Band(least, least)


def reduce_bores(given: Given, out: Collect) -> None:
    judged = judged_bores(given)
    if judged is None:
        return
    standard = band(given.engine.bore, "in")
    known = first(standard.high, standard.low) is not None
    if not known:
        out.remark(
            given.reading("size"),
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
                given.fact(fact),
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
        given.fact("verdict"), tuple(None if item is None else item.verdict for item in judged), told, basis_of(parts)
    )
    close = {
        index + 1: part
        for index, item in enumerate(judged)
        if item is not None
        for part in (item.wear, item.taper, item.out_of_round)
        if part is not None and part.verdict == "too_close" and item.verdict == "too_close"
    }
    say_close(out, given.reading("size"), close)
    _next_oversize(given, judged, out)


def _next_oversize(given: Given, judged: tuple[bores.Bore | None, ...], out: Collect) -> None:
    """Whether an oversize on the sheet still cleans up each bore of the block."""
    oversizes = oversizes_of(given.engine)
    if given.engine.build.bores != "in_block" or not oversizes:
        return
    words: list[str | None] = []
    told: list[str] = []
    for index, item in enumerate(judged):
        if item is None:
            words.append(None)
            continue
        choice = sizes.choose_bore([item.most], band(given.engine.bore, "in"), oversizes, now=[item.oversize])
        words.append("none" if choice.oversize is None else "left")
        size = "past the last oversize" if choice.oversize is None else sizes.oversize_text(choice.oversize)
        told.append(f"{index + 1}: {shown(item.most, 'in')} at its largest, {size}")
    out.fact(given.fact("next_oversize"), tuple(words), "; ".join(told), "engine sheet")


def piston_band(given: Given) -> Band:
    """Skirt clearance: the sheet's band, else general ones by the bore."""
    size = bore_in(given.engine)
    return filled(
        band(given.engine.piston_clearance, "in"),
        low=given.limit("low", "in", size),
        high=given.limit("high", "in", size),
        wear=given.limit("wear", "in", size),
    )


def fitted_pistons(given: Given) -> tuple[float | None, ...] | None:
    """Oversize of each piston that is in the engine, from its skirt; None where skirts or the nominal are missing."""
    skirts, nominal = given.numbers("skirt", "in"), figure(given.engine.piston_skirt, "in")
    if skirts is None or nominal is None:
        return None
    worn = given.limit("skirt_wear", "in", nominal.value)
    return tuple(
        None
        if skirt is None
        else bores.fitted_oversize(
            skirt,
            nominal.value,
            oversizes_of(given.engine),
            wear=worn.value if worn else 0.001,
            error=given.error("skirt"),
        )
        for skirt in skirts
    )


def reduce_pistons(given: Given, out: Collect) -> None:
    skirts, grids = given.numbers("skirt", "in"), given.grids("bore", "in")
    if skirts is None:
        return
    fitted = fitted_pistons(given)
    if fitted is not None:
        known = {size for size, skirt in zip(fitted, skirts, strict=True) if skirt is not None}
        word = "standard" if known == {0.0} else "unclear" if None in known or len(known) > 1 else "oversize"
        told = ", ".join(
            f"{index + 1}: {shown(skirt, 'in')} is {'unclear' if size is None else sizes.oversize_text(size)}"
            for index, (skirt, size) in enumerate(zip(skirts, fitted, strict=True))
            if skirt is not None
        )
        out.fact(given.fact("fitted"), word, f"nominal skirt {given.engine.piston_skirt}; {told}", "engine sheet")
    if grids is None:
        return
    limits, judged = piston_band(given), []
    error = gauges.combined(given.error("bore"), given.error("skirt"))
    for skirt, grid in zip(skirts, grids, strict=True):
        bore = bores.skirt_bore(grid) if grid is not None else None
        judged.append(None if skirt is None or bore is None else bores.judge_piston(bore, skirt, limits, error))
    if any(judged):
        out.fact(
            given.fact("clearance"),
            tuple(None if item is None else item.measured for item in judged),
            all_told(judged),
            "arithmetic",
        )
        add_verdicts(out, given.fact("verdict"), given.reading("skirt"), judged)


def reduce_sleeves(given: Given, out: Collect) -> None:
    """Stand-out of the sleeves, each beside its band and beside the highest."""
    values = given.numbers("stand_out", "in")
    if values is None:
        return
    limits = filled(
        band(given.engine.sleeve_protrusion, "in"), low=given.limit("low", "in"), high=given.limit("high", "in")
    )
    judged = bores.judge_protrusion(values, limits, given.limit("spread", "in"), given.error("gauge"))
    add_verdicts(out, given.fact("verdict"), given.reading("stand_out"), judged)
